#!/bin/bash
# sidecomb - SPDX-License-Identifier: GPL-3.0-or-later
# The shipped sample is what its recipe makes, byte for byte.
set -eu
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
"$SC_BUILDDIR/sidecomb" compose "$SC_SRCDIR/samples/kitefield.cfg" --type ci8 \
  --out "$folder/kitefield.sigmf"
for half in data meta; do
  cmp "$folder/kitefield.sigmf-$half" "$SC_SRCDIR/samples/kitefield.sigmf-$half"
done
size=$(stat -c %s "$folder/kitefield.sigmf-data")
[ "$size" -lt 2000000 ] || { echo "the sample has $size bytes" >&2; exit 1; }
