#!/usr/bin/env bash
# sidecomb - SPDX-License-Identifier: GPL-3.0-or-later
# Every #include of src and include against the table of rooms, rooms.txt.
set -eu -o pipefail
top=${SC_SRCDIR:-.}
table=$top/tests/lint/rooms.txt

# Prints "FILE: includes WHAT" for each include that the table does not allow.
# Curses is no room's header: one file of the viewer holds it.
violations() {
  (cd "$1" && grep -rnE '^[[:space:]]*#[[:space:]]*include' --include='*.[ch]' src include) |
    awk -v table="$table" '
      BEGIN {
        standard = " assert complex ctype errno fenv float inttypes iso646 limits locale math" \
          " setjmp signal stdalign stdarg stdatomic stdbool stddef stdint stdio stdlib" \
          " stdnoreturn string tgmath threads time uchar wchar wctype "
        while ((getline row < table) > 0) {
          if (row ~ /^#/ || split(row, field, " ") < 3) continue
          known[field[1]] = 1
          count = split(field[2], list, ",")
          for (i = 1; i <= count; i++) room_may[field[1], list[i]] = 1
          outside = row
          sub(/^[^ ]+ +[^ ]+ +/, "", outside)
          count = split(outside, list, " ")
          for (i = 1; i <= count; i++) outside_may[field[1], list[i]] = 1
        }
      }
      function say() { print file ": " what " is not for the room " room }
      {
        file = $0; sub(/:.*/, "", file)
        split(file, part, "/"); room = part[2]
        if (!(room in known)) { what = "its folder"; say(); next }
        if (match($0, /<[^>]*>/)) {
          what = substr($0, RSTART + 1, RLENGTH - 2)
          name = what; sub(/\.h$/, "", name)
          if (what ~ /^sidecomb\// || index(standard, " " name " ") > 0) next
          if (what == "config.h") { if (room == "sidecomb") say(); next }
          if (what ~ /curses/ && room == "view") {
            if (!(file in curses)) { curses[file] = 1; files++ }
            if (files > 1) { what = what " (a second file)"; say() }
            next
          }
          if (!((room, what) in outside_may)) say()
        } else if (match($0, /"[^"]*"/)) {
          what = substr($0, RSTART + 1, RLENGTH - 2)
          split(what, part, "/")
          if (part[1] != room && !((room, part[1]) in room_may)) say()
          else if (what !~ /\//) say()
        } else { what = $0; say() }
      }'
}

# A lint that cannot fail is none: each of these lines has to be found.
planted=$(mktemp -d)
trap 'rm -rf "$planted"' EXIT
mkdir -p "$planted"/src/{dsp,measure,view,nowhere} "$planted"/include/sidecomb
plant() {
  echo "#include $2" >>"$planted/$1"
}
plant src/dsp/a.c '"measure/pilot.h"'
plant src/dsp/b.c '<sndfile.h>'
plant src/measure/a.c '<fftw3.h>'
plant src/measure/b.c '"view/screen.h"'
plant src/measure/c.c '<unistd.h>'
plant src/view/a.c '<curses.h>'
plant src/view/b.c '<ncursesw/curses.h>'
plant src/nowhere/a.c '<math.h>'
plant include/sidecomb/a.h '<fftw3.h>'
plant include/sidecomb/b.h '<config.h>'
plant src/measure/good.c '"dsp/fft.h"'
plant src/measure/good.c '<math.h>'
plant src/measure/good.c '<sidecomb/pilot.h>'
found=$(violations "$planted")
if [ "$(wc -l <<<"$found")" -ne 9 ] || grep -q good <<<"$found"; then
  printf 'of nine planted includes the lint found:\n%s\n' "$found"
  exit 1
fi

found=$(violations "$top")
[ -z "$found" ] || {
  echo "$found"
  exit 1
}
