/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Coherent demodulator of RDS: decisions with their certainty, and what they tell of the signal.
 *
 * Everything is taken from the signal itself, so a pilot that is missing, wrong or not locked to
 * does no harm: in windows of 512 bits the squared output of the matched filter gives offset
 * (its line), timing (which of eight phases of a bit makes the line strongest, smoothed over some
 * two seconds on the clock of a 48th of the subcarrier) and carrier phase. A window's phase has a
 * standard deviation of 0.026 rad where half the blocks are lost (3 dB Eb/N0), which costs 0.003
 * dB (Viterbi and Viterbi, IEEE Trans. Inf. Theory 29, 1983). Its middle 256 bits are decided, and
 * what follows them with the last window. */
#ifndef SIDECOMB_MEASURE_RDS_DEMODULATOR_H
#define SIDECOMB_MEASURE_RDS_DEMODULATOR_H

#include <complex.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <sidecomb/error.h>

#include "dsp/fft.h"
#include "measure/rds_band.h"
#include "measure/rds_fit.h"

enum {
  MEASURE_RDS_WINDOW = 512,
  MEASURE_RDS_HOP = 256,
  MEASURE_RDS_PHASES = 8,
  MEASURE_RDS_TRANSFORM = 1024
};

typedef void measure_rds_decided(void *context, float soft, double time_s);

/* Sums over the decided bits: in phase, in quadrature, and against the pilot. */
struct measure_rds_levels {
  double bits, in_phase, quadrature; /* the last two squared */
  double complex against_pilot;      /* of squares, without the pilot's sixth power */
  double coherent;                   /* what the same squares give against their own phase, where
                                        the pilot is known */
};

struct measure_rds_demodulator {
  measure_rds_decided *decided;
  void *context;
  struct dsp_fft *fft;
  double complex grid[MEASURE_RDS_PHASES][MEASURE_RDS_WINDOW];
  double grid_start_s; /* the window that the grid is of */
  bool grid_nominal;   /* and its bits have their nominal length */
  double complex bits[MEASURE_RDS_WINDOW];
  double start_s; /* of the window to come */
  double last_s;  /* of the last decided bit; -1: none */
  bool tracking, ending;
  unsigned blind, astray; /* windows in a row that showed nothing, or another offset */
  double offset_hz, offset_weight;
  double complex timing;     /* smoothed */
  double astir, astir_count; /* squares of single windows' timing less the smoothed one, in bits */
  double phase_rad, phase_s; /* of the carrier in the band, at that time */
  bool phased;
  struct measure_rds_fit carrier_fit, clock_fit; /* turns in rad, and bits, against time */
  double clock_turns, clock_last;                /* timing in bits against 1187.5 Hz, unwrapped */
  struct measure_rds_levels levels;
};

enum sc_error measure_rds_demodulator_create(measure_rds_decided *decided, void *context,
                                             struct measure_rds_demodulator **demodulator);
/* Goes on to what the band holds; the time before which it needs nothing any more. */
double measure_rds_demodulator_run(struct measure_rds_demodulator *demodulator,
                                   const struct measure_rds_band *band);
/* Decides what the band still holds, up to its end. Only a break can follow. */
void measure_rds_demodulator_finish(struct measure_rds_demodulator *demodulator,
                                    const struct measure_rds_band *band);
/* Standard deviation of one window's timing, NAN: not known yet; and what smoothing has made of it
 * by now, as a factor. */
double measure_rds_demodulator_jitter(const struct measure_rds_demodulator *demodulator);
double measure_rds_demodulator_smoothing(const struct measure_rds_demodulator *demodulator);
/* After a gap. */
void measure_rds_demodulator_break(struct measure_rds_demodulator *demodulator);
void measure_rds_demodulator_destroy(struct measure_rds_demodulator *demodulator);

#endif
