#!/usr/bin/env bash
# sidecomb - SPDX-License-Identifier: GPL-3.0-or-later
# The viewer on a receiver that is made for the tests and that SoapySDR loads: recording with
# the seconds before, other settings while it runs, and a receiver that is pulled out. And on pipes.
set -u
# shellcheck source=tests/e2e/screen.sh
. "$(dirname "${BASH_SOURCE[0]}")/screen.sh"
modules=$build/tests/receiver
clock=$build/tests/support/set_clock.so
for module in receiver/bench_receiver support/set_clock; do
  [ -e "$build/tests/$module.so" ] && continue
  echo "tests/$module.so is not built: make it in $build"
  exit 1
done
rate=240000
here=$folder
with= # settings of the viewer's environment
plain=${SC_PLAIN:-$sidecomb} # what makes and reads files, where the viewer's build is a slow one

"$plain" compose --ready left --seconds 1 --rate $rate --type ci16_le \
  --set receiver.noise.cnr_db=40 -o "$folder/air.ci16" >"$folder/log" 2>&1 || {
  cat "$folder/log"
  exit 1
}

# watch KEYS [OPTIONS]: the viewer on the receiver, which fails as the keys say.
watch() {
  terminal 110 30 SOAPY_SDR_PLUGIN_PATH="$modules" SOAPY_SDR_ROOT="$modules" \
    SC_BENCH_RECEIVER="samples=$folder/air.ci16,rate=$rate,home=100e6$1"
  type_line "cd '$here'"
  type_line "clear; $with '$sidecomb' view --receiver driver=bench_receiver --rate $rate --tune 100M ${2-}"
  wait_for ', live'
}

recordings() {
  ls "$folder"/kept-*.sigmf-meta 2>/dev/null | wc -l
}

has_recordings() {
  [ "$(recordings)" -eq "$1" ]
}

# The only recording, through the report.
report_of_recording() {
  "$plain" report --json "$folder"/kept-*.sigmf-meta >"$folder/kept.json" 2>"$folder/log"
}

seconds_of_recording() {
  sed -n 's/.*"duration_s": *\([0-9.]*\).*/\1/p' "$folder/kept.json" | head -n 1
}

# ---- recording

watch ''
expect 'the carrier is found' 'A carrier at 100\.0'
keys '!'
expect 'it says that it records' 'recording: [0-9]+ s'
expect_true 'a file is there' has_recordings 1
expect 'and goes on' 'recording: ([6-9]|[1-9][0-9]) s'
keys '!'
expect 'it says where and how much' 'kept-.*\.sigmf-meta: [0-9.]+ s were recorded'
expect_true 'the recording is read' report_of_recording
expect_true 'it says what the receiver was set to' grep -q '"stages": "LNA 20 dB"' "$folder/kept.json"
expect_true 'it holds seconds from before the key' awk "BEGIN { exit !($(seconds_of_recording) >= 5) }"
expect_true 'its gaps are counted: none' grep -q '"gaps": *0' "$folder/kept.json"
expect_true 'it knows the frequency' grep -q '"centre_hz": *100000000' "$folder/kept.json"

# ---- other settings

keys '@'
wait_for 'Tune to:'
type_line 100.02M
expect 'tuned' 'took it, at 100\.02 MHz'
expect 'it measures anew, and the carrier stays where it is' 'A carrier at 100\.0000'
keys '#'
wait_for 'Gain in dB'
type_line 99
expect 'a gain that it has not' 'a gain of 99 dB: out of its range'
keys '#'
wait_for 'Gain in dB'
expect 'the gain that it has now is offered' 'Gain in dB, or NAME=dB: LNA=20'
type_line LNA=40
expect 'a gain that it has' 'took it: gain LNA=40 dB, at 100\.02 MHz'
keys '#'
expect 'it has that gain' 'Gain in dB, or NAME=dB: LNA=40'
keys Escape
expect 'too strong is said first' 'CLIPPED [0-9]+ times'
keys '#'
wait_for 'Gain in dB'
type_line loud
expect 'no gain at all' 'A gain in dB is written like 20'
keys '&'
wait_for 'Antenna:'
type_line nose
expect 'an antenna that it has not' 'has no antenna nose, but: whip, load'
keys '&'
wait_for 'Antenna:'
expect 'the antennas that there are' 'Antenna: whip +whip  load'
keys Tab
expect 'Tab steps to the next' 'Antenna: load +whip  load'
keys Enter
expect 'an antenna that it has' 'took it: antenna load'
keys '^'
wait_for 'Bandwidth:'
type_line 5M
expect 'a bandwidth that it has not' 'a bandwidth of 5000000 Hz: out of its range'
keys '%'
wait_for 'Parts per million:'
type_line 2.5
expect 'a correction' 'took it: correction 2\.5 ppm'
keys q
expect_restored 'after other settings'

# ---- a second capture, of bare samples, beneath what comes in

watch '' '--against air.ci16 --type ci16_le'
expect 'it lies beneath' '× air\.ci16'
keys q
expect_restored 'after a second capture'

# ---- a setting while a recording runs: what the receiver cannot do ends nothing

rm -f "$folder"/kept-*
watch ''
expect 'the account has begun' '^on air, [2-9]\.[0-9]+ s so far'
keys '!'
expect 'it records' 'recording: [0-9]+ s'
keys '#'
wait_for 'Gain in dB'
type_line 99
expect 'a gain that it has not' 'a gain of 99 dB: out of its range'
expect_not 'measuring goes on' '^on air, [01]\.'
expect 'and so does the recording' 'recording: ([6-9]|[1-9][0-9]) s'
keys '%'
wait_for 'Parts per million:'
type_line 1
expect 'another setting ends it, and says so' 'kept-.* s were recorded\. The receiver took it'
rm -f "$folder"/kept-*
keys '!'
expect 'it records anew' 'recording: [0-9]+ s'
keys q
expect 'whoever leaves is told' '^kept-.*\.sigmf-meta: [0-9.]+ s were recorded\.$'
expect_restored 'after leaving amid a recording'
expect_true 'the recording is read' report_of_recording

# ---- the receiver vanishes while a recording runs

rm -f "$folder"/kept-*
watch ",unplug=$((8 * rate))"
keys '!'
expect 'it records' 'recording'
expect 'it says that the receiver is gone' 'driver=bench_receiver: '
expect 'and keeps the picture' 'ended'
expect 'the recording has ended too' 'kept-.*\.sigmf-meta: [0-9.]+ s were recorded'
expect_not 'and nothing else is said' 'recording:'
keys '@'
wait_for 'Tune to:'
keys Enter
expect 'it cannot be tuned any more' '^driver=bench_receiver: the receiver is gone'
expect 'and the account is still there' 'a stereo pilot at 19000'
keys q
expect_restored 'after a receiver that vanished'
expect_true 'the recording is whole' report_of_recording
expect_true 'up to the end' awk "BEGIN { exit !($(seconds_of_recording) > 5) }"

# ---- the folder vanishes

rm -f "$folder"/kept-*
mkdir "$folder/gone"
here=$folder/gone
watch ''
keys '!'
expect 'it records' 'recording'
rm -rf "$folder/gone"
expect 'it says so, and ends' 'kept-.* holds [0-9.]+ s: .*is no longer there'
keys '!'
expect 'and a recording in no folder is none' '^kept-.*-data: writing failed: No such'
keys q
expect_restored 'after a folder that vanished'

# ---- the time of day is set while a recording runs

rm -f "$folder"/kept-*
here=$folder
with="SC_CLOCK_AHEAD='$folder/ahead' LD_PRELOAD='$clock'"
with="$with ASAN_OPTIONS=detect_leaks=0:verify_asan_link_order=0"
watch ''
keys '!'
expect 'it records' 'recording: [6-9] s'
echo 3600 >"$folder/ahead"
expect 'ahead: it says so' 'clock went ahead by 3600 s'
expect 'and goes on' 'recording: ([89]|[1-9][0-9]) s'
rm "$folder/ahead"
expect 'back: it says so' 'clock was set back by 3600 s'
keys '!'
expect 'it says how much was recorded' 'kept-.*\.sigmf-meta: [0-9.]+ s were recorded'
keys q
expect_restored 'after a clock that was set'
expect_true 'the recording is read' report_of_recording
expect_true 'its gaps are counted: none' grep -q '"gaps": *0' "$folder/kept.json"

# ---- a writer that stalls amid a frame

for follow in '' --follow; do
  rm -f "$folder/pipe"
  mkfifo "$folder/pipe"
  terminal 110 30
  type_line "clear; '$sidecomb' view $follow --type ci16_le --rate $rate --as iq '$folder/pipe'"
  expect "a pipe without a writer${follow:+, followed}" 'pipe: waiting for samples|NOTHING CAME'
  exec 9>"$folder/pipe"
  cat "$folder/air.ci16" "$folder/air.ci16" >&9
  wait_for 'A carrier'
  printf x >&9
  expect "a pipe that stalls is not called live" 'NOTHING CAME for [2-9] s'
  expect_not "a pipe that stalls${follow:+, followed}" ', live'
  printf xyz >&9 # the rest of the frame
  cat "$folder/air.ci16" >&9
  expect "it goes on${follow:+, followed}" ', live'
  printf x >&9
  sleep 1 # it is to be taken
  keys q
  expect_restored "a pipe stalls amid a frame${follow:+, followed}"
  exec 9>&-
done

# ---- a knob is turned: what is measured anew has nothing of before in it

for khz in 4 8; do
  "$plain" compose --ready pilot --set station.pilot.khz=$khz --set receiver.noise.cnr_db=40 \
    --seconds 2 --rate $rate --type ci16_le -o "$folder/pilot$khz.ci16" 2>"$folder/log" || {
    cat "$folder/log"
    exit 1
  }
done
rm -f "$folder/pipe"
mkfifo "$folder/pipe"
terminal 110 30
type_line "clear; '$sidecomb' view --type ci16_le --rate $rate --as iq '$folder/pipe'"
exec 9>"$folder/pipe"
cat "$folder/pilot4.ci16" >&9
expect 'the pilot as it is' 'on air, 2\.00 s so far: .* with 4\.00'
keys '\;' # tmux divides its commands by the bare one
expect 'it says so' 'Measuring begins anew with what comes in now'
cat "$folder/pilot8.ci16" >&9
expect 'the pilot as it is now' 'on air, 2\.00 s so far: .* with 8\.00'
exec 9>&-
expect 'the end' ', ended'
keys '\;'
expect 'at its end nothing is forgotten' 'Nothing more comes in: what was measured stays'
expect 'and the account is still there' '^on air: .* with 8\.00'
keys q
expect_restored 'after measuring anew'

# ---- and what is watched without the viewer

rm -f "$folder/pipe"
mkfifo "$folder/pipe"
exec 9<>"$folder/pipe"
for command in 'watch --every 0.5' report 'record -o stalled.sigmf-meta'; do
  terminal 110 30
  type_line "cd '$here'"
  type_line "clear; '$sidecomb' $command --type ci16_le --rate $rate --as iq '$folder/pipe'"
  cat "$folder/air.ci16" >&9
  expect "${command%% *} says that nothing comes" '^nothing came for [2-9] s'
  keys C-c
done
exec 9>&-

for command in 'watch --every 20' 'report --duration 20' 'record --duration 20000 -o came.sigmf-meta'; do
  terminal 80 24 SOAPY_SDR_PLUGIN_PATH="$modules" SOAPY_SDR_ROOT="$modules" \
    SC_BENCH_RECEIVER="samples=$folder/air.ci16,rate=$rate,home=100e6,overflow=$rate,lose=100"
  type_line "cd '$here'"
  type_line "clear; '$sidecomb' $command --receiver driver=bench_receiver --rate $rate --tune 100M"
  expect "${command%% *} says how much came" '^[0-9]+( of [0-9]+)? s came, [0-9]+ gaps?; Ctrl-C ends that$'
  resize 40 24
  [ "${command%% *}" != record ] ||
    expect 'where there is no room for all of it, it says the first part' '^[0-9]+ of 20000 s came, [0-9]+ gaps?$'
  keys C-c
  expect "${command%% *} ends in order" 'ready>'
done

# ---- a recording of what has ended

rm -f "$folder"/kept-*
terminal 110 30
type_line "cd '$folder'"
type_line "clear; cat air.ci16 air.ci16 | '$sidecomb' view --type ci16_le --rate $rate --as iq -"
wait_for ', ended'
expect_not 'nothing plays any more' 'Space p'
keys '!'
expect 'it says how much was kept' 'kept-.*\.sigmf-meta: 2 s were recorded'
keys q
expect_restored 'after a recording of what has ended'
expect_true 'the recording is read' report_of_recording
expect_true 'it holds what was kept' awk "BEGIN { exit !($(seconds_of_recording) == 2) }"

summary
