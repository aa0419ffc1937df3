#!/usr/bin/env bash
# sidecomb - SPDX-License-Identifier: GPL-3.0-or-later
# Test audio through the real program: the file, the cautions, and wrong usage.
set -u
export COLUMNS=80
. "$(realpath "${SC_SRCDIR:-.}")/tests/cli/expect.sh"

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

# holds PATTERN...: in the report `out`.
holds() {
  local pattern
  for pattern; do
    grep -qE -- "$pattern" out || complain "the report does not hold: $pattern"
  done
}
"$sidecomb" report --as audio test.wav >out 2>err || complain "report: status $?: $(cat err)"
holds "order of the channels +normal" "response follows +flat" "test audio +yes" \
  "begins at +-?0\.0000" "tone +997\.00000 " "level +-6\.000 " "sum lowest at +180\.00" \
  "separation seen up to +1[0-9][0-9]\." "^ +31 +left +-?0\.00" "^ +14947 +right +-?0\.00"
# Each law that the response is held against says which it is; no de-emphasis is put on.
holds "off that, rms +0\.00" "off a flat one +0\.00" "off 50 µs de-emphasis +[1-9]" \
  "off 75 µs de-emphasis +[1-9]" "off 50 µs pre-emphasis +[1-9]" \
  "off 75 µs pre-emphasis +[1-9]" "measured on +the recording as it is; --deemphasis does"
"$sidecomb" report --as audio --deemphasis 75 test.wav >other 2>err || complain "de-emphasis: $?"
diff out other >/dev/null || complain "--deemphasis changes the report of a recording"
rm other
grep -q "^Pilot" out && complain "a report of audio speaks of the pilot"
"$sidecomb" report --as audio --json test.wav >out 2>err || complain "report --json: status $?"
holds '"channel_order": "normal"' '"clock_error_ppm": ' '"snr_weighted_db": 1[12]' '"tones": \['

# Through a transmitter whose difference signal is 0.3 dB low: 35.3 dB of separation (computed,
# (1 + g) / (1 - g)), and the pre-emphasis seen in what is decoded. A minute of work.
if [ "${SC_LONG:-}" = 1 ]; then
  cat >onair.cfg <<'END'
rate_hz = 384000; seconds = 70; seed = 5;
station = { preemphasis_us = 50; difference = { gain_db = -0.3; };
  programme = ( { kind = "sound"; file = "test.wav"; to = "both"; khz = 120; } ); };
receiver = { noise = { cnr_db = 60; }; };
END
  "$sidecomb" compose onair.cfg -o onair.sigmf 2>err || complain "compose: $(cat err)"
  "$sidecomb" report --lines 3 onair.sigmf-meta >out 2>err || complain "report: $(cat err)"
  holds "order of the channels +normal" "separation, left to right +35\.2" \
    "separation, right to left +35\.2" "response follows +pre-emphasis of 50"
  rm -f onair.*
fi

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
