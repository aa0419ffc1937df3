#!/usr/bin/env bash
# sidecomb - SPDX-License-Identifier: GPL-3.0-or-later
# Every header includes what it uses: each is compiled alone, the public ones as
# strict C11 with nothing but the standard library, by each compiler that is here.
#
# Starting compilers takes longer than what they do here. So the compiler proper is called as its
# driver would (-###), and clang's takes any number of files: each is a translation unit of its own.
set -u
export LC_ALL=C # what compilers say is read
top=$(cd "${SC_SRCDIR:-.}" && pwd)
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
failed=0
compiled=0

# The words of the command that compiles $folder/unit.c.
proper() {
  local line
  line=$("$@" -std=c11 -pedantic -Wall -Wextra -Werror -fsyntax-only -### "$folder/unit.c" 2>&1 |
    grep -F "$folder/unit.c" | tail -n 1)
  eval "command=($line)"
  [ "${#command[@]}" -gt 1 ]
}

# The same, with other files in its place.
compile() {
  local word words=()
  for word in "${command[@]}"; do
    if [ "$word" = "$folder/unit.c" ]; then words+=("$@"); else words+=("$word"); fi
  done
  "${words[@]}"
}

# alone COMPILER OPTION... -- HEADER...
alone() {
  local options=() units=() unit errors=0
  rm -f "$folder"/*.c
  while [ "$1" != -- ]; do
    options+=("$1")
    shift
  done
  shift
  : >"$folder/unit.c"
  proper "${options[@]}" || {
    echo "it is not known how ${options[0]} compiles"
    failed=1
    return
  }
  # The first has what the last lacks, which is to be found, and nothing else: so all were compiled,
  # and each by itself.
  printf '#include <stddef.h>\nstruct unit;\n' >"$folder/first.c"
  printf 'extern size_t planted;\n' >"$folder/planted.c"
  units=("$folder/first.c")
  for header; do
    unit=$folder/$((${#units[@]})).c
    printf '#include "%s"\nstruct unit;\n' "$header" >"$unit"
    units+=("$unit")
  done
  units+=("$folder/planted.c")
  if [[ "${command[*]}" == *' -cc1 '* ]]; then
    compile "${units[@]}" >"$folder/said" 2>&1 && errors=1
  else
    : >"$folder/said"
    for unit in "${units[@]}"; do
      compile "$unit" >>"$folder/said" 2>&1 || errors=$((errors + 1))
    done
    [ "$errors" -eq 1 ]
    errors=$?
  fi
  sed -i 's/\x1b\[[0-9;]*[mK]//g' "$folder/said" # a cache before the compiler asks for colours
  compiled=$((compiled + $#))
  if [ "$errors" -ne 0 ] || [ "$(grep -c ' error: ' "$folder/said")" -ne 1 ] ||
    ! grep -q '^[^ ]*planted\.c:1:8: error: ' "$folder/said"; then
    cat "$folder/said"
    echo "a header does not compile alone (${options[*]})"
    failed=1
  fi
}

for compiler in gcc clang; do
  command -v "$compiler" >/dev/null 2>&1 || {
    echo "NOT RUN with $compiler, which is not here"
    continue
  }
  alone "$compiler" -I"$top/include" -- "$top"/include/sidecomb/*.h
done
# shellcheck disable=SC2086 # CC may hold options
alone ${CC:-cc} -I"$top/include" -I"$top/src" -I"$top/tests" -I"$(realpath "${SC_BUILDDIR:-.}")" \
  -D_GNU_SOURCE -- "$top"/src/*/*.h "$top"/tests/*/*.h
echo "$compiled headers compiled"
[ "$compiled" -gt 0 ] && [ "$failed" -eq 0 ]
