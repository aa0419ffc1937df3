#!/usr/bin/env bash
# sidecomb - SPDX-License-Identifier: GPL-3.0-or-later
# The viewer in a real terminal: from its start on the shipped sample to its end.
. "$(dirname "$0")/screen.sh"

# Numbers that the sample's recipe puts in: pilot 0.4 Hz high at 6.8 kHz.
pilot='19 000\.[34][0-9]* ±0\.[0-9]+ Hz'

# start [WORD...]: the viewer, on a part of the sample that is measured soon.
start() {
  type_line "clear; $1 '$sidecomb' view --duration 0.4 ${*:2} '$sample'"
  wait_for '^on air'
}

# ---- finding the pilot, zooming, views, sizes
terminal 80 24
type_line "clear; '$sidecomb' '$sample'"
wait_for '^on air: A carrier' # not "so far": all of it is measured
expect 'settings are a sentence' 'window, [0-9.]+ Hz resolution, [0-9]+ records averaged, all 2\.40 s'
expect 'levels refer to the carrier' '^dBc '
expect_true 'alternate screen' flag alternate_on 1
keys h
expect 'the highest is the carrier' '^A (0|[-+]?0\.[0-9]+) '
keys g
wait_for '^Marker to'
type_line 19k
expect 'the marker reads the pilot on air' "^A \+$pilot"
keys m
expect 'the mirror is on the other side' '^A -19 000\.'
keys s
wait_for '^Span'
type_line 2k
expect 'the zoom is real: the resolution falls' 'Blackman-Harris.* [0-9]\.[0-9]+ Hz'
keys '['
expect 'back to the span before' ' [0-9]{3} Hz resolution'
keys 4
expect 'stereo in rows' '^pilot +6\.(79|80|81)[0-9]* ± [0-9.]+ kHz +6 to 7\.5 \(BS\.450-3\) +='
keys 5
expect 'deviation beside 75 kHz' '^deviation: it reaches [0-9.]+ kHz, [0-9.]+ kHz below the 75 kHz'
keys 6
expect 'the spectrum against time' '^over time: on air, [0-9]+ rows of '
expect 'its shades have a key' 'dBc in [0-9]+ Hz; time runs down'
keys Escape v
wait_for '^composite[:,] '
wait_for '^dB75'
keys g
wait_for '^Marker to'
type_line 19k
expect 'the marker reads the pilot on the composite' "^A $pilot"
expect 'in kHz of deviation' '^A .*6\.(79|80|81)[0-9]* ±0\.[0-9]+ kHz'
expect 'against the table' '0\.[0-9]+ Hz above'
keys B n
expect 'differences are read' 'dB against A, '
resize 40 12
expect 'a small screen keeps the marker' '^B [0-9 .]+ ±'
expect 'and the sentence' '^composite[:,] '
resize 120 40
expect 'a large one puts the account beside' '^ +kHz cause.* dB75'
resize 80 24
expect 'and back' '^B [0-9 .]+ ±'
keys '?'
expect 'help' '^Keys that work here'
keys x
wait_for '^composite[:,] '
keys q
expect_restored 'after q'

# ---- a second capture: the same station, tuned 3 kHz lower and at another rate, without a spur
made() {
  "$sidecomb" compose --ready data --seconds 0.6 --set 'receiver.noise={cnr_db=50; bandwidth_hz=200000;}' "$@" >/dev/null || fail "compose: $*"
}
made --rate 400k --set 'receiver.carriers=({name="spur"; hz=121400; dbc=-50;})' \
  -o "$folder/now.sigmf"
made --rate 500k --set station.offset_hz=3000 -o "$folder/before.sigmf"
made --rate 192k --as composite -o "$folder/composite.wav"
terminal 160 40
type_line "clear; '$sidecomb' view --against '$folder/before.sigmf-meta' '$folder/now.sigmf-meta'"
wait_for '^on air: A carrier'
expect 'the second is named in the settings' 'before\.sigmf-data'
expect 'the difference has a strip'  ' \+20 '
keys g
wait_for '^Marker to'
type_line 19k
expect 'pilots are compared' 'the other capture -15\.[01][0-9]* dBc, difference [-+]?0\.0[0-9]+ ±'
keys g
wait_for '^Marker to'
type_line 121.4k
expect 'a spur that only one has' 'dBc, the other capture has no line, .*difference \+2[67]\.[0-9] dB'
keys O
expect 'switched off' '^A \+121 [0-9. ±]*Hz, -50\.0[0-9]* [^o]*: '
keys O v
wait_for '^composite[:,] '
expect 'on the composite too' 'before\.sigmf-data'
keys e
expect 'values of both' '^ +offset from the centre +-?0\.[0-9]+ ± [0-9.e-]+ Hz +(3000|2999)\.'
keys x q
expect_restored 'after two captures'
refused() {
  type_line "clear; '$sidecomb' view --against $1 '$folder/now.sigmf-meta'; echo status \$?"
  expect "$2" "$3"
  expect "$2: status 2" '^status 2$'
}
refused nowhere.wav 'no second capture' 'nowhere\.wav: cannot be opened'
refused "'$folder/composite.wav'" 'kinds differ' '^sidecomb: --against: .*composite.*first capture iq'

# ---- every view at every usual size; the recipe: pilot 6.8 kHz, 0.45 kHz at 38 kHz, RDS KITEFLD
terminal 80 24
type_line "clear; '$sidecomb' '$sample'"
wait_for '^on air: A carrier'
for size in '80 24' '120 40' '200 60' '40 12'; do
  # shellcheck disable=SC2086 # two words
  resize $size
  keys Escape 2 h n
  expect "composite, $size" '^composite[:,] '
  expect "composite, $size: a marker" '^A [0-9 .]+ ±0\.[0-9]+'
  keys 4
  expect "stereo, $size" '^stereo: pilot and difference'
  if [ "$size" = '40 12' ]; then
    expect "stereo, $size: rows wait" 'more below: Down shows them'
    keys NPage NPage Down Down Down
  fi
  expect "stereo, $size: the pilot" '^pilot +6\.(79|80)[0-9]* ± .*='
  expect "stereo, $size: what is left at 38 kHz" '^38 kHz( carrier left)? +0\.60[0-9]* ± .*='
  keys 5
  expect "deviation, $size" '^deviation: it reaches 1[01]\.[0-9]+ kHz'
  expect "deviation, $size: over time" '^kHz, highest of each 0\.05 s'
  keys 6
  expect "over time, $size" '^over time: composite, [0-9]+ rows of 0\.0[0-9]+'
  expect "over time, $size: its shades" '░▒▒▓█'
  keys 7
  expect "data, $size" '^data: RDS of KITEFLD, PI C4A7, 2\.00 kHz,'
  expect "data, $size: present" '^data +present'
  keys e
  expect "values, $size" '^Measured '
  keys x 1
  expect "on air, $size" '^on air: A carrier'
done
keys q
expect_restored 'after all views'

# ---- two views at once
terminal 180 40
type_line "clear; '$sidecomb' view --duration 0.4 '$sample'"
wait_for '^on air: A carrier'
keys V
expect 'the other spectrum stands beside' '^on air: .*│composite: A carrier'
expect 'with a trace of its own' '^dBc .*│dB75 '
keys U 4
expect 'keys act on the other side' '^on air: .*│stereo: '
resize 120 40
expect 'where it is too narrow one view stays' '^stereo: '
resize 180 40
keys V
expect 'one view again' '^stereo: '
keys q
expect_restored 'after two views'

# ---- leaving by signals
signals='TERM INT HUP SEGV ABRT'
if grep -q '^#define SC_SANITIZED 1' "$build/config.h" 2>/dev/null; then
  echo 'NOT RUN under sanitizers, which handle these themselves: SEGV ABRT'
  signals='TERM INT HUP'
fi
for signal in $signals; do
  start
  type_pid=$(pgrep -P "$(tm display-message -p '#{pane_pid}')" | head -n 1)
  kill -"$signal" "$type_pid"
  expect_restored "after SIG$signal"
done

# ---- stop and go on
start
keys C-z
expect_true 'stopped: main screen' flag alternate_on 0
type_line fg
expect 'resumed' '^on air'
expect_true 'resumed: alternate screen' flag alternate_on 1
# The terminal is held (Ctrl-S), so that the stop comes in the middle of a drawing.
keys C-s
keys 6
sleep 0.3 # no condition can be seen; too short a wait only tests what is tested above
keys C-z
expect_true 'stopped while it draws' flag alternate_on 0
type_line fg
expect 'resumed after that' '^o(n air|ver time)' # the stop may have flushed the 6
# A stop that cannot be caught: the shell sets the terminal's modes, the viewer sets them again.
kill -STOP "$(pgrep -P "$(tm display-message -p '#{pane_pid}')" -x sidecomb)"
expect 'the shell has the terminal' 'Stopped'
type_line fg
expect 'resumed after a stop from outside' '^o(n air|ver time)'
keys v
expect 'keys count by themselves' '^composite:'
keys q
expect_restored 'after stopping'

# ---- as small as it gets
terminal 80 24
resize 1 1
type_line "'$sidecomb' view '$sample'"
expect_true 'runs at 1x1' flag alternate_on 1
keys h n v k '?'
resize 60 20
keys x
expect 'and grows' '^composite[:,] '
keys q
expect_restored 'after 1x1'

# ---- without colour, without UTF-8
terminal 80 24
start_marked() {
  start "$@"
  wait_for 'records averaged'
  wait_for '^on air: A carrier'
  keys h
  wait_for '^A '
}
start_marked NO_COLOR=1
coloured() {
  tm capture-pane -p -e | grep -q "$(printf '\033')\[[0-9;]*\(3[0-7]\|38\|9[0-7]\)[;m]"
}
if coloured; then fail 'NO_COLOR'; else pass; fi
keys q
expect_restored 'after NO_COLOR'
start_marked TERM=xterm-256color
expect_true 'colour where there is some' coloured
keys q
wait_for '^ready>'
start_marked TERM=xterm-256color --no-colour
if coloured; then fail '--no-colour'; else pass; fi
keys q
wait_for '^ready>'
for plain in 'LC_ALL=C' 'LC_ALL=C.UTF-8 --plain'; do
  # shellcheck disable=SC2086 # words
  start_marked $plain
  expect "plain characters: $plain" '^A .*\+/-'
  if shown | LC_ALL=C grep -q '[^ -~]'; then fail "ASCII only: $plain"; else pass; fi
  keys q
  expect_restored "after $plain"
done

# ---- files and settings
type_line "cd '$folder'"
start TERM=xterm-256color
wait_for '^on air: A carrier'
keys S
expect 'a name is offered' '^Save as: kitefield-air\.pdf'
keys Enter
expect 'the plot is saved' '^Saved kitefield-air\.pdf'
keys S
wait_for '^Save as'
keys Enter
expect 'it asks before it replaces' '^kitefield-air\.pdf is there already\. Replace it\? y n'
keys n
expect 'no means no' '^Nothing was written'
keys Z
expect 'the settings are saved' '^Saved .*/config/sidecomb/viewer\.cfg'
keys q
wait_for 'ready>'
expect_true 'a whole document' grep -q '%%EOF' "$folder/kitefield-air.pdf"
expect_true 'nothing else is left' test "$(ls "$folder" | grep -c part)" = 0
printf 'view = "composite";\nhold = "most";\n' >"$folder/config/sidecomb/viewer.cfg"
type_line "clear; '$sidecomb' view --duration 0.4 '$sample'"
wait_for '^composite'
expect 'a wrong setting is named with its line' 'viewer\.cfg:2: hold can be none'
keys q
wait_for 'ready>'
start TERM=xterm-256color --no-settings
expect 'the file is left alone' '^on air'
keys q
wait_for 'ready>'
rm "$folder/config/sidecomb/viewer.cfg"

# ---- live from standard input
type_line "clear; cat '${sample%-meta}-data' | '$sidecomb' view --type ci8 --rate 384000 --as iq -"
wait_for '^on air'
expect 'live input ends, the picture stays' ', ended[.,]'
keys v
expect 'keys come from the terminal' '^composite[:,] '
keys q
expect_restored 'after live input'

# ---- a file on standard input is a file, with keys from the terminal
type_line "clear; '$sidecomb' view --type ci8 --rate 384000 --as iq - < '${sample%-meta}-data'"
wait_for '^on air'
expect_not 'it is not live' 'live|ended'
expect 'its length is known' '2\.40 s$'
keys q
expect_restored 'after a file on standard input'

# ---- no terminal
type_line "clear; '$sidecomb' view '$sample' | cat; echo status \${PIPESTATUS[0]}"
expect 'no terminal: one line' 'no terminal'
expect 'no terminal: status 2' '^status 2$'

summary
