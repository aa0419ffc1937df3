#!/usr/bin/env bash
# sidecomb - SPDX-License-Identifier: GPL-3.0-or-later
# Captures side by side: one with itself, one with a changed pilot, and what cannot be compared.
set -u
. "$(realpath "${SC_SRCDIR:-.}")/tests/cli/expect.sh"

make_capture() {
  expect 0 compose --ready pilot --set "station.pilot.khz=$2" --set "seed=$3" \
    --set receiver.noise.cnr_db=50 --type ci16_le --rate 384k --seconds 1 -o "$1"
}
make_capture before.sigmf 6 1
make_capture after.sigmf 7 2
make_capture again.sigmf 6 3

expect 0 compare before.sigmf-meta again.sigmf-meta
grep -q '^0 quantities and 0 lines differ from A' out || complain "the same signal differs: $(sed -n 1,20p out)"
expect 0 compare before.sigmf-meta again.sigmf-meta after.sigmf-meta
grep -q '^pilot.deviation_khz' out || complain "the pilot's change is not seen"
grep -A 3 '^pilot.deviation_khz' out | grep -q 'C 7.0.*+1.0' || complain "not by how much: $(head -30 out)"
LC_ALL=C.UTF-8 awk 'length > 80' out | grep . && complain "wider than 80 columns"
expect 0 compare --json before.sigmf-meta after.sigmf-meta
grep -q '"schema": "sidecomb-comparison/1"' out || complain "no JSON"

expect 2 compare before.sigmf-meta
said 'two captures'
expect 2 compare - -
said 'standard input'
expect 2 compare before.sigmf-meta nothing.sigmf-meta
said 'nothing.sigmf-meta'
expect 0 compose --ready pilot --as composite --rate 192k --seconds 1 -o composite.wav
expect 2 compare before.sigmf-meta composite.wav
said 'one kind'
[ "$(wc -l <err)" -eq 1 ] || complain "$(wc -l <err) lines on standard error"
exit "$failed"
