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

enum { ROWS_PER_STEP = 2 };

/* Vectors of so many floats, of which the compilers make what the processor has. */
enum { WIDE = 16, AT_ONCE = 2 * WIDE };
typedef float wide __attribute__((vector_size(4 * WIDE), aligned(4), may_alias));

/* Of row `row` for frame n, 0 beyond the pulse's end. */
static float weight(const struct measure_rds_band *b, size_t row, size_t n)
{
  const double last = 2.0 * MEASURE_RDS_SUPPORT * MEASURE_RDS_STEPS;
  const double at = (double)row / ROWS_PER_STEP + (double)n * MEASURE_RDS_STEPS / b->per_bit;
  if (at > last)
    return 0.0F;
  const size_t i = (size_t)at;
  const double share = at - (double)i;
  return (float)((1.0 - share) * (double)b->pulse.table[i] + share * (double)b->pulse.table[i + 1]);
}

/* The pulse as the band's samples meet it, for each place of the first sample; a weight for each
 * component, and zeros up to whole vectors. A signal's bits are so little longer or shorter than
 * the nominal ones that the same rows do. */
static enum sc_error create_rows(struct measure_rds_band *b)
{
  const double step = MEASURE_RDS_STEPS / b->per_bit;
  const size_t count = (size_t)ceil(step * ROWS_PER_STEP) + 2;
  const size_t frames = (size_t)(2.0 * MEASURE_RDS_SUPPORT * b->per_bit) + 2;
  b->row_floats = (2 * frames + AT_ONCE - 1) / AT_ONCE * AT_ONCE;
  b->rows = calloc(count * b->row_floats, sizeof *b->rows);
  if (b->rows == NULL)
    return SC_NO_MEMORY;
  for (size_t row = 0; row < count; row++)
    for (size_t n = 0; n < frames; n++) {
      float *const to = b->rows + row * b->row_floats + 2 * n;
      to[0] = to[1] = weight(b, row, n);
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

/* Sum of weighted complex samples; floats: a multiple of AT_ONCE. */
SC_KERNEL
static void add_weighted(const float *restrict weights, const float *restrict z, size_t floats,
                         float *restrict sum)
{
  wide one = {0}, other = {0};
  for (size_t n = 0; n < floats; n += AT_ONCE) {
    one += *(const wide *)(weights + n) * *(const wide *)(z + n);
    other += *(const wide *)(weights + n + WIDE) * *(const wide *)(z + n + WIDE);
  }
  one += other;
  one += __builtin_shufflevector(one, one, 8, 9, 10, 11, 12, 13, 14, 15, 0, 1, 2, 3, 4, 5, 6, 7);
  one += __builtin_shufflevector(one, one, 4, 5, 6, 7, 0, 1, 2, 3, 12, 13, 14, 15, 8, 9, 10, 11);
  sum[0] = one[0] + one[2];
  sum[1] = one[1] + one[3];
}

/* The same where the row goes beyond what is there: frames `from` to `to` - 1 of it. */
static void add_part(const float *weights, const float *z, size_t from, size_t to, float *sum)
{
  sum[0] = sum[1] = 0.0F;
  for (size_t n = from; n < to; n++) {
    sum[0] += weights[2 * n] * z[2 * (n - from)];
    sum[1] += weights[2 * n] * z[2 * (n - from) + 1];
  }
}

/* Of the frames from `first` on, which may be before those that are there. */
static void add_row(const struct measure_rds_band *b, size_t row, ptrdiff_t first, float *sum)
{
  const float *const weights = b->rows + row * b->row_floats;
  const ptrdiff_t count = (ptrdiff_t)b->count, length = (ptrdiff_t)b->row_floats / 2;
  if (first >= 0 && first + length <= count) {
    add_weighted(weights, b->held + 2 * first, b->row_floats, sum);
    return;
  }
  const ptrdiff_t from = first < 0 ? -first : 0;
  const ptrdiff_t to = first + length < count ? length : count - first;
  if (to > from)
    add_part(weights, b->held + 2 * (first + from), (size_t)from, (size_t)to, sum);
}

/* By hand, as old processors have to call for it. */
static ptrdiff_t round_up(double x)
{
  const ptrdiff_t whole = (ptrdiff_t)x;
  return (double)whole < x ? whole + 1 : whole;
}

double complex measure_rds_band_at(const struct measure_rds_band *band, double time_s, double bit_s)
{
  const struct measure_rds_band *b = band;
  const double per_bit = b->band_rate_hz * bit_s;
  const double place = (time_s + b->delay_s) * b->band_rate_hz - (double)b->first;
  const double earliest = place + 0.25 * per_bit - MEASURE_RDS_SUPPORT * b->per_bit;
  const ptrdiff_t first = round_up(earliest);
  const double at = ((double)first - earliest) * MEASURE_RDS_STEPS / b->per_bit;
  float sum[2] = {0.0F, 0.0F};
  add_row(b, (size_t)(at * ROWS_PER_STEP + 0.5), first, sum);
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

/* Of what is held some is not needed any more; the rest is moved to the front as soon as it is no
 * more than that, or half of the room is taken. */
static void move_up(float *frames, size_t room, double unneeded, size_t *count, uint64_t *first)
{
  const double least = fmin(fmax(unneeded, 0.0), (double)*count);
  const size_t drop = (size_t)least;
  if (2 * drop < *count && 2 * *count < room)
    return;
  *count -= drop;
  *first += drop;
  memmove(frames, frames + 2 * drop, 2 * *count * sizeof *frames);
}

void measure_rds_band_forget(struct measure_rds_band *band, double before_s)
{
  struct measure_rds_band *b = band;
  const double place =
      (before_s - (MEASURE_RDS_SUPPORT + 1.0) * MEASURE_RDS_BIT_S + b->delay_s) * b->band_rate_hz -
      (double)b->first;
  move_up(b->held, MEASURE_RDS_HELD, place, &b->count, &b->first);
  const double pilot_place =
      (before_s - dsp_narrowband_start(b->narrowband)) * dsp_narrowband_rate(b->narrowband) -
      (double)b->pilot_first - 1.0;
  move_up(b->pilot, MEASURE_RDS_PILOT_MAX, pilot_place, &b->pilot_count, &b->pilot_first);
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
