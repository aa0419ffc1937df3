/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A jump of phase in a slow complex series of one tone: what a receiver's lost samples make of it,
 * when nothing marks them. Before and behind the jump the tone is steady, as strong, and of one
 * frequency; jitter and modulation are steady on neither side, or not of one frequency. Derived
 * here. Memory: 1.3 kB, with the caller. */
#ifndef SIDECOMB_MEASURE_JUMP_H
#define SIDECOMB_MEASURE_JUMP_H

#include <stdbool.h>
#include <stddef.h>

/* Frames that are looked at on each side, and what is left out between: the answer of the filters
 * that made the series (dsp/narrowband.h: 0.1 s). */
enum {
  MEASURE_JUMP_SIDE = 24,
  MEASURE_JUMP_BETWEEN = 28,
  MEASURE_JUMP_FRAMES = 2 * MEASURE_JUMP_SIDE + MEASURE_JUMP_BETWEEN
};

struct measure_jump {
  double frames[2 * MEASURE_JUMP_FRAMES]; /* the newest last */
  size_t count;
};

/* One frame more; true: a jump stands in the middle of the last MEASURE_JUMP_FRAMES. Only the
 * frames behind it are kept then. */
bool measure_jump_feed(struct measure_jump *jump, const float *frame);
void measure_jump_reset(struct measure_jump *jump);

#endif
