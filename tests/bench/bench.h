/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What the benchmarks share: a clock, and lines for people and for comparing with older runs. */
#ifndef SIDECOMB_TESTS_BENCH_BENCH_H
#define SIDECOMB_TESTS_BENCH_BENCH_H

#include <stdbool.h>

/* Reads the options: --json FILE appends a JSON object a line to it. False: wrong usage or a
 * file that cannot be opened, said on the standard error. */
bool bench_start(int argc, char **argv);

/* One figure. `reference`: what it is to be compared with, in the same unit; NAN: nothing. */
void bench_say(const char *name, double value, const char *unit, double reference);

/* Processor time of this process: what other programs take does not count. */
double bench_seconds(void);

/* Time as it passes: with several threads, and only as good as the machine is idle. */
double bench_wall_seconds(void);

/* Largest resident memory so far. */
double bench_resident_mb(void);

/* What main returns: fails when the file could not be written. */
int bench_end(void);

#endif
