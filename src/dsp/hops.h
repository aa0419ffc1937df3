/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The slow course of a stream, in constant memory: moments of equal hops, two of which become one
 * where there are too many, and local parabolas fitted over windows of several hops.
 *
 * A fit minimises the integral of (1 - u^2)^3 (x - a - b u - c u^2)^2, u from -1 to 1 over the
 * window (weighted least squares, textbook). In the middle it follows a movement of f to the fourth
 * order of T f, T being the window's length (3e-4 short at T f = 0.25), and lets (T f)^-4 of a
 * modulation through: 2e-3 at most from T f = 7 on, 2.5e-4 from 12 on (computed). Its parabola is
 * only trusted to the ends of the window. As with dsp/taper.h no sums are made that would fold a
 * tone onto zero. */
#ifndef SIDECOMB_DSP_HOPS_H
#define SIDECOMB_DSP_HOPS_H

#include <stddef.h>
#include <stdint.h>

#include "dsp/taper.h"

enum { DSP_HOPS_MAX = 1024 };

struct dsp_hops {
  size_t blocks_in_hop, count; /* of DSP_TAPER_BLOCK frames; complete hops */
  size_t blocks;               /* of the one begun */
  double moment[DSP_HOPS_MAX][DSP_TAPER_MOMENTS], begun[DSP_TAPER_MOMENTS];
};

void dsp_hops_reset(struct dsp_hops *hops);
/* A block's moments (struct dsp_taper). */
void dsp_hops_add(struct dsp_hops *hops, const double *block);
/* Feeds both; the taper gives the hops its blocks, and what is less than one is left out of them.
 */
void dsp_hops_feed(struct dsp_hops *hops, struct dsp_taper *taper, const float *in, size_t frames);
/* Two hops become one; an odd one at the end, and what was begun, are forgotten. */
void dsp_hops_halve(struct dsp_hops *hops);
/* All frames that are held, in whole blocks. */
uint64_t dsp_hops_frames(const struct dsp_hops *hops);

/* From the first frame fed. */
struct dsp_parabola {
  double from, to; /* frames */
  double a, b, c;  /* in u */
};

/* Over the complete hops from `first` on, and what was begun after the last one if they end there.
 */
void dsp_hops_fit(const struct dsp_hops *hops, size_t first, size_t count,
                  struct dsp_parabola *fit);
/* Mean of complete hops under (1 - u^2)^DSP_TAPER_ORDER (dsp/taper.h). */
double dsp_hops_mean(const struct dsp_hops *hops, size_t first, size_t count);
double dsp_parabola_at(const struct dsp_parabola *fit, double frame);

#endif
