/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Windows in their periodic (DFT-even) form; coefficients and figures in spectrum.h's terms. */
#ifndef SIDECOMB_DSP_WINDOW_H
#define SIDECOMB_DSP_WINDOW_H

#include <stddef.h>

#include <sidecomb/spectrum.h>

/* Fills n values, the largest 1 (at n/2). `parameter`: Kaiser's beta, ignored by the others. */
void dsp_window_fill(enum sc_window window, double parameter, size_t n, double *out);
/* Transform of a long window at an offset in bins, 1 at zero: the amplitude that a tone shows
 * this far from a bin. Real, since the window is symmetric; its sign is kept. */
double dsp_window_response(enum sc_window window, double parameter, double offset_bins);
/* Of a long window, in bins: mean of w^2 over the square of the mean. */
double dsp_window_noise_bandwidth(enum sc_window window, double parameter);
/* Half width of a long window's main lobe, in bins. */
double dsp_window_main_lobe(enum sc_window window, double parameter);
/* Correlation of noise amplitudes between records that start `hop` samples apart. */
double dsp_window_correlation(const double *w, size_t n, size_t hop);

#endif
