/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Noise floor of an averaged power spectrum from order statistics (running quantile,
 * corrected for the bias of a quantile of gamma-distributed bins). */
#ifndef SIDECOMB_DSP_FLOOR_H
#define SIDECOMB_DSP_FLOOR_H

#include <stddef.h>

#include <sidecomb/error.h>

/* mean of a bin divided by the given quantile (0 < q < 1) of bins that are averages of
 * `looks` independent exponential looks. */
double dsp_quantile_bias(double q, double looks);
/* Threshold over the mean that a bin of `looks` looks passes with chance `p`. */
double dsp_threshold(double p, double looks);
/* floor[i]: estimated mean noise power around bin i from the quantile over +/-half_width
 * bins (clipped at the ends). */
enum sc_error dsp_floor(const double *power, size_t n, size_t half_width, double quantile,
                        double looks, double *floor);

#endif
