#!/usr/bin/env bash
# sidecomb - SPDX-License-Identifier: GPL-3.0-or-later
# How the viewer behaves among other programs: the mouse, kinds of terminals, sizes, leaving.
. "$(dirname "$0")/screen.sh"

start() {
  type_line "clear; $1 '$sidecomb' view --duration 0.4 ${*:2} '$sample'"
  wait_for '^on air: '
  wait_for 'records'
}

# pointer BUTTON COLUMN ROW M|m: what a terminal sends for the mouse (xterm's control sequences,
# "Extended coordinates": SGR, 0 left button, 32 more while it moves, 64 and 65 the wheel).
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
pointer 64 48 14 M
expect 'the wheel zooms in' ' 24[0-9] Hz resolution'
pointer 0 48 14 M
pointer 32 30 14 M
pointer 32 20 14 M
pointer 0 20 14 m
keys h
expect_not 'drawing shifts the span: the carrier is out of it' '^A \+19 000'
keys '['
keys h
expect 'one step back and the carrier is shown' '^A (0|[-+]0\.[0-9]+) '
keys M
expect 'the mouse is given back' "terminal's own again"
expect_true 'no buttons are asked for' flag mouse_any_flag 0
keys M
expect_true 'asked for again' flag mouse_any_flag 1
keys q
expect_restored 'after the mouse'
expect_true 'no buttons after the end' flag mouse_any_flag 0

summary
