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
: >empty.sigmf-meta
head -c 64 /dev/zero >zeros.wav
head -c 4001 /dev/zero >odd.ci16

refused title=spring 'double quotes' -- compose --set title=spring -o x.wav
[ ! -e x.wav ] || complain 'left behind' x.wav
"$sidecomb" compose --set 'title="spring"' --as audio --seconds 0.1 -o x.wav >out 2>err ||
  complain "refused" compose --set 'title="spring"'
rm -f x.wav
refused "name a capture" "--help" --
refused reprot neither -- reprot
refused nowhere.wav -- report nowhere.wav
refused "no capture is named" -- report
refused "two.wav: a second capture" -- report one.wav two.wav
refused -- report empty.wav
refused -- report zeros.wav
refused -- report .
refused "empty.sigmf-meta" "the file is empty" -- report empty.sigmf-meta
refused --nonsense "no such option" -- report --nonsense empty.wav
refused --rate "not a number" -- report --rate fast --type cu8 odd.ci16
refused --type -- report --type cu9 --rate 1M odd.ci16
refused --rate -- report --type cu8 odd.ci16
refused --as -- report --as radio empty.wav
refused --clock-ppm -- report --clock-ppm 1 empty.wav
refused "--carrier" -- report --carrier wide empty.wav
refused -- report --response nowhere.txt --type ci16_le --rate 1M odd.ci16
refused $'?[2J' -- report $'bad\e[2Jname.wav'

# Settings of a device without one.
for setting in "--tune 91M" "--bandwidth 1M" "--gain 5" "--antenna A" "--ppm 0"; do
  # shellcheck disable=SC2086 # two words
  refused "${setting%% *}" "name it with --receiver" -- report $setting --type ci16_le --rate 1M odd.ci16
  # shellcheck disable=SC2086
  refused "${setting%% *}" "name it with --receiver" -- view $setting --sound hw:0
done
refused "--centre" -- watch --tune 91M --type ci16_le --rate 1M odd.ci16
refused --sound-format "name it with --sound" -- report --sound-format s16 --type cu8 --rate 1M odd.ci16
refused --sound-channels "name it with --sound" -- record --sound-channels 1 --receiver driver=none -o a.wav
refused --lines "out of range" -- report --lines 1e300 odd.ci16

# A sound file cut off amid its header is told so, whether samples are asked for or not.
printf 'RIFF\x24\xee\x02\x00WAVEfmt \x10\x00\x00\x00\x01\x00\x01\x00' >whole.wav
for bytes in 4 8 12 16 24; do
  head -c "$bytes" whole.wav >cut.wav
  refused "cut.wav: begins like a sound file (RIFF)" "damaged or cut short" "--type and --rate" -- report cut.wav
done

# Why a file cannot be read or written, in the system's words alone.
mkdir folder
refused "none.cfg: cannot be read: No such file or directory" -- compose none.cfg -o a.wav
refused "folder: cannot be read: it is no plain file" -- compose folder -o a.wav
refused "none/a.wav: cannot be written: No such file or directory" -- sequence -o none/a.wav
grep -q "System error" err && complain "the library's words are said" sequence

# What cannot be there.
"$sidecomb" compose --ready carrier --seconds 0.1 --rate 240k -o iq.sigmf >out 2>err || complain "no capture" compose
refused "the samples are complex" "leave --as out" -- report --as composite iq.sigmf-meta
refused "--middle 130000" "from -120000 to 120000 Hz" -- plot --middle 130k --span 10k -o a.svg iq.sigmf-meta
refused "--middle 150000" "from 0 to 100000 Hz" -- plot --view composite --middle 150k --span 10k -o a.svg \
  iq.sigmf-meta

[ "$checked" -ge 42 ] || failed=1
exit "$failed"
