#!/usr/bin/env bash
# sidecomb - SPDX-License-Identifier: GPL-3.0-or-later
# How the viewer behaves among other programs: the mouse, kinds of terminals, sizes, leaving.
. "$(dirname "$0")/screen.sh"

start() {
  type_line "clear; $1 '$sidecomb' view --duration 0.4 ${*:2} '$sample'"
  wait_for 'records'
  wait_for '^on air: A carrier'
}

# pointer BUTTON COLUMN ROW M|m: what a terminal sends for the mouse (xterm's control sequences,
# "Extended coordinates": SGR, 0 left button, 32 more while it moves, 64 and 65 the wheel).
# More of them come at once.
pointer() {
  tm send-keys -l -- "$(printf '\033[<%d;%d;%d%s' "$@")"
}

# ---- the mouse
terminal 80 24
start TERM=xterm-256color
keys M
expect 'the mouse is taken on demand' 'mouse acts here'
expect_true 'buttons are asked for' flag mouse_any_flag 1
pointer 0 48 14 M
pointer 0 48 14 m
expect 'a click takes the line there: the pilot' '^A \+19 000\.[0-9]+ ±'
keys x
expect 'no marker is left' '^No marker'
pointer 0 48 14 M 0 48 14 m
expect 'a click that comes in one piece' '^A \+19 000\.[0-9]+ ±'
pointer 64 48 14 M
expect 'the wheel zooms in' ' 24[0-9] Hz resolution'
pointer 0 48 14 M
pointer 32 30 14 M
pointer 32 20 14 M
pointer 0 20 14 m
expect 'drawing shifts the span' '^ +0 .* \+160 +kHz'
keys '['
expect 'one step back and it is as before' '^ +-80 .* 0 .* \+80 +kHz'
keys M
expect 'the mouse is given back' "terminal's own again"
expect_true 'no buttons are asked for' flag mouse_any_flag 0
keys M
expect_true 'asked for again' flag mouse_any_flag 1
keys q
expect_restored 'after the mouse'
expect_true 'no buttons after the end' flag mouse_any_flag 0

# ---- kinds of terminals: the picture is there, and nothing is left behind
for kind in xterm vt100 linux screen; do
  infocmp "$kind" >/dev/null 2>&1 || continue # not in this system's terminfo
  start TERM=$kind
  keys h
  expect "$kind: a marker reads" '^A (0|[-+]?0\.[0-9]+)'
  expect "$kind: keys are decoded" 'q leaves'
  keys q
  expect_restored "TERM=$kind"
done
for kind in dumb no-such-terminal; do
  type_line "clear; TERM=$kind '$sidecomb' view '$sample'; echo status \$?"
  expect "TERM=$kind: one line" "terminal"
  expect "TERM=$kind: status 2" '^status 2$'
done

# ---- a locale without UTF-8
start 'LC_ALL= LANG=C'
expect 'LANG=C: plain characters' '^dBc '
if shown | LC_ALL=C grep -q '[^ -~]'; then fail 'LANG=C: ASCII only'; else pass; fi
keys q
expect_restored 'LANG=C'

# ---- sizes, and a storm of them
start TERM=xterm-256color
for size in '1 1' '2 40' '3 3' '500 150' '8 2' '200 60' '120 3' '20 100' '80 24'; do
  # shellcheck disable=SC2086 # two words
  resize $size
  keys n k
done
for width in 30 100 10 150 45 90 61 120 1 80; do
  resize "$width" $((width / 3 + 1))
done
resize 80 24
expect 'after many sizes: the sentence' '^on air: A carrier'
expect 'after many sizes: the last row' 'q leaves'
keys q
expect_restored 'after many sizes'

# ---- leaving by other signals, and the terminal that goes away
type_line 'ulimit -c 0'
for signal in QUIT USR1; do
  start TERM=xterm-256color
  keys M
  wait_for 'mouse acts here'
  kill -"$signal" "$(pgrep -P "$(tm display-message -p '#{pane_pid}')" | head -n 1)"
  expect_restored "after SIG$signal"
  expect_true "after SIG$signal: no buttons" flag mouse_any_flag 0
done
start TERM=xterm-256color
viewer=$(pgrep -P "$(tm display-message -p '#{pane_pid}')" | head -n 1)
tm kill-server
gone() {
  ! kill -0 "$viewer" 2>/dev/null
}
expect_true 'a terminal that goes away ends the viewer' gone

# ---- a file that is still being written, and becomes shorter under the reader
terminal 80 24
head -c 1000000 "${sample%-meta}-data" >"$folder/grows.raw"
exec 4>>"$folder/grows.raw"
type_line "clear; '$sidecomb' view --follow --type ci8 --rate 384000 --as iq '$folder/grows.raw'"
wait_for '^on air.* so far: A carrier'
# a machine that is slow enough has waited for more by then, as only what is live does
expect 'a growing file is live' '(live|NOTHING CAME for [0-9]+ s), the last 1\.00 s'
tail -c 500000 "${sample%-meta}-data" >&4
expect 'it begins with the newest second, and goes on' '^on air, 1\.6[0-9] s so far'
truncate -s 1000 "$folder/grows.raw"
expect 'a file that becomes shorter says so' '^on air: grows\.raw: the file became shorter'
keys h
expect 'and what was read stays' '^A (0|[-+]?0\.[0-9]+) '
exec 4>&-
keys q
expect_restored 'after a file that grew'

# ---- a file that becomes shorter while it is surveyed
cp "${sample%-meta}-data" "$folder/shrinks.raw"
truncate -s 200M "$folder/shrinks.raw" # silence, which takes no room
type_line "clear; '$sidecomb' view --type ci8 --rate 384000 --as iq '$folder/shrinks.raw'"
wait_for 'q leaves'
keys X
expect 'what takes long can be stopped' 'stands still|stopped'
truncate -s 1000 "$folder/shrinks.raw"
keys X
expect 'a file that became shorter says so' '^on air: shrinks\.raw: the samples end at'
keys h q
expect_restored 'after a file that shrank'

# ---- what libraries say on the standard error comes after the screen, not over it
if grep -q '^#define SC_SANITIZED 1' "$build/config.h" 2>/dev/null; then
  echo 'NOT RUN under sanitizers, whose own messages must not be held: those of libraries'
else
  terminal 80 24
  type_line "clear; '$sidecomb' view --duration 0.4 '$sample'"
  wait_for '^on air: A carrier'
  running=$(pgrep -n -P "$(tm display-message -p '#{pane_pid}')" -x sidecomb)
  echo from-a-library >>"/proc/$running/fd/2"
  sleep 0.3 # no condition can be seen of what is not to appear
  expect_not 'nothing of it over the screen' 'from-a-library'
  keys q
  expect 'it is said afterwards' 'from-a-library'
  expect_restored 'after a message'
fi

summary
