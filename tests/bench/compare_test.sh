#!/usr/bin/env bash
# sidecomb - SPDX-License-Identifier: GPL-3.0-or-later
# Two revisions' figures side by side.
set -u
here=${SC_SRCDIR:-.}/tests/bench
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
status=0

complain() {
  echo "FAILED: $1"
  status=1
}

# line PATTERN: a line of the comparison.
line() {
  grep -Eq -- "$1" "$folder/out" || complain "no line like /$1/: $(cat "$folder/out")"
}

cat >"$folder/old" <<'F'
{"name": "whole, all", "value": 30, "unit": "ns/sample", "reference": 6}
{"name": "rate", "value": 200, "unit": "Msamples/s", "reference": null}
{"name": "memory", "value": 50, "unit": "MB", "reference": 60}
{"name": "forgotten", "value": 1, "unit": "ms", "reference": null}
F
cat >"$folder/new" <<'F'
{"name": "whole, all", "value": 40, "unit": "ns/sample", "reference": 16}
{"name": "rate", "value": 100, "unit": "Msamples/s", "reference": null}
{"name": "memory", "value": 51, "unit": "MB", "reference": 60}
{"name": "thought of", "value": 2, "unit": "s", "reference": 3}
F
bash "$here/compare.sh" "$folder/old" "$folder/new" >"$folder/out" || complain "it failed"
line '^whole, all +30 +40 ns/sample +2\.00 better$' # on a machine that was slower by then
line '^rate +200 +100 Msamples/s +0\.50 worse$'
line '^memory +50 +51 MB +0\.98$'
line '^thought of +2 s +new$'
line '^forgotten +1 +gone$'
bash "$here/compare.sh" "$folder/old" "$folder/none" 2>/dev/null && complain "a file that is not there"
echo nonsense >"$folder/wrong"
bash "$here/compare.sh" "$folder/old" "$folder/wrong" >/dev/null 2>&1 && complain "nonsense"
exit $status
