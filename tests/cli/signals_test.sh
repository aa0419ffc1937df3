#!/usr/bin/env bash
# sidecomb - SPDX-License-Identifier: GPL-3.0-or-later
# Signals and closed descriptors: what is begun is ended in order or leaves nothing. That a signal
# ends a program with 128 and its number, that timeout(1) sends two, and that nohup(1) ignores
# the hang-up, are those programs' own words.
set -u
. "$(realpath "${SC_SRCDIR:-.}")/tests/cli/expect.sh"

# amid NAME SIGNAL ARGUMENTS...: the signal comes while a part of NAME is there. One that came too
# late is tried again.
amid() {
  local name=$1 signal=$2 status working
  shift 2
  for _ in $(seq 20); do
    rm -f "$name"*
    env --default-signal=INT,HUP "$sidecomb" "$@" >out 2>err </dev/null &
    working=$!
    until compgen -G "$name.part*" >part || ! kill -0 $working 2>/dev/null; do
      sleep 0.005
    done
    kill -"$signal" $working 2>/dev/null
    wait $working 2>/dev/null
    status=$?
    [ "$status" -eq 0 ] || break
  done
  [ "$status" -eq $((128 + $(kill -l "$signal"))) ] || complain "$* and $signal: status $status"
  said 'interrupted; no file is left behind'
  [ -z "$(compgen -G "$name*")" ] || complain "$* and $signal left $(compgen -G "$name*")"
}
for signal in INT TERM HUP; do
  amid test.wav "$signal" sequence -o test.wav
done
"$sidecomb" compose --ready left --as composite --rate 192k --seconds 2 -o once.raw 2>err ||
  complain "compose: $(cat err)"
for _ in $(seq 60); do cat once.raw; done >long.raw
amid heard.wav TERM report --type ri16_le --rate 192k --as composite --full-scale-khz 100 \
  --write-audio heard.wav long.raw
rm -f long.raw

# A live capture is measured as far as it went, by each of the three and by both of the two that
# timeout(1) sends.
mkfifo pipe
heard() { # SIGNAL COUNT
  local working read last still=0
  exec 3<>pipe
  env --default-signal=INT,HUP "$sidecomb" report --json --type ri16_le --rate 192k --as composite - \
    >out 2>err <pipe 3>&- &
  working=$!
  cat once.raw >&3
  # All is taken when no more is read; what the program reads to begin with is counted as well.
  for _ in $(seq 400); do
    last=${read:-0} read=$(grep -s rchar /proc/$working/io | tr -dc 0-9)
    if [ "${read:-0}" -ge 768000 ] && [ "$read" = "$last" ]; then
      still=$((still + 1))
    else
      still=0
    fi
    [ "$still" -lt 6 ] || break
    sleep 0.05
  done
  for _ in $(seq "$2"); do
    kill -"$1" $working 2>/dev/null
    sleep 0.01
  done
  wait $working || complain "report and $2 $1: status $?"
  exec 3>&-
  grep -q '"duration_s": 2' out || complain "$1: not reported: $(grep duration_s out) $(cat err)"
}
heard INT 1
heard HUP 1
heard TERM 1
heard TERM 5

# What outlives its terminal does so.
exec 3<>pipe
nohup "$sidecomb" record --type ri16_le --rate 192k --as composite - -o kept.wav >out 2>err <pipe 3>&- &
recording=$!
cat once.raw >&3
for _ in $(seq 200); do
  [ "$(stat -c %s kept.wav 2>/dev/null || echo 0)" -ge 700000 ] && break
  sleep 0.05
done
kill -HUP $recording
cat once.raw >&3 & # nobody takes it where the recording has ended
feeding=$!
for _ in $(seq 200); do
  [ "$(stat -c %s kept.wav)" -ge 1500000 ] && break
  kill -0 $recording 2>/dev/null || break
  sleep 0.05
done
kill -TERM $recording
wait $recording || complain "nohup: status $?: $(cat err)"
kill $feeding 2>/dev/null
exec 3>&-
said '4 s, 768000 frames.'

# Closed descriptors: what is printed goes nowhere, and not into the files that are opened.
"$sidecomb" devices >&- 2>err
[ $? -eq 2 ] || complain "a closed standard output: status $?"
said 'standard output: cannot write'
"$sidecomb" report --type cu8 --rate 240k - <&- >out 2>err
[ $? -eq 2 ] || complain "a closed standard input: status $?"
said 'standard input'
"$sidecomb" record --type ri16_le --rate 192k --as composite once.raw -o plain.wav >&- 2>&- ||
  complain "recording with both closed: status $?"
"$sidecomb" record --type ri16_le --rate 192k --as composite once.raw -o usual.wav >out 2>err ||
  complain "recording: status $?"
cmp plain.wav usual.wav || complain "closed descriptors change the recording"
exit "$failed"
