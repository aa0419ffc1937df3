/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Pink noise: white noise through poles and zeros that alternate evenly on a logarithmic scale,
 * which makes -10 dB per decade; within 0.1 dB to a fifth of the rate, 0.25 to a third. Below, it
 * ends as noise for testing sound equipment does, and as no programme goes lower: a Butterworth
 * high-pass of third order at 22.4 Hz (IEC 60268-1, from memory), 0.1 dB at 42 Hz, 21 dB at 10 Hz.
 */
#ifndef SIDECOMB_SIGNAL_PINK_H
#define SIDECOMB_SIGNAL_PINK_H

#include <stddef.h>

#include "signal/random.h"

enum { SIGNAL_PINK_SECTIONS = 24 };

struct signal_pink {
  size_t count;
  double pole[SIGNAL_PINK_SECTIONS], zero[SIGNAL_PINK_SECTIONS];
  double past[SIGNAL_PINK_SECTIONS + 1];
  double high[3], rest[3]; /* the high-pass, and its state: see pink.c */
  double high_gain;
  double gain; /* for unit rms below the limit */
};

void signal_pink_init(struct signal_pink *pink, double rate_hz, double limit_hz);
double signal_pink_next(struct signal_pink *pink, struct signal_random *random);
/* Power of the filter at a frequency, gain included. */
double signal_pink_power(const struct signal_pink *pink, double frequency_hz, double rate_hz);

#endif
