#!/usr/bin/env bash
# sidecomb - SPDX-License-Identifier: GPL-3.0-or-later
# Plots from the command line: whole files, nothing replaced unasked, spans, masks and refusals.
set -u
top=$(realpath "${SC_SRCDIR:-.}")
. "$top/tests/cli/expect.sh"
sample=$top/samples/kitefield.sigmf-meta

expect 0 plot "$sample" --duration 0.5 -o air.svg
head -c 5 air.svg | grep -q '<?xml' || complain "air.svg is no SVG"
tail -n 1 air.svg | grep -q '</svg>' || complain "air.svg does not end"
[ "$(ls | sort | tr '\n' ' ')" = 'air.svg err out ' ] || complain "more than the plot is left: $(ls)"

expect 0 plot "$sample" --duration 0.5 --span 20k -o air.csv
grep -q '^offset_hz,mean_dbc,highest_dbc,lowest_dbc$' air.csv || complain "air.csv has no heading"
peak=$(grep -v '^[#o]' air.csv | sort -t, -k2 -g -r | head -n 1)
[[ $peak =~ ^-?[0-9]{1,2}\. ]] || complain "the highest point is not the carrier: $peak"
rm air.csv

# What is there stays, and a name that cannot be written leaves nothing.
cp air.svg before
expect 2 plot "$sample" --duration 0.5 -o air.svg
said 'air.svg: is there already'
cmp -s air.svg before || complain "the file was touched"
expect 0 plot "$sample" --duration 0.5 --view composite --replace -o air.svg
cmp -s air.svg before && complain "--replace did not replace"
expect 2 plot "$sample" --duration 0.5 -o missing/air.svg
said 'cannot be written'

# Wrong usage is told before anything is measured.
expect 2 plot "$sample"
said 'plot: say where to'
expect 2 plot "$sample" -o air.jpg
said '.svg, .png, .pdf or .csv'
expect 2 plot "$sample" --view audio -o audio.svg
said "has no spectrum 'audio'"
expect 2 plot - -o pipe.svg --type cu8 --rate 500k
expect 2 plot "$sample" --rbw 100 --mask "$top/samples/47cfr73.317.mask" --power-w 0.01 -o m.svg
said '--rbw'

# A mask decides the status: this one is kept, and one that nothing keeps is not.
expect 0 plot "$sample" --mask "$top/samples/47cfr73.317.mask" --power-w 0.01 -o kept.pdf
head -c 5 kept.pdf | grep -q '%PDF-' || complain "kept.pdf is no PDF"
printf 'name none\nsource a test\nresolution 1k\ndetector mean\nfrom 1k to 20k 80\n' >strict.mask
expect 3 plot "$sample" --mask strict.mask -o broken.png
[ -s broken.png ] || complain "a plot with a broken limit was not written"

# A second capture beneath the first, and one that cannot be set beside it.
"$sidecomb" compose --ready pilot --seconds 0.5 -o pilot.sigmf 2>/dev/null
"$sidecomb" compose --ready pilot --as composite --seconds 0.5 -o pilot.wav 2>/dev/null
expect 0 plot pilot.sigmf-meta -o alone.svg
expect 0 plot pilot.sigmf-meta --against "$sample" --duration 0.4 -o both.svg
grep -q dasharray alone.svg && complain "a plot of one capture has a dashed trace"
grep -q dasharray both.svg || complain "the second capture is not drawn"
expect 2 plot pilot.sigmf-meta --against pilot.wav -o other.svg
said 'name captures of one kind'

# What the composite makes of it, dotted.
expect 0 plot pilot.sigmf-meta --expected -o expected.svg
grep -q dasharray expected.svg || complain "what is expected is not drawn"
expect 2 plot pilot.wav --as composite --expected -o other.svg
said '--expected'

# A span about the pilot.
expect 0 plot "$sample" --duration 1 --middle 19k --span 4k --rbw 20 -o pilot.png
expect 2 plot "$sample" --duration 0.5 --middle 900k --span 4k -o beyond.png
[ ! -e beyond.png ] || complain "a plot of nothing was written"
expect 0 plot "$sample" --duration 0.5 --span 9M -o wide.csv
said '--span 9000000: '
said 'Hz are drawn'

# Noise is drawn too, and the status says that nothing was measured.
head -c 1000000 /dev/urandom >noise.cu8
expect 1 plot --type cu8 --rate 500k noise.cu8 -o noise.png
said 'drawn, but not measurable'
exit "$failed"
