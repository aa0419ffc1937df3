#!/usr/bin/env bash
# sidecomb - SPDX-License-Identifier: GPL-3.0-or-later
# What the compiled rooms call: the library never prints, exits or aborts, and
# the rooms that compute touch no file. Seen in the objects, so that no wording
# of the source can hide it.
set -u
build=${SC_BUILDDIR:-.}
failed=0

# Names that an object wants from elsewhere, without version and fortified forms:
# __printf_chk is printf.
wanted() {
  nm -u -P "$@" 2>/dev/null | awk 'NF > 1 { print $1 }' | sed -e 's/@.*//' -e 's/^__\(.*\)_chk$/\1/' |
    sort -u
}

prints='printf vprintf fprintf vfprintf dprintf puts putchar fputs fputc putc perror psignal
  stdout stderr syslog warn warnx err errx'
ends='exit _exit _Exit quick_exit abort raise kill longjmp pthread_exit'
touches='fopen fopen64 fdopen open open64 openat creat read write pread pwrite fread fgets fgetc getc getline fwrite
  socket popen system getenv stdin rename unlink remove time clock gettimeofday clock_gettime'

forbid() {
  local where=$1 forbidden name
  shift
  [ -f "$where" ] || {
    echo "$where is not there"
    failed=1
    return
  }
  forbidden=$(tr -s "\n" " " <<<" $* ")
  for name in $(wanted "$where"); do
    case $forbidden in
      *" $name "*)
        echo "$where calls $name"
        failed=1
        ;;
    esac
  done
}

library=$build/libsidecomb.so.0
# Reading files is the capture's work, so only the last list is left out here.
forbid "$library" "$prints" "$ends"
for room in dsp measure account; do
  forbid "$build/lib$room.a" "$prints" "$ends" "$touches"
done

strange=$(nm -D --defined-only -P "$library" | awk '$2 ~ /[TDBRV]/ && $1 !~ /^sc_/ { print $1 }' |
  grep -vE '^(_init|_fini|__(asan|ubsan|odr_asan|sanitizer|start|stop)_?.*|_edata|_end|__bss_start)$')
[ -z "$strange" ] || {
  echo "exported without the prefix sc_: $strange"
  failed=1
}

# The eye of this lint, tried on an object that does all it should not.
planted=$(mktemp -d)
trap 'rm -rf "$planted"' EXIT
cat >"$planted/bad.c" <<'END'
#include <stdio.h>
#include <stdlib.h>
void bad(int x);
void bad(int x) { printf("%d\n", x); if (fopen("a", "r") == NULL) exit(x); }
END
${CC:-cc} -O2 -c -o "$planted/bad.o" "$planted/bad.c" || exit 1
seen=$(wanted "$planted/bad.o" | grep -cxE 'printf|exit|fopen')
[ "$seen" -eq 3 ] || {
  echo "the lint saw $seen of three planted calls"
  failed=1
}
exit "$failed"
