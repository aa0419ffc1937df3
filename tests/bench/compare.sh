#!/usr/bin/env bash
# sidecomb - SPDX-License-Identifier: GPL-3.0-or-later
# compare.sh OLD NEW: what `make bench BENCH_ARGS='--json FILE'` wrote for two revisions, side by side.
# Where a figure has a reference of the same run, the two are compared by their share of it, as
# machines are not equally fast at all times. Last column: how many times better the new one is.
set -eu
[ $# -eq 2 ] || {
  echo "usage: $0 OLD NEW" >&2
  exit 2
}
for file in "$@"; do
  [ -r "$file" ] || {
    echo "$file: cannot be read" >&2
    exit 2
  }
done
awk '
function part(key, text) {
  if (!match($0, "\"" key "\": *")) return ""
  text = substr($0, RSTART + RLENGTH)
  if (substr(text, 1, 1) == "\"") {
    text = substr(text, 2)
    return substr(text, 1, index(text, "\"") - 1)
  }
  sub(/[,}].*/, "", text)
  return text
}
function share(value, reference) { return reference == "null" ? value : value / reference }
# A rate or a gain; all else is a cost.
function more_is_better(unit) { return unit == "x" || unit ~ /\/s$/ }
{
  name = part("name")
  if (name == "") {
    printf "%s:%d: no figure\n", FILENAME, FNR > "/dev/stderr"
    wrong = 1
    next
  }
}
FILENAME == ARGV[1] { value[name] = part("value"); reference[name] = part("reference"); next }
{
  new = part("value"); against = part("reference"); unit = part("unit"); seen[name] = 1
  if (!(name in value)) { printf "%-40s %12s %12.4g %-10s new\n", name, "", new, unit; next }
  if (reference[name] == "null") against = "null"
  old = share(value[name], against == "null" ? "null" : reference[name])
  now = share(new, against)
  better = old > 0 && now > 0 ? (more_is_better(unit) ? now / old : old / now) : 1
  printf "%-40s %12.4g %12.4g %-10s %6.2f%s\n", name, value[name], new, unit, better, \
    (better > 1.1 ? " better" : better < 1 / 1.1 ? " worse" : "")
}
END {
  for (name in value) if (!(name in seen)) printf "%-40s %12.4g %12s            gone\n", name, value[name], ""
  exit wrong
}' "$1" "$2"
