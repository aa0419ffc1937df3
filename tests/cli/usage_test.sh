#!/usr/bin/env bash
# sidecomb - SPDX-License-Identifier: GPL-3.0-or-later
# Wrong usage and unreadable input through the real program: exit status 2, one line on
# standard error that names what is wrong, nothing on standard output.
set -u
sidecomb=$(realpath "${SC_BUILDDIR:-.}")/sidecomb
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
cd "$folder" || exit 1
failed=0
checked=0

# refused WORDS... -- ARGUMENTS...: the line must hold all words.
refused() {
  local words=()
  while [ "$1" != -- ]; do
    words+=("$1")
    shift
  done
  shift
  "$sidecomb" "$@" >out 2>err </dev/null
  local status=$? word
  checked=$((checked + 1))
  [ "$status" -eq 2 ] || complain "status $status instead of 2" "$@"
  [ "$(wc -l <err)" -eq 1 ] || complain "$(wc -l <err) lines on standard error" "$@"
  [ ! -s out ] || complain "something on standard output" "$@"
  for word in "${words[@]}"; do
    grep -qF -- "$word" err || complain "'$word' is not said" "$@"
  done
}

complain() {
  echo "sidecomb ${*:2}: $1: $(head -c 300 err)"
  failed=1
}

: >empty.wav
head -c 64 /dev/zero >zeros.wav
head -c 4001 /dev/zero >odd.ci16

refused "name a capture" "--help" --
refused reprot neither -- reprot
refused nowhere.wav -- report nowhere.wav
refused "no capture is named" -- report
refused "two.wav: a second capture" -- report one.wav two.wav
refused -- report empty.wav
refused -- report zeros.wav
refused -- report .
refused --nonsense "no such option" -- report --nonsense empty.wav
refused --rate "not a number" -- report --rate fast --type cu8 odd.ci16
refused --type -- report --type cu9 --rate 1M odd.ci16
refused --rate -- report --type cu8 odd.ci16
refused --as -- report --as radio empty.wav
refused --clock-ppm -- report --clock-ppm 1 empty.wav
refused "--carrier" -- report --carrier wide empty.wav
refused -- report --response nowhere.txt --type ci16_le --rate 1M odd.ci16
refused $'?[2J' -- report $'bad\e[2Jname.wav'

[ "$checked" -ge 17 ] || failed=1
exit "$failed"
