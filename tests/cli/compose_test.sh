#!/usr/bin/env bash
# sidecomb - SPDX-License-Identifier: GPL-3.0-or-later
# Captures made by the program and read again by it, wrong scenarios, and nothing half written.
set -u
recipe=$(realpath "${SC_SRCDIR:-.}")/samples/kitefield.cfg
. "$(realpath "${SC_SRCDIR:-.}")/tests/cli/expect.sh"

# refused WORDS ARGUMENTS...: one line, nothing printed, no file left.
refused() {
  expect 2 compose "${@:2}"
  said "$1"
  [ "$(wc -l <err)" -eq 1 ] || complain "${*:2}: $(wc -l <err) lines on standard error"
  [ ! -s out ] || complain "${*:2}: something on standard output"
  alone "${*:2}"
}

# Nothing but out, err and the scenarios is in the folder.
alone() {
  local left
  left=$(find . -type f ! -name out ! -name err ! -name '*.cfg')
  [ -z "$left" ] || {
    complain "$1 left $left"
    rm -f $left
  }
}

# pilot: the deviation that a report of the file finds, times 100, rounded.
pilot() {
  "$sidecomb" report --json "$@" 2>err | tr ',' '\n' |
    sed -n '/"pilot"/,$s/.*"deviation_khz": *\([0-9.]*\).*/\1/p' | head -n 1
}
near() {
  awk -v got="$1" -v wanted="$2" 'BEGIN { exit !(got >= wanted - 0.03 && got <= wanted + 0.03) }' ||
    complain "$3: the pilot is '$1' kHz instead of $2"
}

# ---- every container holds IQ and a composite that the report measures alike
sound=".wav .rf64 .w64 .flac .caf .aiff"
for end in $sound .sigmf; do
  expect 0 compose "$recipe" --set station.pilot.khz=6.2 --seconds 0.5 --out "iq$end"
  said "192000 frames at 384000 S/s, 0.5 s"
  said "Peak deviation"
  said "Nothing was clipped"
  grep -q Caution err && complain "IQ does not feed a transmitter, but is cautioned about"
  name=iq$end
  [ "$end" = .sigmf ] && name=iq.sigmf-meta
  near "$(pilot --as iq "$name")" 6.2 "IQ in $end"
  rm iq.*
done
for end in $sound; do
  expect 0 compose --as composite --rate 192k --seconds 0.5 --set level_dbfs=0 -o "mpx$end"
  said "Caution"
  said "licensed practice"
  near "$(pilot --as composite --full-scale-khz 100 "mpx$end")" 6.75 "composite in $end"
  rm mpx.*
done
# What a composite cannot hold is said, and what it holds is not.
expect 0 compose --as composite --rate 192k --set receiver.noise.cnr_db=20 --set receiver.tilt_db=1 -o n.wav
said "Left out, as a composite does not hold it: synchronous AM: +1 dB at +75 kHz and"
expect 0 compose --as composite --rate 192k --set receiver.clock_ppm=20 --replace -o n.wav
! grep -q "Left out" err || complain "a clock is said to be left out"
rm n.wav
expect 0 compose --as audio --rate 48k --set 'station={programme=({hz=1000.0;khz=37.5;});}' -o a.wav
said "Caution"
"$sidecomb" report --as audio a.wav >out 2>err || complain "audio: status $?: $(cat err)"
rm a.wav

# ---- every kind of bare sample, through a pipe
for type in cu8 ci8 ci16_le ci16_be cu16_le ci32_le cf32_le cf64_be; do
  piped=$("$sidecomb" compose --rate 240k --seconds 0.4 --type "$type" -o - 2>err |
    pilot --type "$type" --rate 240k -)
  near "$piped" 6.75 "$type through a pipe"
done
"$sidecomb" compose --seconds 0.2 --type ci8 -o - >a 2>err || complain "standard output: status $?"
"$sidecomb" compose --seconds 0.2 --type ci8 -o b 2>err || complain "a file: status $?"
cmp a b || complain "a pipe and a file hold different samples"
"$sidecomb" compose --seconds 0.2 --type ci8 --seed 3 --set receiver.noise.cnr_db=20 -o c 2>err
"$sidecomb" compose --seconds 0.2 --type ci8 --seed 4 --set receiver.noise.cnr_db=20 -o d 2>err
cmp -s c d && complain "two seeds make the same noise"
rm a b c d

# ---- rates to both ends
for rate in 192k 250k 1.024M 2.4M 10M; do
  expect 0 compose --rate $rate --seconds 0.02 -o "r"
  bytes=$(stat -c %s r)
  [ "$bytes" -eq "$(awk -v r="${rate%[kM]}" -v u="${rate: -1}" \
    'BEGIN { printf "%d", r * (u == "k" ? 1e3 : 1e6) * 0.02 * 4 }')" ] ||
    complain "$rate: $bytes bytes"
  rm r
done

# ---- the scenario as text is the same scenario
expect 0 compose "$recipe" --print
cp out whole.cfg
grep -q 'carrier-to-noise ratio 48 dB' whole.cfg || complain "--print does not state the truth"
expect 0 compose whole.cfg --print
cmp out whole.cfg || complain "what --print prints is not read as the same scenario"
rm whole.cfg

# ---- every source and every impairment at once
"$sidecomb" compose --as audio --rate 44100 --ready noise --seconds 0.7 -o talk.wav 2>err ||
  complain "no sound file: $(cat err)"
cat >all.cfg <<'END'
rate_hz = 1000000; seconds = 0.5;
station = { name = "main"; hz = 100.0e6; offset_hz = 120; preemphasis_us = 75; limit_hz = 15000;
  pilot = { khz = 6.8; hz = 19001; phase_deg = 12; };
  programme = ( { kind = "tone"; hz = 1000; khz = 5; to = "left"; },
    { kind = "tone"; hz = 1300; khz = 5; to = "right"; },
    { kind = "comb"; hz = 100; to_hz = 8000; count = 9; khz = 0.5; to = "both"; },
    { kind = "white"; khz = 0.3; }, { kind = "pink"; khz = 1.5; to = "apart"; },
    { kind = "sweep"; hz = 50; to_hz = 10000; period_s = 0.5; khz = 1; },
    { kind = "bursts"; hz = 3000; period_s = 0.2; on_s = 0.05; khz = 2; },
    { kind = "sound"; file = "talk.wav"; khz = 4; to = "both"; } );
  difference = { gain_db = -0.2; phase_deg = 2; };
  residual = { khz = 0.3; };
  rds = { khz = 2.5; phase_deg = 90; pi = 0xC4A7; ps = "KITEFLD"; text = "Hello"; pty = 3;
    tp = true; ta = true; music = true; af_mhz = ( 99.1, 101.2 ); clock = "2031-05-17T13:59:59Z"; };
  subcarriers = ( { hz = 67000; khz = 5; limit_hz = 5000;
      programme = ( { kind = "tone"; hz = 400; khz = 2; } ); },
    { hz = 92000; khz = 5; limit_hz = 5000; } );
  bands = ( { hz = 67650; width_hz = 16000; rms_khz = 0.5; } );
  tones = ( { name = "hum"; hz = 50; khz = 0.1; }, { hz = 61300; khz = 0.2; } ); };
receiver = { hz = 100.1e6; tilt_db = 0.1; clock_ppm = 3;
  carriers = ( { hz = 131e3; dbc = -50; } ); am = ( { hz = 100; percent = 1; } );
  neighbours = ( { offset_hz = -300e3; level_db = -20; pilot_khz = 6.75; noise_khz = 10; } );
  noise = { cnr_db = 40; }; iq = { gain_db = 0.2; phase_deg = 1; }; dc = { i = 0.01; q = 0.02; }; };
END
expect 0 compose all.cfg -o all.sigmf
for truth in carrier pilot residual "difference -0.2 dB" "tone 1000 Hz" "9 tones" "white noise" \
  "pink noise" sweep bursts "sound file" "pre-emphasis 75" "PI C4A7" "subcarrier 67000" \
  "subcarrier 92000" "band 67650" "hum: tone" 61300 "one-sided carrier" "incidental AM" \
  "synchronous AM" neighbour "carrier-to-noise" "I +0.2 dB" "direct current" "clock and tuning"; do
  grep -qF "$truth" all.sigmf-meta || complain "the truth of everything lacks: $truth"
done
near "$(pilot all.sigmf-meta)" 6.8 "everything"
for kind in composite audio; do
  expect 0 compose all.cfg --as $kind --rate 192k -o all.flac
  rm all.flac
done
rm all.* talk.wav

# ---- ready scenarios
for name in carrier pilot left right both apart null noise data crowded; do
  expect 0 compose --ready $name --seconds 0.05 --rate 250k -o ready
  said "Peak deviation"
  rm ready
done
expect 0 compose --ready null --set rate_hz=1000000 --set level_dbfs=0 --type cf32_le -o ready
said "Peak deviation 75 kHz"
rm ready
refused "--ready" --ready everything -o x
# What would be left out without a word.
refused "choose the type, like ci32_le" --bits 24 -o x.sigmf
refused "ri32_le or rf32_le" --float --as composite -o x.raw
refused "floats are not rounded" --dither --float -o x.wav
refused "floats are not rounded" --dither --type cf32_le -o x.sigmf

# ---- clipping is counted
expect 0 compose --set level_dbfs=6 --seconds 0.1 --type ci8 -o loud
said "did not fit and were held at full scale"
rm loud

# ---- what is wrong is one line, with the line's number where a file has one
printf 'rate_hz = 384000;\nseconds = ;\n' >syntax.cfg
printf 'rate_hz = 384000;\n\nstation = { pilot = { khz = 99; }; };\n' >range.cfg
printf 'rate_hz = 384000;\nstation = {\n  pilo = 1;\n};\n' >key.cfg
printf 'station = { programme = ( { kind = "sound"; khz = 9.0; file = "none.wav"; } ); };' >sound.cfg
refused "syntax.cfg:2" syntax.cfg -o x.sigmf
refused "range.cfg:3" range.cfg -o x.sigmf
refused "key.cfg:3" key.cfg -o x.sigmf
echo '@include "range.cfg"' >outer.cfg
refused "range.cfg:3" outer.cfg -o x.sigmf
printf 'station = {\n rds = {\n ps = "far too long"; }; };\n' >name.cfg
refused "name.cfg:3: ps" name.cfg -o x.sigmf
refused "no sample" --set seconds=0 -o x.sigmf
refused "none.wav" sound.cfg -o x.sigmf
refused "nowhere.cfg" nowhere.cfg -o x.sigmf
refused "station.pilot.khz=99" --set station.pilot.khz=99 -o x.sigmf
refused "pilo" --set station.pilo.khz=9 -o x.sigmf
refused "--out FILE" "$recipe"
refused "b.cfg: a second scenario" a.cfg b.cfg -o x
refused "-o: needs its argument" "$recipe" -o
refused "no floats" --float -o x.flac
refused "--float and --bits" --float --bits 24 -o x.wav
refused "write it like station.pilot.khz=6" --set station.pilot.khz -o x
refused "both want standard output" --print -o -
refused "--seed" --seed 1.5 -o x
refused "--type" --type ci12 -o x
refused "bits" --type ci8 -o x.wav
refused "13 bits" --bits 13 -o x.wav
refused "real" --as composite --type ci8 -o x
refused "rate_hz" --rate 96k -o x
refused "4 GiB" --rate 10M --seconds 3600 -o x.wav
refused "nowhere/x" -o nowhere/x
mkdir folder.wav
refused "folder.wav" -o folder.wav
rmdir folder.wav

# ---- nothing is overwritten unasked, and no device is renamed over
echo precious >a.wav
expect 2 compose --seconds 0.1 -o a.wav
said "is there already; name another file, or say --replace"
[ "$(cat a.wav)" = precious ] || complain "a.wav was overwritten"
expect 0 compose --seconds 0.1 --replace -o a.wav
[ "$(stat -c %s a.wav)" -gt 100000 ] || complain "--replace does not replace"
rm a.wav
mkfifo pipe
cat pipe >samples &
expect 0 compose --seconds 0.1 -o pipe
wait $!
[ -p pipe ] || complain "the pipe was replaced"
[ "$(stat -c %s samples)" -eq 153600 ] || complain "a pipe got $(stat -c %s samples) bytes"
rm pipe samples

# ---- a full disk, by a limit on the size of files, and a device that is full
for name in x x.sigmf x.wav x.flac; do
  (
    ulimit -f 64
    "$sidecomb" compose --seconds 2 --set receiver.noise.cnr_db=10 -o $name >out 2>err
  )
  [ $? -eq 2 ] || complain "a full disk is no error for $name"
  said "$name"
  alone "a full disk, $name"
done
if [ -w /dev/full ]; then
  "$sidecomb" compose --seconds 1 -o - >/dev/full 2>err
  [ $? -eq 2 ] || complain "a full device is no error"
  said "standard output"
else
  echo "NOT RUN: there is no /dev/full"
fi
{
  "$sidecomb" compose --seconds 5 -o - 2>err
  echo $? >out
} | head -c 100 >/dev/null
[ "$(cat out)" -eq 2 ] || complain "a closed pipe ends with status $(cat out)"

# ---- interrupted
for number in INT TERM HUP; do
  env --default-signal=INT,TERM,HUP "$sidecomb" compose --seconds 100000 --rate 384k -o long.sigmf 2>err &
  job=$!
  for _ in $(seq 100); do
    [ -n "$(find . -name 'long.*part*' -size +0)" ] && break
    sleep 0.05
  done
  [ -n "$(find . -name 'long.*part*')" ] || complain "nothing was begun before SIG$number"
  kill -s "$number" "$job"
  wait "$job"
  status=$?
  [ "$status" -eq $((128 + $(kill -l "$number"))) ] || complain "SIG$number: status $status"
  said "interrupted"
  alone "SIG$number"
done

exit "$failed"
