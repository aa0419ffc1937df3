/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Frequency weightings of audio, and filters that follow them exactly at any rate.
 *
 * A: IEC 61672-1, annex E (poles and the +2.000 dB from memory, checked against its table).
 * ITU-R BS.468-4, section 1: the rational fit to the network's table (coefficients from memory;
 * it agrees with the table within 0.1 dB). De-emphasis: first-order low-pass of 50 or 75 us
 * (ITU-R BS.450-3, clause 1.2; 47 CFR 73.317).
 *
 * A bilinear first-order low-pass at 48 kHz is 1.5 dB down at 15 kHz. These filters are sampled
 * from the exact response instead, amplitude and phase, over a third of a second.
 */
#ifndef SIDECOMB_DSP_WEIGHTING_H
#define SIDECOMB_DSP_WEIGHTING_H

#include <complex.h>
#include <stddef.h>

#include <sidecomb/error.h>

enum dsp_weighting {
  DSP_WEIGHTING_FLAT,
  DSP_WEIGHTING_A,
  DSP_WEIGHTING_468,
  DSP_WEIGHTING_DEEMPHASIS_50,
  DSP_WEIGHTING_DEEMPHASIS_75,
  DSP_WEIGHTINGS
};

/* Transfer function at a frequency >= 0; A and 468 have 0 dB at 1 kHz (468 within its fit). */
double complex dsp_weighting_response(enum dsp_weighting weighting, double frequency_hz);
/* Its power gain. */
double dsp_weighting_gain(enum dsp_weighting weighting, double frequency_hz);

/* Filters two real channels at once; rate 32 to 192 kHz. Within 0.01 dB and 0.1 degrees of the
 * response from 20 Hz to 0.47 of the rate. Memory: 16 doubles for each frame of the delay. */
struct dsp_weighter;
enum sc_error dsp_weighter_create(enum dsp_weighting weighting, double rate_hz,
                                  struct dsp_weighter **weighter);
/* Frames by which the output lags; so many frames of zeros flush it. */
size_t dsp_weighter_delay(const struct dsp_weighter *weighter);
/* As many frames out as in; two doubles a frame; in place allowed. */
void dsp_weighter_run(struct dsp_weighter *weighter, const double *in, double *out, size_t frames);
void dsp_weighter_reset(struct dsp_weighter *weighter);
void dsp_weighter_destroy(struct dsp_weighter *weighter);

#endif
