/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Undoing a measured frequency response of real signals, by fast convolution.
 *
 * The correction is 1 / H: between the points of H its gain in decibels and its phase (made
 * continuous from point to point, so steps stay below 180 degrees) run straight over frequency;
 * below the first and above the last point nothing is corrected. It is sampled on a fine grid,
 * transformed to 2 * delay + 1 taps and windowed (Kaiser, beta 8), which smooths whatever
 * changes within some 20 Hz; what it delays is taken back by the caller's choice of input.
 * Method: frequency sampling and overlap-save, A. V. Oppenheim and R. W. Schafer,
 * Discrete-Time Signal Processing.
 */
#ifndef SIDECOMB_DSP_CORRECTION_H
#define SIDECOMB_DSP_CORRECTION_H

#include <stddef.h>

#include <sidecomb/error.h>

/* The response of an input at one frequency. */
struct dsp_response_point {
  double frequency_hz, gain_db, phase_deg;
};

struct dsp_correction;
/* `points`: at least one, ascending in frequency. channels: 1 or 2, both corrected alike. */
enum sc_error dsp_correction_create(const struct dsp_response_point *points, size_t count,
                                    double rate_hz, unsigned channels,
                                    struct dsp_correction **correction);
/* Frames that one run yields, and frames of input that it needs before and behind them. */
size_t dsp_correction_hop(const struct dsp_correction *correction);
size_t dsp_correction_delay(const struct dsp_correction *correction);
/* in: delay + hop + delay frames, out: the hop frames in their middle, corrected. */
void dsp_correction_run(struct dsp_correction *correction, const float *in, float *out);
void dsp_correction_destroy(struct dsp_correction *correction);

#endif
