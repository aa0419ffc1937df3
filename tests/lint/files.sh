#!/usr/bin/env bash
# sidecomb - SPDX-License-Identifier: GPL-3.0-or-later
# What every file of ours has in common: a licence line, its place in the
# makefile, a length that one subject needs, and the house's names.
set -u
top=${SC_SRCDIR:-.}
cd "$top" || exit 1
licence='sidecomb - SPDX-License-Identifier: GPL-3.0-or-later'
failed=0

say() {
  echo "$*"
  failed=1
}

# The shell's own means: a process for each file and question costs a minute of the CI's time.
makefile=$(<Makefile.am)$(<configure.ac)
checked=0
while read -r file; do
  checked=$((checked + 1))
  case $file in
    *.c | *.h)
      mapfile -t lines <"$file"
      [ "${lines[0]-}" = "/* $licence */" ] || say "$file: the first line is not the licence"
      [ "${#lines[@]}" -le 700 ] || say "$file: ${#lines[@]} lines hold more than one subject"
      ;;
    *.sh)
      mapfile -t -n 2 lines <"$file"
      [[ ${lines[*]} == *"$licence"* ]] || say "$file: the second line is not the licence"
      ;;
  esac
  case $file in tests/fuzz/corpus/*) continue ;; esac
  [[ $makefile == *"$file"* ]] || say "$file: not in Makefile.am, so neither built nor distributed"
done < <(find src include tests samples man -type f ! -path "*/.*" 2>/dev/null)
[ "$checked" -gt 0 ] || say "no file was found"

# Words are split so that this file does not find itself.
unfinished='TO''DO|FIX''ME|XX''X|HA''CK'
found=$(grep -rnE "\b($unfinished)\b" --include='*.[ch]' --include='*.sh' src include tests) &&
  say "unfinished: $found"
found=$(grep -rnE '^[[:space:]]*typedef[[:space:]]+(struct|enum|union)\b' --include='*.[ch]' src include) &&
  say "a typedef hides a struct: $found"
found=$(grep -rnE '^(struct|enum|union) [a-z0-9_]+_t\b|^typedef .*_t;' --include='*.[ch]' src include) &&
  say "a name of ours ends in _t: $found"
found=$(grep -rnP '\t' --include='*.[ch]' src include tests) &&
  say "a tab: $found"
found=$(grep -rnE '\b__(DATE|TIME|TIMESTAMP)__\b' --include='*.[ch]' src include) &&
  say "the time of the build goes into it: $found"

guard_of() { # FILE
  local line
  guard=
  while read -r line; do
    [[ $line =~ ^'#ifndef '(SIDECOMB_[A-Z0-9_]*_H)$ ]] || continue
    guard=${BASH_REMATCH[1]}
    return
  done <"$1"
}

for header in src/*/*.h tests/*/*.h include/sidecomb/*.h; do
  guard_of "$header"
  path=${header#include/sidecomb/}
  path=${path#src/}
  path=${path//[\/.-]/_}
  [ "$guard" = "SIDECOMB_${path^^}" ] || say "$header: its guard is not SIDECOMB_${path^^}"
done
exit "$failed"
