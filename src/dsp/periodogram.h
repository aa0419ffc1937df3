/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The two loops around a transform that an averaged spectrum spends its time in. */
#ifndef SIDECOMB_DSP_PERIODOGRAM_H
#define SIDECOMB_DSP_PERIODOGRAM_H

#include <stddef.h>

/* out[n] = in[n] * window[n]; `in` holds `frames` interleaved complex values, or real ones. */
void dsp_weigh_complex(const float *in, const float *window, size_t frames, float *out);
void dsp_weigh_real(const float *in, const float *window, size_t frames, float *out);

/* Running sum and extremes of the powers of `bins` interleaved complex bins:
 * sum = decay * sum + power, in double since a long average outgrows a float's 24 bits. */
void dsp_gather_power(const float *spectrum, size_t bins, double decay, double *sum, float *max,
                      float *min);
/* The same for two records, the earlier one first: as two calls, to a float's precision. */
void dsp_gather_two_powers(const float *first, const float *second, size_t bins, double decay,
                           double *sum, float *max, float *min);

#endif
