#!/usr/bin/env bash
# sidecomb - SPDX-License-Identifier: GPL-3.0-or-later
# Each view at the usual sizes of a terminal: what is measured stands on the screen, as a number.
# The numbers are those of the sample's recipe, samples/kitefield.cfg.
. "$(dirname "$0")/screen.sh"

start() {
  terminal "$1" "$2"
  type_line "clear; '$sidecomb' view '$sample'"
  wait_for '^on air: A carrier'
}

for size in '80 24' '120 40' '200 60' '40 12'; do
  # shellcheck disable=SC2086 # two words
  start $size
  keys g
  wait_for '^Marker to'
  type_line 19k
  expect "on air, $size: the pilot's line" '^A \+19 000\.400[0-9]* ±0\.0'
  expect "on air, $size: the carrier" 'carrier at 91\.2004[0-9]* MHz'
  expect "on air, $size: an axis" '^ +-1[0-9]0 .* kHz$|-1[0-9]0 .*kHz'
  keys 2
  wait_for '^composite: A carrier'
  keys g
  wait_for '^Marker to'
  type_line pilot
  expect "composite, $size: the pilot" '^A 19 000\.400[0-9]* ±0\.0'
  expect "composite, $size: its deviation" '6\.80[0-9]* ±0\.0|6\.800'
  keys 4
  expect "stereo, $size: left" '(left +|of [0-9.]+ and |sum )[01]\.[0-9]+ '
  keys 5
  expect "deviation, $size: its peak" '1[01]\.[0-9]+( ±| kHz)'
  keys 6
  expect "over time, $size: rows" '[0-9]+ rows of 0\.0[0-9]+( s|$)'
  keys 7
  expect "data, $size: the station" 'KITEFLD'
  keys q
  wait_for '^ready>'
done

summary
