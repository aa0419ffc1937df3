#!/usr/bin/env bash
# sidecomb - SPDX-License-Identifier: GPL-3.0-or-later
# Interval after interval: of a file, of a pipe that stalls, with limits, and stopped by a signal.
set -u
sample=$(realpath "${SC_SRCDIR:-.}")/samples/kitefield.sigmf-meta
. "$(realpath "${SC_SRCDIR:-.}")/tests/cli/expect.sh"

expect 0 watch --every 0.8 --keys pilot.deviation_khz "$sample"
[ "$(wc -l <out)" -eq 4 ] || complain "2.4 s in intervals of 0.8 s are $(wc -l <out) lines"
sed 1d out | while IFS=, read -r start length _ khz _; do
  awk -v k="$khz" -v l="$length" 'BEGIN { exit !(k > 6.79 && k < 6.81 && l == 0.8) }' ||
    echo "$start $length $khz"
done | grep . && complain "the pilot's 6.8 kHz are not found in each interval"
said '3 intervals measured'

printf 'pilot.deviation_khz at most 6.5\n' >low
expect 3 watch --limits low --json "$sample"
tail -n 1 out | grep -q '"failed":3' || complain "the summary does not count what failed: $(tail -n 1 out)"
printf 'audio.left.thd_n_db at most -40\n' >open
expect 1 watch --limits open "$sample"
expect 2 watch --keys pilot.colour "$sample"
said pilot.colour
expect 2 watch --every 0 "$sample"
said --every

# Two tunings: the second is left out, and it is said why.
cat >two.sigmf-meta <<'END'
{"global": {"core:datatype": "ci8", "core:sample_rate": 384000, "core:version": "1.0.0"},
 "captures": [{"core:sample_start": 0, "core:frequency": 91.205e6},
              {"core:sample_start": 614400, "core:frequency": 92e6}]}
END
ln -s "${sample%meta}data" two.sigmf-data
expect 0 watch --every 0.8 --json --keys pilot.deviation_khz two.sigmf-meta
[ "$(grep -c 'at another tuned frequency' out)" -eq 1 ] || complain "the other tuning: $(cat out)"
expect 0 watch --every 0.8 --keys pilot.deviation_khz two.sigmf-meta
said '1 of them not measurable, the first because its samples were taken at another tuned frequency'

# A pipe that stalls; the signal ends it, and what was measured is there.
mkfifo pipe
exec 3<>pipe
env --default-signal=INT,TERM,HUP "$sidecomb" watch --type ci8 --rate 384k \
  --keys pilot.deviation_khz - <pipe >out 2>err &
watcher=$!
head -c 1000000 "${sample%meta}data" >&3
for _ in $(seq 100); do
  [ "$(wc -l <out)" -ge 2 ] && break
  sleep 0.1
done
[ "$(wc -l <out)" -eq 2 ] || complain "no line while the pipe stalls: $(cat out err)"
for _ in $(seq 200); do
  grep -q '^sidecomb: nothing came for [0-9]* s$' err && break
  sleep 0.1
done
[ "$(grep -c 'nothing came' err)" -eq 1 ] || complain "a stall is not said once: $(cat err)"
head -c 1000 "${sample%meta}data" >&3
for _ in $(seq 100); do
  grep -q '^sidecomb: samples come again, after [0-9]* s$' err && break
  sleep 0.1
done
said 'samples come again'
kill -TERM "$watcher"
wait "$watcher"
status=$?
exec 3>&-
[ "$status" -eq 0 ] || complain "a signal ends it with status $status"
[ "$(wc -l <out)" -eq 3 ] || complain "the begun interval is lost: $(cat out)"
said '2 intervals measured'

# Nothing came, or the file was gone: one line says so.
"$sidecomb" watch --type ci8 --rate 384k --as iq - >out 2>err </dev/null
[ $? -eq 1 ] || complain "an empty pipe is measured: $(cat out err)"
said 'no interval was measured: nothing came in'
[ "$(wc -l <err)" -eq 1 ] || complain "an empty pipe takes more than a line: $(cat err)"

# A file that is still being written: read as it grows, to its end when the writer closes it.
exec 4>grows.raw
head -c 500000 "${sample%meta}data" >&4
"$sidecomb" watch --follow --type ci8 --rate 384k --as iq --keys pilot.deviation_khz grows.raw 4>&- \
  >out 2>err </dev/null &
watcher=$!
tail -c +500001 "${sample%meta}data" | head -c 500000 >&4
for _ in $(seq 100); do
  [ "$(wc -l <out)" -ge 2 ] && break
  sleep 0.1
done
[ "$(wc -l <out)" -eq 2 ] || complain "no line while the file grows: $(cat out err)"
exec 4>&-
wait "$watcher" || complain "the end of a file that grew: status $?"
[ "$(wc -l <out)" -eq 3 ] || complain "the last interval of a file that grew: $(cat out err)"

# A file that another one takes the place of while its writer has it open: its end is told.
for way in 'rm grows.raw' 'mv other.raw grows.raw'; do
  : >other.raw
  exec 4>grows.raw
  head -c 500000 "${sample%meta}data" >&4
  "$sidecomb" watch --follow --type ci8 --rate 384k --as iq --keys pilot.deviation_khz grows.raw \
    4>&- >out 2>err </dev/null &
  watcher=$!
  tail -c +500001 "${sample%meta}data" | head -c 500000 >&4
  for _ in $(seq 100); do
    [ "$(wc -l <out)" -ge 2 ] && break
    sleep 0.1
  done
  $way
  wait "$watcher"
  status=$?
  exec 4>&-
  [ "$status" -eq 2 ] || complain "$way: status $status"
  said 'grows.raw: the file was removed or replaced while it was followed'
  said '2 intervals measured'
done

# A full disk ends it.
if [ -w /dev/full ]; then
  "$sidecomb" watch "$sample" >/dev/full 2>err
  [ $? -eq 2 ] || complain "a full disk is no error"
fi
exit "$failed"
