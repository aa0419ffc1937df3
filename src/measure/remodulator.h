/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The way back from a composite to the air: a carrier of amplitude 1 that it modulates in
 * frequency.
 *
 * The phase is the deviation's integral from sample to sample, by a symmetric rule of seven points
 * (exact for polynomials of degree 7: error below 1e-4 of any part up to a fifth of the rate). */
#ifndef SIDECOMB_MEASURE_REMODULATOR_H
#define SIDECOMB_MEASURE_REMODULATOR_H

#include <stddef.h>

enum { MEASURE_REMODULATOR_TAPS = 7 };

struct measure_remodulator {
  double cycles_per_khz; /* in one sample, at a constant deviation of 1 kHz */
  double phase_cycles;
  double past[MEASURE_REMODULATOR_TAPS];
};

void measure_remodulator_start(struct measure_remodulator *remodulator, double rate_hz);
/* Writes `frames` complex samples, which belong to three samples before those of the composite.
 * After a gap start again: what came before must not bend what follows. */
void measure_remodulator_run(struct measure_remodulator *remodulator, const float *deviation_khz,
                             size_t frames, float *iq);

#endif
