/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Noise in an averaged power spectrum: quantiles and thresholds of gamma-distributed bins. */
#ifndef SIDECOMB_DSP_GAMMA_H
#define SIDECOMB_DSP_GAMMA_H

/* mean of a bin divided by the given quantile (0 < q < 1) of bins that are averages of
 * `looks` independent exponential looks (> 0, need not be whole). */
double dsp_quantile_bias(double q, double looks);
/* Threshold over the mean that a bin of `looks` looks passes with chance `p`. */
double dsp_threshold(double p, double looks);

#endif
