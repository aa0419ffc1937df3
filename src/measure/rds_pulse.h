/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The shaped biphase pulse of RDS, and the filter matched to it.
 *
 * In bits x = t / td, with the shaping cos(pi f td / 4) up to 2 / td (EN 50067:1998 clause 1.7;
 * limits from memory): half a bit is p(x) = cos(4 pi x) / (1 - 64 x^2), a bit is
 * w(x) = p(x) - p(x - 1/2). Sender and receiver together have no intersymbol interference half a
 * bit apart, so none between bits.
 */
#ifndef SIDECOMB_MEASURE_RDS_PULSE_H
#define SIDECOMB_MEASURE_RDS_PULSE_H

#define MEASURE_RDS_SUBCARRIER_HZ 57e3
#define MEASURE_RDS_BIT_S (48.0 / 57e3)
/* Of a random sequence of w(x): the rms, and the largest value that bits can reach (computed). */
#define MEASURE_RDS_RMS 0.7855647291097
#define MEASURE_RDS_PEAK 1.1333511936761

enum { MEASURE_RDS_STEPS = 1024, MEASURE_RDS_SUPPORT = 4 }; /* a bit; bits on either side */

struct measure_rds_pulse {
  /* w(x) at x = 1/4 - SUPPORT + i / STEPS */
  float table[2 * MEASURE_RDS_SUPPORT * MEASURE_RDS_STEPS + 2];
  double energy;      /* integral of w^2 by x */
  double mean, first; /* of the squared filter output for a unit pulse a bit, at the phase x of
                         the bit: constant part and first harmonic (half the cosine's size) */
  double noise; /* of the squared output for noise of unit power, eight a bit: power per sample of
                   a line a bit clock from the middle */
};
void measure_rds_pulse_fill(struct measure_rds_pulse *pulse);

#endif
