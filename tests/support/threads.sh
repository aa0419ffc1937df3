#!/usr/bin/env bash
# sidecomb - SPDX-License-Identifier: GPL-3.0-or-later
# The live tests under the thread sanitizer: what devices, rings, the analysis' workers and the
# viewer share. Builds in a folder of its own; any report of the sanitizer is a failure.
#
# usage: threads.sh FOLDER [CONFIGURE-OPTION...]
set -u
top=$(cd "$(dirname "${BASH_SOURCE[0]}")/../.." && pwd)
folder=${1:?usage: threads.sh FOLDER [CONFIGURE-OPTION...]}
mkdir -p "$folder" && cd "$folder" || exit 1
SC_SRCDIR=$top
SC_BUILDDIR=$PWD
log=$PWD/threads-log
export SC_SRCDIR SC_BUILDDIR
# One process a program, without a limit of time: the sanitizer takes ten times as long.
export CK_FORK=no CK_DEFAULT_TIMEOUT=0

[ -f Makefile ] || "$top/configure" --enable-thread-sanitizer "${@:2}" >configure-log 2>&1 || {
  tail -n 20 configure-log
  exit 1
}
grep -q '^#define SC_SANITIZED 1' config.h || {
  echo "$PWD is not built with the thread sanitizer"
  exit 1
}

passed=0
failed=0
# run NAME COMMAND...: what the sanitizer says goes into files, also from behind a terminal.
run() {
  local name=$1
  shift
  rm -f "$log".*
  if TSAN_OPTIONS="log_path=$log exitcode=66" "$@" >output 2>&1 && ! ls "$log".* >/dev/null 2>&1; then
    passed=$((passed + 1))
    printf '%s: clean; %s\n' "$name" "$(grep -E 'Checks:|passed' output | tail -n 1)"
    return
  fi
  failed=$((failed + 1))
  printf 'FAILED: %s\n' "$name"
  tail -n 20 output
  cat "$log".* 2>/dev/null | head -n 60
}

# A part that is not built here (no ALSA, no SoapySDR) is named, not passed over.
built() {
  grep -q "^am_tests_run_$1_OBJECTS" Makefile && return
  echo "NOT RUN, not built here: $1"
  return 1
}

programs='sidecomb tests/run_capture tests/run_analysis tests/run_view'
modules=
for part in sound:bench_card receiver:bench_receiver; do
  built "${part%:*}" || continue
  programs="$programs tests/run_${part%:*}"
  modules="$modules tests/${part%:*}/${part#*:}.so"
done
built receiver >/dev/null && modules="$modules tests/support/set_clock.so" # of the viewer's test
# shellcheck disable=SC2086 # words
make -j"$(nproc)" $programs $modules >make-log 2>&1 || {
  tail -n 20 make-log
  exit 1
}

# A race on purpose must be found, or being clean says nothing.
cat >race.c <<'END'
#include <pthread.h>
static int shared;
static void *add(void *unused) { shared++; return unused; }
int main(void)
{
  pthread_t thread;
  pthread_create(&thread, 0, add, 0);
  shared++;
  return pthread_join(thread, 0);
}
END
compiler=$(sed -n 's/^CC = //p' Makefile)
# shellcheck disable=SC2086 # a compiler with its options
$compiler -fsanitize=thread -g race.c -o race -pthread || exit 1
if TSAN_OPTIONS="exitcode=66 log_path=$log" ./race; then
  echo 'FAILED: the sanitizer does not see a race that is there'
  failed=$((failed + 1))
fi

run 'live captures' env CK_RUN_SUITE=live tests/run_capture
run 'files that grow' env CK_RUN_SUITE=follow tests/run_capture
run 'pipes' env CK_RUN_SUITE=pipe tests/run_capture
run 'the worker of the analysis' env CK_RUN_SUITE=worker tests/run_analysis
run 'the ring of the viewer' env CK_RUN_SUITE=intake tests/run_view
built sound >/dev/null && run 'sound cards' tests/run_sound
if built receiver >/dev/null; then
  run 'receivers' tests/run_receiver
  run 'the viewer on a receiver' env LIMIT=120 bash "$top/tests/e2e/live_test.sh"
fi
printf '%d passed, %d failed\n' "$passed" "$failed"
[ "$failed" -eq 0 ]
