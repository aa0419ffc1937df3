/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Zeros amid a signal: samples that were lost on the way, and filled in by a driver, or that were
 * no numbers. Demodulated they are clicks, louder than any programme.
 *
 * An FM signal's envelope is never zero, and what noise makes so is one frame, or few, in a row; a
 * hole is HOLE_LEAST frames or more that are zero in both parts. Where shorter rows of zeros make
 * up a hundredth of all frames the signal is as weak as the steps of its converter, and none of
 * them is told for a hole (eight in a row come once in 1e16 frames at such a share).
 */
#ifndef SIDECOMB_ANALYSIS_HOLES_H
#define SIDECOMB_ANALYSIS_HOLES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Zero-initialise. */
struct analysis_holes {
  uint64_t frames, alone; /* so far; of them zeros in shorter rows */
  uint64_t row;           /* zeros up to the last frame */
  bool begun;             /* something else came before them */
};

/* Complex frames: whether a part of a hole is among them. `ended`: the length of the last hole that
 * ended in them and had something before it, 0: none. */
bool analysis_holes_feed(struct analysis_holes *holes, const float *iq, size_t frames,
                         uint64_t *ended);
/* What comes next does not follow on what came last. */
void analysis_holes_break(struct analysis_holes *holes);

#endif
