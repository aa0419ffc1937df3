/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Powers of sum and difference without noise, from the stereo meter's sums, and that noise. */
#ifndef SIDECOMB_MEASURE_STEREO_POWERS_H
#define SIDECOMB_MEASURE_STEREO_POWERS_H

#include <stdbool.h>

#include <sidecomb/stereo.h>

#include "measure/stereo_sums.h"

#define MEASURE_STEREO_AUDIO_HZ 15e3
#define MEASURE_STEREO_LEAK 1e-5  /* of one channel into the other, by the decoder */
#define MEASURE_STEREO_CHANCE 6.0 /* standard deviations that count */
#define MEASURE_STEREO_HIDDEN 3.0 /* standard deviations that may be hidden */

/* Powers about the mean, with what noise adds to them, in the input's unit squared. */
struct stereo_powers {
  double sum, difference;             /* without noise; may be negative */
  double sum_noise, difference_noise; /* what was taken off */
  double in_phase, cross;             /* of the decoded difference, and with the sum */
  double angle_rad;                   /* of the difference */
  double draws;                       /* independent values of either */
  double sum_sd, difference_sd;       /* of the powers, by noise */
  double sum_unsure;                  /* how far the sum's noise may be wrong */
};

struct stereo_powers stereo_powers_of(const struct sc_stereo_meter *meter,
                                      const struct sc_composite_noise *noise);
bool stereo_has_sum(const struct stereo_powers *powers);
/* pilot: its amplitude, of which the decoder makes something as well. */
bool stereo_has_difference(const struct stereo_powers *powers, double pilot);
/* Uncertainty of the mean square of a signal of `power` in noise. */
double stereo_power_sd(double power, double noise, double draws);
/* A discriminator's noise has the density f^2 per_hz; in one direction of the decoded difference
 * stands what both side bands have. Where per_hz is 1. */
double stereo_band_noise(void);
/* The same noise in the sum, behind de-emphasis; 0: none. */
double stereo_noise_behind(double per_hz, double deemphasis_s);
/* Rms of a double side band around 38 kHz whose carrier's phase is not known; 0: none. */
double stereo_unlocked_rms(const struct measure_stereo_sums *sums);
/* Noise in one direction of it. */
double stereo_unlocked_noise(const struct measure_stereo_sums *sums);

#endif
