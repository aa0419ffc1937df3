/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The band about 57 kHz at a low rate, and the pilot's phase beside it, both with their times.
 *
 * Times are seconds from the first frame fed since create or reset. A subcarrier d sin(3 w t + a)
 * stands in the band as d / 2 exp(j (a - pi/2)), a pilot sin(w t + q) as exp(j (q - pi/2)). */
#ifndef SIDECOMB_MEASURE_RDS_BAND_H
#define SIDECOMB_MEASURE_RDS_BAND_H

#include <complex.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <sidecomb/error.h>

#include "dsp/narrowband.h"
#include "dsp/resample.h"
#include "measure/rds_pulse.h"

enum { MEASURE_RDS_FEED_MAX = 1 << 13, MEASURE_RDS_PILOT_MAX = 512, MEASURE_RDS_HELD = 1 << 15 };

struct measure_rds_band {
  double rate_hz, band_rate_hz, delay_s, per_bit; /* per_bit: frames of a nominal bit */
  struct measure_rds_pulse pulse;
  float *rows; /* row_floats weights each */
  size_t row_floats;
  struct dsp_mixer mixer;
  struct dsp_decimator *decimator;
  struct dsp_narrowband *narrowband;
  float *held; /* MEASURE_RDS_HELD complex samples */
  size_t count;
  uint64_t first;
  float pilot[2 * MEASURE_RDS_PILOT_MAX];
  size_t pilot_count;
  uint64_t pilot_first;
};

/* SC_UNSUPPORTED: below 120 kS/s. */
enum sc_error measure_rds_band_create(double rate_hz, struct measure_rds_band **band);
/* frames <= MEASURE_RDS_FEED_MAX */
void measure_rds_band_feed(struct measure_rds_band *band, const float *composite, size_t frames);
/* Up to which time the filter's output can be had, and the pilot is known. */
double measure_rds_band_until(const struct measure_rds_band *band);
double measure_rds_band_pilot_until(const struct measure_rds_band *band);
/* Output of the matched filter for a bit that begins at `time_s`, bits being `bit_s` long: the
 * amplitude of w(x) in the band. */
double complex measure_rds_band_at(const struct measure_rds_band *band, double time_s,
                                   double bit_s);
/* Direction of the pilot; 0: not known at that time. */
double complex measure_rds_band_pilot(const struct measure_rds_band *band, double time_s);
/* What lies before is not asked for any more. */
void measure_rds_band_forget(struct measure_rds_band *band, double before_s);
void measure_rds_band_reset(struct measure_rds_band *band);
void measure_rds_band_destroy(struct measure_rds_band *band);

#endif
