/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* One tone in a stretch of two channels of audio. */
#ifndef SIDECOMB_MEASURE_AUDIO_TONE_H
#define SIDECOMB_MEASURE_AUDIO_TONE_H

#include <complex.h>
#include <stddef.h>

/* Two floats a frame; `window` has the stretch's length. */
struct audio_stretch {
  const float *samples;
  const double *window;
  size_t frames;
  double rate_hz;
};

/* Blackman-Harris: side lobes at -92 dB, so a tone is alone 4 / (length in s) from any other. */
void audio_tone_window(double *window, size_t frames);
/* Complex amplitudes (peak, cosine phase at the stretch's middle) of the tone in each channel. */
void audio_tone_fit(const struct audio_stretch *stretch, double frequency_hz,
                    double complex amplitude[2]);
/* Where the power of both channels has its peak, within reach_hz of near_hz. */
double audio_tone_frequency(const struct audio_stretch *stretch, double near_hz, double reach_hz);
/* Variance of each of the two components of an amplitude, in noise of a one-sided density. */
double audio_tone_variance(const struct audio_stretch *stretch, double density);
/* Standard uncertainty of such a frequency, for a tone of this amplitude. */
double audio_tone_frequency_uncertainty(const struct audio_stretch *stretch, double amplitude,
                                        double density);

#endif
