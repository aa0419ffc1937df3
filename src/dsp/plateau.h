/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The lightly tapered record in which tones are estimated, and its transform between bins.
 *
 * Flat with short ends, each DSP_PLATEAU_SHARE of the record, that rise as
 * (8 - 9 cos(pi x) + cos(3 pi x)) / 16, three times differentiable. So it costs little of what a
 * flat record gives (estimates of one tone: level 1.03, frequency 1.09 times the Cramer-Rao
 * bound, computed), and its leakage still falls to -84 dB at 50 bins, -110 dB at 100 and -180 dB at
 * 500.
 *
 * The window is even about frame n / 2, w[i] = w[n - i] and w[0] = 0, so that its transform,
 * referred to that frame, is real.
 */
#ifndef SIDECOMB_DSP_PLATEAU_H
#define SIDECOMB_DSP_PLATEAU_H

#include <stddef.h>

#include <sidecomb/error.h>

#define DSP_PLATEAU_SHARE 0.05
enum {
  DSP_PLATEAU_SPAN = 512,
  DSP_PLATEAU_LAGS = 32,
  DSP_PLATEAU_SHORTEST = 128,
  DSP_PLATEAU_TOGETHER = 32
};

struct dsp_plateau;
/* n >= DSP_PLATEAU_SHORTEST. About 4 ms and 0.5 MB, and DSP_PLATEAU_SHARE * n doubles, for the
 * first of a length; those that are in use at once share it. */
enum sc_error dsp_plateau_create(size_t n, struct dsp_plateau **plateau);
/* Multiplies n frames of `channels` doubles in place. */
void dsp_plateau_apply(const struct dsp_plateau *plateau, double *frames, size_t channels);
/* Of n complex values, `count` from value `at` on. */
void dsp_plateau_weigh(const struct dsp_plateau *plateau, size_t at, float *values, size_t count);
/* Transform at `bins` from the tone, divided by n, and its derivative by `bins`; 0 beyond
 * DSP_PLATEAU_SPAN. Interpolated, within 3e-9. The same one bin farther, and so on: `count` of
 * them, DSP_PLATEAU_TOGETHER at most. */
void dsp_plateau_responses(const struct dsp_plateau *plateau, double bins, size_t count,
                           double *value, double *slope);
/* Largest |response| at this distance or farther. */
double dsp_plateau_envelope(const struct dsp_plateau *plateau, double bins);
/* Covariance of the bins k and k + lag of white noise of unit power in the tapered record,
 * referred to frame n / 2 and divided by n, for lags 0 to DSP_PLATEAU_LAGS - 1. */
const double *dsp_plateau_covariance(const struct dsp_plateau *plateau);
void dsp_plateau_destroy(struct dsp_plateau *plateau);

#endif
