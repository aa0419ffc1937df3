/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The inner loop of every FIR filter here: four dot products with the same taps. */
#ifndef SIDECOMB_DSP_DOT_H
#define SIDECOMB_DSP_DOT_H

#include <stddef.h>

enum { DSP_DOT_OUTPUTS = 4, DSP_DOT_LANES = 16 };

/* For o = 0 to 3, over x[o * stride + k] * taps[k] with k < count: the sum over even k in
 * sums[2 o], over odd k in sums[2 o + 1]. `count` is a multiple of DSP_DOT_LANES. */
typedef void dsp_dot4(const float *x, size_t stride, const float *taps, size_t count,
                      float *restrict sums);

/* The version for this processor. */
dsp_dot4 *dsp_dot4_kernel(void);

#endif
