/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Noise floor of an averaged power spectrum from order statistics (running quantile,
 * corrected for the bias of a quantile of gamma-distributed bins). */
#ifndef SIDECOMB_DSP_FLOOR_H
#define SIDECOMB_DSP_FLOOR_H

#include <stddef.h>

#include <sidecomb/error.h>

/* mean of a bin divided by the given quantile (0 < q < 1) of bins that are averages of
 * `looks` independent exponential looks (> 0, need not be whole). */
double dsp_quantile_bias(double q, double looks);
/* Threshold over the mean that a bin of `looks` looks passes with chance `p`. */
double dsp_threshold(double p, double looks);
/* floor[i]: estimated mean noise power around bin i from the quantile over +/-half_width
 * bins (clipped at the ends). Unbiased for noise that is flat over the width, small widths
 * included. Allocates 36 n bytes while it runs: SC_NO_MEMORY; SC_BAD_ARGUMENT for a quantile
 * outside 0...1 or looks <= 0. Cost O(n log n), whatever the width. */
enum sc_error dsp_floor(const double *power, size_t n, size_t half_width, double quantile,
                        double looks, double *floor);

#endif
