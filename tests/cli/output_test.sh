#!/usr/bin/env bash
# sidecomb - SPDX-License-Identifier: GPL-3.0-or-later
# What the program prints, and what it ends with, on captures that can be read.
set -u
sample=$(realpath "${SC_SRCDIR:-.}")/samples/kitefield.sigmf-meta
. "$(realpath "${SC_SRCDIR:-.}")/tests/cli/expect.sh"

expect 0 report "$sample"
[ ! -s err ] || complain "a good report says on standard error: $(cat err)"
grep -q '^Pilot' out || complain "the report does not speak of the pilot"
grep -q '^Lines on air' out || complain "the report has no table of lines"
grep -q 'not a certificate' out || complain "the report does not say what it is not"
LC_ALL=C.UTF-8 awk 'length > 80' out | grep . && complain "wider than 80 columns"
first=$(head -n 1 out)
[ -n "$first" ] || complain "the report does not begin with the account"

LC_ALL=C "$sidecomb" report "$sample" >ascii || complain "no report in the C locale"
LC_ALL=C grep -nP '[^\x00-\x7f]' ascii && complain "not ASCII in the C locale"

# A capture that holds nothing to measure: status 1, the reason on one line, a report all the same.
head -c 2000000 /dev/urandom >noise.cu8
expect 1 report --type cu8 --rate 500k noise.cu8
[ "$(wc -l <err)" -eq 1 ] || complain "noise: $(wc -l <err) lines on standard error"
[ -s out ] || complain "noise: no report"
head -c 100 noise.cu8 >short.cu8
expect 1 report --type cu8 --rate 500k short.cu8

# An overloaded capture says so first; what it makes of the pilot (6.75 kHz) is not stated when it
# may be anything, and covers the truth when it is.
overloaded() { # LEVEL STATUS
  rm -f clip.cu8
  "$sidecomb" compose --ready data --seconds 1 --set level_dbfs="$1" --set receiver.noise.cnr_db=45 \
    --set station.offset_hz=250000 --type cu8 --rate 1M -o clip.cu8 >/dev/null 2>&1 || complain "compose: status $?"
  expect "$2" report --type cu8 --rate 1M clip.cu8
  head -n 1 out | grep -q '^Overloaded: ' || complain "$1 dBFS: begins with $(head -n 1 out)"
  grep -A 12 '^Pilot' out | grep '^  deviation' >pilot
}
overloaded 4 1
[ ! -s pilot ] || complain "overloaded, and the pilot is stated: $(cat pilot)"
overloaded 0.2 0
awk '{ off = $2 - 6.75; if (off * off > 4 * $4 * $4) exit 1; found = 1 } END { exit !found }' pilot ||
  complain "a little overloaded: $(cat pilot)"
rm -f clip.cu8

# Standard input, and the rest of the shared options.
head -c 768000 "${sample%meta}data" >stream.ci8
cat stream.ci8 | "$sidecomb" report --type ci8 --rate 384k --centre 91.205M - >piped ||
  complain "standard input: status $?"
"$sidecomb" report --type ci8 --rate 384k --centre 91.205M stream.ci8 >filed || complain "file: status $?"
diff <(sed '/^Capture/,/^$/d;/^About/,/^$/d' piped) <(sed '/^Capture/,/^$/d;/^About/,/^$/d' filed) >differs ||
  complain "a pipe and a file are reported differently: $(head -n 5 differs)"
# A file on standard input is that file, from where it stands: to the last letter, but for its name.
"$sidecomb" report --type ci8 --rate 384k --centre 91.205M - <stream.ci8 >piped ||
  complain "a file on standard input: status $?"
diff <(sed 's/stream.ci8/standard input/' filed) piped >differs ||
  complain "a file on standard input is reported differently: $(head -n 5 differs)"
{ dd bs=3840 count=1 && cat stream.ci8; } <stream.ci8 >behind.ci8 2>/dev/null
{ dd bs=3840 count=1 of=/dev/null 2>/dev/null && "$sidecomb" report --type ci8 --rate 384k \
  --centre 91.205M -; } <behind.ci8 >piped || complain "from where it stands: status $?"
diff <(sed 's/stream.ci8/standard input/' filed) piped >differs ||
  complain "a file is not read from where it stands: $(head -n 5 differs)"
"$sidecomb" report --follow --type ci8 --rate 384k - <stream.ci8 >out 2>err
[ $? -eq 2 ] || complain "a file on standard input was followed"
said 'to --follow it, give its name'
rm behind.ci8
expect 2 report --carrier 200M "$sample"
grep -q -- '--carrier' err || complain "--carrier out of the capture: $(cat err)"
expect 2 report --full-scale-khz 75 "$sample"

# Threads change nothing but the time.
for threads in 1 2 3 4; do
  expect 0 report --json --threads "$threads" "$sample"
  mv out threads-"$threads"
  cmp threads-1 threads-"$threads" || complain "$threads threads measure something else than one"
done

# Masks: kept, not kept, unreadable.
mask=$(dirname "$sample")/47cfr73.317.mask
expect 0 report --mask "$mask" --power-w 0.01 --nominal 91.2M "$sample"
grep -q 'no certificate' out || complain "a mask's result does not say what it is not"
expect 2 report --mask "$mask" "$sample"
grep -q 'line 9: .*--power-w' err || complain "a mask without power: $(cat err)"
printf 'name tight\nsource none\nresolution 1k\ndetector mean\nfrom 120k to 140k 60\n' >tight
expect 3 report --mask tight "$sample"
grep -q '^  worst margin  *-' out || complain "no negative margin"

# The limits of the standards: the sample keeps what it can be asked for, its frequency only with
# the nominal one and a clock that is known.
expect 1 report --limits standard "$sample"
grep -q '^  open  *channel.error_hz' out || complain "a limit without its number is not open"
expect 1 report --limits standard --nominal 91.2M "$sample"
grep -q '^  open  *channel.error_hz' out || complain "a frequency is judged by an unknown clock"
grep -q '^  open  *pilot.frequency_error_hz' out || complain "a pilot is judged by an unknown clock"
expect 0 report --limits standard --nominal 91.2M --clock-ppm '0±0.5' "$sample"
grep -q '^  kept  *pilot.deviation_khz from 6 to 7.5 kHz' out || complain "no limit of the pilot"
expect 3 report --limits standard --nominal 91.19M --clock-ppm '0±0.5' "$sample"
cp "$(dirname "$sample")/47cfr73.317.mask" standard
expect 2 report --limits standard "$sample"
grep -q 'standard: line' err || complain "a file of that name does not go first: $(cat err)"
rm standard
printf '\357\273\277pilot.deviation_khz from 6 to 7.5\n' >marked
expect 0 report --limits marked "$sample"
rm marked

# A full disk and a closed pipe are errors.
if [ -w /dev/full ]; then
  "$sidecomb" report "$sample" >/dev/full 2>err
  [ $? -eq 2 ] || complain "a full disk is no error"
  grep -q 'standard output' err || complain "a full disk: $(cat err)"
  "$sidecomb" --help >/dev/full 2>err && complain "a full disk is no error of --help"
else
  echo "NOT RUN: there is no /dev/full"
fi
set +o pipefail
{
  "$sidecomb" report --json "$sample" 2>err
  echo $? >status
} | true
[ "$(cat status)" -eq 2 ] || complain "a closed pipe ends with status $(cat status)"
[ ! -s err ] || complain "a closed pipe: $(cat err)"
# Samples that never change are read, and tell nothing: no carrier.
head -c 480000 /dev/zero >still.raw
for kind in iq composite audio; do
  type=cu8
  [ $kind = iq ] || type=ri16_le
  expect 1 report --as $kind --type $type --rate 240k still.raw
  said 'still.raw: not measurable: the samples never change'
  [ "$(wc -l <err)" -eq 1 ] || complain "more than a line: $(cat err)"
  grep -q 'All samples have the same value' out || complain "it is not said what that means"
done
# Each thing that cannot be measured has its true reason.
"$sidecomb" compose --ready data --set 'output="composite"' --seconds 2 --rate 192k -o composite.wav \
  2>err || complain "compose: $(cat err)"
expect 0 report composite.wav
grep -q 'audio holds no composite' out && complain "a composite is taken for audio"
grep -q 'above the FM threshold *open: not applicable without a carrier' out ||
  complain "a composite has a verdict on the FM threshold"
: | { sleep 0.2; "$sidecomb" report - >out 2>err; }
said 'standard input: is empty'
expect 2 report - </dev/null
said 'standard input: is empty'
exit "$failed"
