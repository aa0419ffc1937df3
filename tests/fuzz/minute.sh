#!/usr/bin/env bash
# sidecomb - SPDX-License-Identifier: GPL-3.0-or-later
# The RDS fuzz target under libFuzzer and the sanitizers for a minute. It compiles what it needs by
# itself, for a whole configured tree would cost more than the minute.
#
# usage: minute.sh FOLDER [SECONDS]; FOLDER is for the program and what it finds, and is outside
# the source. CLANG names the compiler.
set -eu

top=$(cd "$(dirname "$0")/../.." && pwd)
folder=${1:?usage: minute.sh FOLDER [SECONDS]}
seconds=${2:-60}
mkdir -p "$folder/found"
: >"$folder/config.h"

measured=(cells code groups groups_more names region sync)
sources=("$top/tests/fuzz/fuzz_rds.c" "$top"/src/common/{error,rds_characters,rds_names,text}.c)
for part in "${measured[@]}"; do
  sources+=("$top/src/measure/rds_$part.c")
done
${CLANG:-clang} -std=gnu11 -g -O1 -D_GNU_SOURCE -fsanitize=fuzzer,address,undefined \
  -fno-sanitize-recover=undefined -I"$folder" -I"$top/include" -I"$top/src" -I"$top/tests" \
  "${sources[@]}" -lm -o "$folder/fuzz_rds"
cd "$folder"
./fuzz_rds -max_total_time="$seconds" -print_final_stats=1 -max_len=4096 -seed=1 \
  found "$top/tests/fuzz/corpus/rds"
