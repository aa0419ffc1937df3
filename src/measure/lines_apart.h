/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Between a search and who feeds it.
 *
 * A whole record is looked at by another thread, while the caller feeds what comes after it: a
 * search needs no samples between records that are spread over a capture, and where it does it
 * waits. What is found is the same. And where the carrier is, for a search that cannot tell. */
#ifndef SIDECOMB_MEASURE_LINES_APART_H
#define SIDECOMB_MEASURE_LINES_APART_H

#include <sidecomb/lines.h>

struct measure_apart {
  /* One task after the other in the order of their start. */
  void (*start)(void *context, void (*task)(void *argument), void *argument);
  void (*wait)(void *context); /* until all that was started is done */
  void *context;
};

/* Before the first frame; `apart` outlives the search. */
void measure_lines_apart(struct sc_lines *lines, const struct measure_apart *apart);

/* Waits until no record is being looked at; while none is gathered, its memory may be had. */
void measure_lines_rest(struct sc_lines *lines);

/* How many of the next frames it will not look at; they may be skipped in place of being fed. */
uint64_t measure_lines_idle(const struct sc_lines *lines);
void measure_lines_skip(struct sc_lines *lines, uint64_t frames);

/* The demodulated frequency while the frames that are fed next were taken, at any rate: where it
 * drifts, records are turned back by it (measure/lines_course.h). For complex input in single
 * precision; others leave it. */
void measure_lines_carrier(struct sc_lines *lines, const float *khz, size_t frames);
/* Of `frames` so many can be fed at once with the frequency of each told to the record that it
 * belongs to. */
size_t measure_lines_run(const struct sc_lines *lines, size_t frames);

#endif
