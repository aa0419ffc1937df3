#!/usr/bin/env bash
# sidecomb - SPDX-License-Identifier: GPL-3.0-or-later
# Every header includes what it uses: each is compiled alone, the public ones as
# strict C11 with nothing but the standard library, by each compiler that is here.
set -u
top=${SC_SRCDIR:-.}
failed=0
compiled=0

alone() {
  local header=$1
  shift
  compiled=$((compiled + 1))
  printf '#include "%s"\nstruct unit;\n' "$header" |
    "$@" -std=c11 -pedantic -Wall -Wextra -Werror -fsyntax-only -x c - || {
    echo "$header does not compile alone ($*)"
    failed=1
  }
}

for compiler in gcc clang; do
  command -v "$compiler" >/dev/null 2>&1 || {
    echo "NOT RUN with $compiler, which is not here"
    continue
  }
  for header in "$top"/include/sidecomb/*.h; do
    alone "$header" "$compiler" -I"$top/include"
  done
done
for header in "$top"/src/*/*.h "$top"/tests/*/*.h; do
  # shellcheck disable=SC2086 # CC may hold options
  alone "$header" ${CC:-cc} -I"$top/include" -I"$top/src" -I"$top/tests" -I"${SC_BUILDDIR:-.}" -D_GNU_SOURCE
done
echo "$compiled headers compiled"
[ "$compiled" -gt 0 ] && [ "$failed" -eq 0 ]
