#!/usr/bin/env bash
# sidecomb - SPDX-License-Identifier: GPL-3.0-or-later
# A capture without the transmitter takes the receiver's own lines off, and leaves the transmitter's.
set -u
. "$(realpath "${SC_SRCDIR:-.}")/tests/cli/expect.sh"

cat >scene.cfg <<'END'
rate_hz = 500000; seconds = 1;
station = { hz = 91.1e6; offset_hz = 60000; };
receiver = { hz = 91.1e6; noise = { cnr_db = 45; };
  carriers = ( { name = "receiver's"; hz = 200000; dbc = -50; } ); };
END
expect 0 compose scene.cfg --type ci16_le --set station.carrier=false --set seed=1 -o without.sigmf
sed -i 's/dbc = -50; }/&, { name = "own"; hz = 215000; dbc = -55; }/' scene.cfg
expect 0 compose scene.cfg --type ci16_le --set seed=2 -o with.sigmf

# unwanted: how many lines of other sources the report in `out` counts.
unwanted() {
  sed -n 's/^  lines of other sources *//p' out
}
expect 0 report with.sigmf-meta
[ "$(unwanted)" = 2 ] || complain "without a baseline $(unwanted) unwanted lines instead of 2"
expect 0 report --baseline without.sigmf-meta with.sigmf-meta
[ "$(unwanted)" = 1 ] || complain "with a baseline $(unwanted) unwanted lines instead of 1"
grep -q '^  the strongest  *-5[45]\.' out || complain "the transmitter's own is not the one left"
grep -q 'as strong without the transmitter' out || complain "the receiver's line is not named"

# The mask sees the transmitter's line, not the receiver's.
printf 'name edge\nsource none\nresolution 1k\ndetector mean\nfrom 130k to 150k 52\n' >edge
expect 3 report --mask edge with.sigmf-meta
expect 0 report --mask edge --baseline without.sigmf-meta with.sigmf-meta

# The transmitter was on in it: its own line is not excused, nor the mask, and that is said; another
# station in the next channel but one is no reason.
expect 0 report --baseline with.sigmf-meta with.sigmf-meta
[ "$(unwanted)" = 2 ] || complain "a baseline with the transmitter leaves $(unwanted) lines of 2"
head -3 out | tr '\n' ' ' | grep -q 'baseline is not used: it holds an FM signal in this channel' ||
  complain "not in the first lines: $(head -3 out)"
sed -n '/^What limits/,$p' out | tr -s ' \n' ' ' | grep -q 'holds an FM signal in this channel, 0.0 dB' ||
  complain 'not among the limits'
expect 3 report --mask edge --baseline with.sigmf-meta with.sigmf-meta
expect 0 report --baseline without.sigmf-meta with.sigmf-meta
grep -q 'baseline is not used' out && complain 'a good baseline is refused'
expect 0 compose scene.cfg --type ci16_le --set station.offset_hz=-140000 --set seed=3 \
  -o elsewhere.sigmf
expect 0 report --baseline elsewhere.sigmf-meta with.sigmf-meta
grep -q 'baseline is not used' out && complain 'a station elsewhere is taken for the transmitter'

# What is no baseline.
expect 2 report --baseline nothing.sigmf-meta with.sigmf-meta
said nothing.sigmf-meta
expect 0 compose --ready carrier --rate 384k --type ci16_le -o other.sigmf
expect 2 report --baseline other.sigmf-meta with.sigmf-meta
said 'same settings'
expect 0 compose --ready pilot --as composite --rate 192k -o composite.wav
expect 2 report --baseline composite.wav with.sigmf-meta
said 'IQ capture'

# Levels in dBm: the carrier's amplitude is half of full scale.
expect 0 report --full-scale-dbm -20 with.sigmf-meta
grep -q "at the receiver's input -26\.0" out || complain "no level in dBm: $(grep input out)"
exit "$failed"
