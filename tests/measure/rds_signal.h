/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A composite with pilot, RDS and the noise of a discriminator, made straight at its rate. It
 * shares nothing with the generator of scenarios and is some ten times as fast, which pays for
 * trials by the thousand.
 *
 * The pulse is the Fourier integral of the standard's shaping (EN 50067:1998 clause 1.7,
 * cos(pi f td / 4) up to 2 / td), summed by Simpson's rule. The noise is white noise differentiated
 * and scaled to f^2 N0 / C at 57 kHz, as a discriminator above its threshold has it. */
#ifndef SIDECOMB_TESTS_MEASURE_RDS_SIGNAL_H
#define SIDECOMB_TESTS_MEASURE_RDS_SIGNAL_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { RDS_SIGNAL_BITS_MAX = 1 << 17, RDS_SIGNAL_TAPS = 13, RDS_SIGNAL_GROUPS_MAX = 24 };

/* N0 / C of 30 dB carrier to noise in 200 kHz. */
#define RDS_SIGNAL_30_DB (1e-3 / 200e3)

struct rds_signal {
  /* set before the start */
  double rate_hz; /* as it is; a receiver whose clock is off believes another */
  double pilot_khz, pilot_hz, pilot_phase_rad;
  double khz, hz, phase_rad; /* peak; hz 0: three times the pilot's; against its third harmonic */
  double noise_ratio;        /* N0 / C; 0: none */
  bool inverted;
  uint16_t groups[RDS_SIGNAL_GROUPS_MAX][4]; /* in turn; none: bits at random */
  size_t group_count;
  uint64_t seed; /* of noise and bits */
  /* since the start */
  uint64_t frames;
  double last_noise, normals[2], near_bit;
  bool has_spare;
  float near[RDS_SIGNAL_TAPS];
  signed char sign[RDS_SIGNAL_BITS_MAX]; /* of bit k, sent from k / bit rate on: as decided, before
                                            differential decoding; a sequence that is sent round */
  size_t sign_count;
};

/* Pilot of 6.75 kHz, no data, no noise, 192 kS/s. */
void rds_signal_init(struct rds_signal *signal);
/* Adds a station that says who it is: PI C4A7, PS KITEFELL, RadioText, PTY 10, AF, ECC. */
void rds_signal_station(struct rds_signal *signal);
void rds_signal_start(struct rds_signal *signal);
/* Deviation in kHz. */
void rds_signal_run(struct rds_signal *signal, float *khz, size_t count);
/* Noise alone, added to what another source made. */
void rds_signal_add_noise(struct rds_signal *signal, float *khz, size_t count);

/* Probability that a decision is wrong: Q(sqrt(2 Eb / N0)), coherent antipodal signals (Proakis,
 * Digital Communications, the matched filter's error probability), at peak deviation `khz` in
 * noise of `ratio`. Eb from the rms, 1 / 2.0403 of the peak (computed). */
double rds_theory_decision(double khz, double ratio);
/* After differential decoding: one of two decisions in a row is wrong, and not both. */
double rds_theory_bit(double decision);
/* A block hangs on 27 decisions. */
double rds_theory_block(double decision);
/* Eb / N0 for that probability of a wrong bit or block, in dB. */
double rds_theory_db(double (*of)(double decision), double wanted);
/* Deviation that has this Eb / N0. */
double rds_theory_khz(double db, double ratio);

#endif
