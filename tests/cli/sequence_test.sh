#!/usr/bin/env bash
# sidecomb - SPDX-License-Identifier: GPL-3.0-or-later
# Test audio through the real program: the file, the cautions, and wrong usage.
set -u
sidecomb=$(realpath "${SC_BUILDDIR:-.}")/sidecomb
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
cd "$folder" || exit 1
export LC_ALL=C.UTF-8 COLUMNS=80
failed=0
complain() {
  echo "$*"
  failed=1
}

"$sidecomb" sequence --preemphasis 50 -o test.wav >out 2>err || complain "status $?: $(cat err)"
[ ! -s out ] || complain "something on standard output"
said=$(tr '\n' ' ' <err)
for words in "peak level -6.0 dBFS" "Caution" "local rules" "screened load" "ears" "attenuation" \
  "phase walk" "12.4 and 8.8 dB below"; do
  grep -qF -- "$words" <<<"$said" || complain "'$words' is not said"
done
[ "$(awk 'length > 80' err | wc -l)" -eq 0 ] || complain "wider than 80 columns"
# 69 s, 2 channels of 3 bytes, and a header
size=$(stat -c %s test.wav)
[ "$size" -ge $((69 * 48000 * 6)) ] && [ "$size" -le $((69 * 48000 * 6 + 500)) ] ||
  complain "test.wav has $size bytes"

# refused WORDS ARGUMENTS...: status 2, one line, no other file.
refused() {
  "$sidecomb" sequence "${@:2}" >out 2>err </dev/null
  local status=$?
  [ "$status" -eq 2 ] || complain "${*:2}: status $status instead of 2"
  [ "$(wc -l <err)" -eq 1 ] || complain "${*:2}: $(wc -l <err) lines"
  grep -qF -- "$1" err || complain "'$1' is not said: $(cat err)"
  [ "$(ls | sort | tr '\n' ' ')" = "err out test.wav " ] || complain "${*:2}: left $(ls)"
}
refused "--out" --level -6
refused "test.wav" -o test.wav
refused ".wav or .flac" -o test.mp3
refused "--level" --level 3 -o other.wav
refused "--preemphasis" --preemphasis fast -o other.wav
refused "16 or 24" --bits 20 -o other.wav
refused "takes options only" -o other.wav word
refused "no such option" --loud -o other.wav
exit "$failed"
