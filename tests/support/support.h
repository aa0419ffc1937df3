/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What the test programs share: running suites, trials and seeds. */
#ifndef SIDECOMB_TESTS_SUPPORT_SUPPORT_H
#define SIDECOMB_TESTS_SUPPORT_SUPPORT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <check.h>

/* Runs the suites as one run, so that one line of counts closes the log. Returns what
 * main() is to return; a run without a single check has failed. */
int support_run(Suite *(*const makers[])(void), size_t count);

/* SC_LONG=1: under `make check-long`. */
bool support_long(void);

/* How many random trials to make: SC_TRIALS when set, else `usual`; a tenth of that under
 * sanitizers. Never below 1. */
unsigned support_trials(unsigned usual);
/* The step through a grid of numbers or seeds, each of which takes long: 1, and so many under
 * sanitizers, which look at how a number is worked out and not at which it is. */
unsigned support_stride(unsigned sanitized);
/* What the mean of so many squares of standard normal values passes once in 30 000 times. */
double support_mean_square_limit(unsigned trials);

/* The seed of a random test: SC_SEED when set, else `fixed`. Prints it with the name of the
 * test, so that a failure in the log can be repeated. */
uint64_t support_seed(const char *test, uint64_t fixed);

/* Path of a file of the source tree, relative to its top ("samples/x"). Valid until the
 * next call. */
const char *support_source_path(const char *relative);

#endif
