/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Phase difference of successive complex samples, and the filter that undoes its droop. */
#ifndef SIDECOMB_DSP_DISCRIMINATOR_H
#define SIDECOMB_DSP_DISCRIMINATOR_H

#include <stddef.h>

#include <sidecomb/error.h>

/* out[n] = scale * arg(in[n] conj(in[n - 1])), with `previous` (2 floats) before the first frame
 * and renewed for the next block; the argument is within 3e-7 rad of the exact one. It is the mean
 * of the angular frequency between the two samples, so it lags the samples by half a frame and
 * its response is sin(x)/x, x = half the angular frequency per frame. Zero samples give 0. */
void dsp_discriminate(const float *in, size_t frames, float scale, float previous[2], float *out);

/* Least-squares linear-phase filter with the response x / sin(x) up to pass_hz and none from
 * stop_hz on. Even length: its delay of (count - 1) / 2 frames and the discriminator's half make
 * count / 2, a whole number. `accuracy_db`: deviation aimed at in both bands (100: 1e-5). *taps
 * is to be freed by the caller. The gain at zero is exactly 1. */
enum sc_error dsp_equaliser_design(double pass_hz, double stop_hz, double accuracy_db,
                                   double rate_hz, double **taps, size_t *count);

#endif
