/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A high-pass of second order without a bump (Butterworth): 1 / sqrt(1 + (corner / f)^4), by the
 * bilinear transform, which is exact enough far below half the rate. */
#ifndef SIDECOMB_DSP_HIGHPASS_H
#define SIDECOMB_DSP_HIGHPASS_H

#include <stddef.h>

struct dsp_highpass {
  double gain, one, two; /* gain (1 - z)^2 / (1 + one z + two z^2), z one frame back */
  double kept[2];
};

void dsp_highpass_set(struct dsp_highpass *filter, double corner_hz, double rate_hz);
/* As if `level` had stood at the input for ever. */
void dsp_highpass_settle(struct dsp_highpass *filter, double level);
/* Sum of the squares of what passes. */
double dsp_highpass_square(struct dsp_highpass *filter, const float *in, size_t frames);

#endif
