/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The inner loops of FIR filters that change the rate: four or eight dot products with the same
 * taps. Long blocks at an unchanged rate have sweeps (dsp/sweep.h). */
#ifndef SIDECOMB_DSP_DOT_H
#define SIDECOMB_DSP_DOT_H

#include <stddef.h>

enum { DSP_DOT_LANES = 16 };

/* For outputs o from 0, over x[o * stride + k] * taps[k] with k < count: the sum over even k in
 * sums[2 o], over odd k in sums[2 o + 1]. `count` is a multiple of DSP_DOT_LANES. */
typedef void dsp_dot_kernel(const float *x, size_t stride, const float *taps, size_t count,
                            float *restrict sums);

struct dsp_dot {
  dsp_dot_kernel *four, *eight;
};

/* The versions for this processor. */
struct dsp_dot dsp_dot_kernels(void);

#endif
