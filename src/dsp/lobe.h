/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The view of a tapered record in which tones are looked for: side lobes at -139 dB.
 *
 * The 7-term cosine-sum window (-180 dB by itself; H.-H. Albrecht, Proc. ICASSP 2001,
 * coefficients from memory, side lobes tested) is laid over the tapered record by folding its
 * few lines into the spectrum, so one transform serves finding and measuring.
 */
#ifndef SIDECOMB_DSP_LOBE_H
#define SIDECOMB_DSP_LOBE_H

#include <stddef.h>

#include "dsp/large.h"
#include "dsp/plateau.h"

enum { DSP_LOBE_HALF_WIDTH = 7 }; /* bins from the peak to the first zero */
#define DSP_LOBE_FAR 1.2e-14      /* power of the highest side lobe */

struct dsp_lobe {
  double noise_gain;                     /* white noise of power s reads s * noise_gain ... */
  double power[DSP_LOBE_HALF_WIDTH + 1]; /* ... and a tone d bins away n * power * power[d] */
  double step[DSP_LOBE_HALF_WIDTH];      /* the window's lines: at 0, +/-1, ... bins */
};

struct dsp_lobe dsp_lobe_make(const struct dsp_plateau *plateau);
/* power[i] += power of bin first + i of the n bins, first + count <= n. */
void dsp_lobe_add(const struct dsp_lobe *lobe, const double *bins, size_t n, size_t first,
                  size_t count, float *power);
/* power[k] += power of bin k, of the bins 0 ... count - 1 of a transform. */
void dsp_lobe_add_rows(const struct dsp_lobe *lobe, const struct dsp_rows *bins, size_t count,
                       float *power);

#endif
