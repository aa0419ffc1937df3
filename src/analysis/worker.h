/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A thread that feeds measurements in the order in which their samples come, from a queue of
 * copies, or that does longer tasks, one after the other. Whoever is ahead waits, so that nothing
 * is lost and memory stays what it is. */
#ifndef SIDECOMB_ANALYSIS_WORKER_H
#define SIDECOMB_ANALYSIS_WORKER_H

#include <stdbool.h>
#include <stddef.h>

#include "measure/lines_apart.h"

enum { ANALYSIS_WORKER_FLOATS = 1 << 15 };

/* What is to be fed: each of its blocks in the order of analysis_worker_feed, never two at once. */
struct analysis_fed {
  void (*feed)(void *context, const float *samples, size_t frames, bool discontinuity);
  void *context;
  size_t width; /* floats in a frame */
};

struct analysis_worker;
/* NULL: memory is short, or no thread can be started; the functions below accept it, and then all
 * is done at once by the caller. */
struct analysis_worker *analysis_worker_create(void);
/* Copies the samples and returns before they are used, in pieces of ANALYSIS_WORKER_FLOATS at most.
 */
void analysis_worker_feed(struct analysis_worker *worker, const struct analysis_fed *fed,
                          const float *samples, size_t frames, bool discontinuity);
/* No samples but a number of frames, in its turn: `fed` of width 0, whose feed is not to read any.
 */
void analysis_worker_pass(struct analysis_worker *worker, const struct analysis_fed *fed,
                          size_t frames);
/* As analysis_worker_feed, without a copy and without a cut: the samples stay where they are until
 * analysis_worker_drain. */
void analysis_worker_lend(struct analysis_worker *worker, const struct analysis_fed *fed,
                          const float *samples, size_t frames, bool discontinuity);
/* For searches whose records the thread is to look at; lives as long as the worker. NULL for NULL.
 */
const struct measure_apart *analysis_worker_apart(const struct analysis_worker *worker);
/* Waits until all that was fed before has been used. */
void analysis_worker_drain(struct analysis_worker *worker);
/* Uses what was fed before, then ends. */
void analysis_worker_destroy(struct analysis_worker *worker);
/* How many threads are worth while: `wanted` of the settings, 0: as many as there are processors.
 */
unsigned analysis_worker_threads(unsigned wanted);

#endif
