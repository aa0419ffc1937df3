#!/usr/bin/env bash
# sidecomb - SPDX-License-Identifier: GPL-3.0-or-later
# `make screens`: stores what each view shows of the sample at the usual sizes of a terminal, to be
# read by eye; `git diff` then shows what a change did to the screens. The last digits differ from
# one processor to another, so nothing is compared by machine; sizes_test.sh does the numbers.
. "$(dirname "$0")/screen.sh"

# store WIDTHxHEIGHT: all views into one file.
store() {
  local into=$top/tests/e2e/screens/$1.txt view
  local names=('' 'on air' composite audio stereo deviation 'over time' data)
  local titles=("" "^on air: A" "^composite: A" "" "^stereo" "^deviation: it" "rows of|over time" "^data: RDS")
  terminal "${1%x*}" "${1#*x}" NO_COLOR=1
  type_line "clear; '$sidecomb' view --no-settings '$sample'"
  wait_for '^on air: A carrier'
  : >"$into.new"
  for view in 1 2 4 5 6 7; do
    keys "$view"
    wait_for "${titles[$view]}"
    sleep 1
    {
      printf -- '---- %s, %s\n' "${names[$view]}" "$1"
      shown | sed 's/ *$//'
    } >>"$into.new"
  done
  keys '?'
  sleep 1
  {
    printf -- '---- keys, %s\n' "$1"
    shown | sed 's/ *$//'
  } >>"$into.new"
  mv "$into.new" "$into"
}

for size in 40x12 80x24 120x40 200x60; do
  store "$size"
done
