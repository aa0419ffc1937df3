#!/usr/bin/env bash
# sidecomb - SPDX-License-Identifier: GPL-3.0-or-later
# The cache of measured plans: made by a long capture, taken by the next one, and never in the way.
set -u
sample=$(realpath "${SC_SRCDIR:-.}")/samples/kitefield.sigmf-meta
. "${SC_SRCDIR:-.}/tests/cli/expect.sh"

# A capture so long that trials of transforms pay; nothing is in it.
truncate -s 206000000 long.ci8
cache=$PWD/cache/below
plans=$cache/sidecomb/plans

long() {
  XDG_CACHE_HOME=$1 "$sidecomb" report --as iq --type ci8 --rate 2.4M long.ci8 >out 2>err
  [ $? -eq 1 ] || complain "a capture without a carrier is not measurable ($2)"
  cmp -s out wanted || complain "another report $2"
  cmp -s err said || complain "something else was said $2: $(cat err)"
}

XDG_CACHE_HOME=$cache "$sidecomb" report "$sample" >/dev/null 2>&1
[ ! -e "$cache" ] || complain "a short capture made trials"

# A file where the folder should be: nothing can be kept, and nothing is said.
XDG_CACHE_HOME=$PWD/long.ci8 "$sidecomb" report --as iq --type ci8 --rate 2.4M long.ci8 >wanted 2>said
grep -q -i -e cache -e plans said && complain "a folder that cannot be made is told of: $(cat said)"
long "$cache" "with an empty cache"
grep -q '^(fftw.*wisdom' "$plans" || complain "no plans were kept"
[ "$(stat -c %a "$cache/sidecomb")" = 700 ] || complain "the folder is not private"

before=$(stat -c '%i %Y' "$plans")
long "$cache" "with plans in the cache"
[ "$(stat -c '%i %Y' "$plans")" = "$before" ] || complain "known plans were measured again"

printf '(fftw-0 fftwf_wisdom #x0\n\001 rubbish' >"$plans"
long "$cache" "with a damaged cache"
grep -q rubbish "$plans" && complain "damaged plans were kept"

exit "$failed"
