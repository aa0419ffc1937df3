/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Averaged spectra of two channels of audio: power in weighted bands, noise beside a tone. */
#ifndef SIDECOMB_MEASURE_AUDIO_SPECTRUM_H
#define SIDECOMB_MEASURE_AUDIO_SPECTRUM_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/error.h>

enum audio_band {
  AUDIO_BAND_FLAT, /* 30 Hz to 15 kHz */
  AUDIO_BAND_A,    /* 20 Hz to 20 kHz, A weighted */
  AUDIO_BANDS
};

/* A mean square with its relative standard uncertainty. */
struct audio_power {
  double power, relative;
};

struct audio_spectrum;
enum sc_error audio_spectrum_create(double rate_hz, struct audio_spectrum **spectrum);
void audio_spectrum_reset(struct audio_spectrum *spectrum);
/* Two floats a frame. */
void audio_spectrum_feed(struct audio_spectrum *spectrum, const float *samples, size_t frames);
size_t audio_spectrum_blocks(const struct audio_spectrum *spectrum);
/* From the scatter of the blocks; relative NAN with fewer than two. */
struct audio_power audio_spectrum_band(const struct audio_spectrum *spectrum, int channel,
                                       enum audio_band band);
/* One-sided power density around a frequency, without the nearest 4 bins: from the quietest
 * quarter of the bins beside. */
double audio_spectrum_density(const struct audio_spectrum *spectrum, int channel,
                              double frequency_hz);

/* The strongest tone from 20 Hz on. */
struct audio_dominant {
  double frequency_hz; /* 0: there is nothing */
  double frequency_uncertainty_hz;
  double power;            /* mean square of the tone */
  struct audio_power rest; /* AUDIO_BAND_FLAT without the tone */
};
struct audio_dominant audio_spectrum_dominant(const struct audio_spectrum *spectrum, int channel);
void audio_spectrum_destroy(struct audio_spectrum *spectrum);

#endif
