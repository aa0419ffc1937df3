/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Mixer, decimator and matched filter of RDS. The filter is evaluated where it is asked for, so
 * that no time has to be interpolated. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "measure/rds_band.h"

#include "common/kernel.h"
#include "dsp/fft.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double rate_least_hz = 120e3; /* 57 kHz and 2.4 kHz with room for a filter */
static const double band_rate_hz = 12e3;
static const double pass_hz = 2450.0; /* the pulse ends at 2375 Hz */
static const double alias_db = 90.0;
static const double pilot_hz = 19e3;

enum { LANES = 8, ROWS_PER_STEP = 2 };

/* The pulse as the band's samples meet it, for each place of the first sample. A signal's bits are
 * so little longer or shorter than the nominal ones that the same rows do. */
static enum sc_error create_rows(struct measure_rds_band *b)
{
  const double last = 2.0 * MEASURE_RDS_SUPPORT * MEASURE_RDS_STEPS;
  const double step = MEASURE_RDS_STEPS / b->per_bit;
  const size_t count = (size_t)ceil(step * ROWS_PER_STEP) + 2;
  b->row_length = (size_t)(2.0 * MEASURE_RDS_SUPPORT * b->per_bit) + 2;
  b->rows = calloc(count * b->row_length, sizeof *b->rows);
  if (b->rows == NULL)
    return SC_NO_MEMORY;
  for (size_t row = 0; row < count; row++)
    for (size_t n = 0; n < b->row_length; n++) {
      const double at = (double)row / ROWS_PER_STEP + (double)n * step;
      const size_t i = (size_t)fmin(at, last);
      const double share = fmin(at, last) - (double)i;
      b->rows[row * b->row_length + n] = (float)((1.0 - share) * (double)b->pulse.table[i] +
                                                 share * (double)b->pulse.table[i + 1]);
    }
  return SC_OK;
}

static enum sc_error create_parts(struct measure_rds_band *b)
{
  const unsigned decimation = (unsigned)dsp_fft_good_length((size_t)(b->rate_hz / band_rate_hz));
  enum sc_error error = dsp_decimator_create(2, decimation, pass_hz, alias_db, b->rate_hz,
                                             MEASURE_RDS_FEED_MAX, &b->decimator);
  if (error == SC_OK)
    error = dsp_narrowband_create(pilot_hz, b->rate_hz, &b->narrowband);
  if (error != SC_OK)
    return error;
  b->band_rate_hz = b->rate_hz / decimation;
  b->delay_s = dsp_decimator_delay(b->decimator) / b->rate_hz;
  dsp_mixer_set(&b->mixer, -MEASURE_RDS_SUBCARRIER_HZ, b->rate_hz);
  b->per_bit = b->band_rate_hz * MEASURE_RDS_BIT_S;
  if (create_rows(b) != SC_OK)
    return SC_NO_MEMORY;
  b->held = malloc(2 * MEASURE_RDS_HELD * sizeof *b->held);
  return b->held != NULL ? SC_OK : SC_NO_MEMORY;
}

enum sc_error measure_rds_band_create(double rate_hz, struct measure_rds_band **band)
{
  if (!(rate_hz >= rate_least_hz && isfinite(rate_hz)))
    return SC_UNSUPPORTED;
  struct measure_rds_band *b = calloc(1, sizeof *b);
  if (b == NULL)
    return SC_NO_MEMORY;
  b->rate_hz = rate_hz;
  measure_rds_pulse_fill(&b->pulse);
  const enum sc_error error = create_parts(b);
  if (error != SC_OK) {
    measure_rds_band_destroy(b);
    return error;
  }
  *band = b;
  return SC_OK;
}

void measure_rds_band_feed(struct measure_rds_band *band, const float *composite, size_t frames)
{
  struct measure_rds_band *b = band;
  b->count += dsp_decimator_run_mixed(b->decimator, &b->mixer, composite, true, frames,
                                      b->held + 2 * b->count);
  b->pilot_count +=
      dsp_narrowband_run(b->narrowband, composite, frames, b->pilot + 2 * b->pilot_count);
}

double measure_rds_band_until(const struct measure_rds_band *band)
{
  const double end_s = ((double)(band->first + band->count) - 1.0) / band->band_rate_hz;
  return end_s - band->delay_s - (MEASURE_RDS_SUPPORT + 0.5) * MEASURE_RDS_BIT_S;
}

double measure_rds_band_pilot_until(const struct measure_rds_band *band)
{
  return dsp_narrowband_start(band->narrowband) +
         ((double)(band->pilot_first + band->pilot_count) - 2.0) /
             dsp_narrowband_rate(band->narrowband);
}

/* Sum of weighted complex samples. */
SC_KERNEL
static void add_weighted(const float *restrict weights, const float *restrict z, size_t count,
                         float *restrict sum)
{
  float sums[2 * LANES] = {0.0F};
  const size_t whole = count - count % LANES;
  for (size_t n = 0; n < whole; n += LANES)
    for (size_t l = 0; l < 2 * LANES; l++)
      sums[l] += weights[n + l / 2] * z[2 * n + l];
  for (size_t l = 0; l < LANES; l++)
    sums[l] += sums[l + LANES];
  for (size_t l = 0; l < LANES / 2; l++)
    sums[l] += sums[l + LANES / 2];
  for (size_t l = 0; l < 2; l++)
    sum[l] = sums[l] + sums[l + 2];
  for (size_t n = whole; n < count; n++) {
    sum[0] += weights[n] * z[2 * n];
    sum[1] += weights[n] * z[2 * n + 1];
  }
}

double complex measure_rds_band_at(const struct measure_rds_band *band, double time_s, double bit_s)
{
  const struct measure_rds_band *b = band;
  const double per_bit = b->band_rate_hz * bit_s;
  const double place = (time_s + b->delay_s) * b->band_rate_hz - (double)b->first;
  const double middle = place + 0.25 * per_bit;
  const double start = ceil(middle - MEASURE_RDS_SUPPORT * b->per_bit);
  const double stop = floor(middle + MEASURE_RDS_SUPPORT * b->per_bit) + 1.0;
  const double step = MEASURE_RDS_STEPS / b->per_bit;
  const double at = (start - middle) * step + MEASURE_RDS_SUPPORT * MEASURE_RDS_STEPS;
  const size_t row = (size_t)fmax(0.0, at * ROWS_PER_STEP + 0.5);
  const size_t from = start > 0.0 ? (size_t)start : 0;
  const size_t skip = from - (size_t)(ptrdiff_t)start; /* frames before the first */
  size_t to = stop > 0.0 ? (size_t)stop : 0;
  to = to < b->count ? to : b->count;
  float sum[2] = {0.0F, 0.0F};
  if (to > from)
    add_weighted(b->rows + row * b->row_length + skip, b->held + 2 * from, to - from, sum);
  const double scale = 2.0 / ((per_bit + b->per_bit) * b->pulse.energy);
  return scale * (double)sum[0] + I * (scale * (double)sum[1]);
}

double complex measure_rds_band_pilot(const struct measure_rds_band *band, double time_s)
{
  const double place =
      (time_s - dsp_narrowband_start(band->narrowband)) * dsp_narrowband_rate(band->narrowband) -
      (double)band->pilot_first;
  if (!(place >= 0.0 && place + 1.0 < (double)band->pilot_count))
    return 0.0;
  const size_t at = (size_t)place;
  const float *p = band->pilot + 2 * at;
  const double share = place - (double)at;
  const double complex one = (double)p[0] + I * (double)p[1];
  const double complex next = (double)p[2] + I * (double)p[3];
  if (cabs(one) == 0.0 || cabs(next) == 0.0)
    return 0.0;
  return cexp(I * (carg(one) + share * carg(next * conj(one))));
}

void measure_rds_band_forget(struct measure_rds_band *band, double before_s)
{
  struct measure_rds_band *b = band;
  const double place =
      (before_s - (MEASURE_RDS_SUPPORT + 1.0) * MEASURE_RDS_BIT_S + b->delay_s) * b->band_rate_hz -
      (double)b->first;
  size_t drop = place > 0.0 ? (size_t)place : 0;
  drop = drop < b->count ? drop : b->count;
  b->count -= drop;
  b->first += drop;
  memmove(b->held, b->held + 2 * drop, 2 * b->count * sizeof *b->held);
  const double pilot_place =
      (before_s - dsp_narrowband_start(b->narrowband)) * dsp_narrowband_rate(b->narrowband) -
      (double)b->pilot_first - 1.0;
  drop = pilot_place > 0.0 ? (size_t)pilot_place : 0;
  drop = drop < b->pilot_count ? drop : b->pilot_count;
  b->pilot_count -= drop;
  b->pilot_first += drop;
  memmove(b->pilot, b->pilot + 2 * drop, 2 * b->pilot_count * sizeof *b->pilot);
}

void measure_rds_band_reset(struct measure_rds_band *band)
{
  dsp_decimator_reset(band->decimator);
  dsp_narrowband_reset(band->narrowband);
  dsp_mixer_reset(&band->mixer);
  band->count = band->pilot_count = 0;
  band->first = band->pilot_first = 0;
}

void measure_rds_band_destroy(struct measure_rds_band *band)
{
  if (band == NULL)
    return;
  dsp_decimator_destroy(band->decimator);
  dsp_narrowband_destroy(band->narrowband);
  free(band->rows);
  free(band->held);
  free(band);
}
