/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Offset, timing, phase and decisions of RDS, window by window. */
#include "measure/rds_demodulator.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define PI 3.1415926535897932384626433832795

enum {
  WINDOW = MEASURE_RDS_WINDOW,
  PHASES = MEASURE_RDS_PHASES,
  TRANSFORM = MEASURE_RDS_TRANSFORM,
  EDGE = (MEASURE_RDS_WINDOW - MEASURE_RDS_HOP) / 2,
  BLIND_MAX = 40, /* 9 s */
  ASTRAY_MAX = 4,
  WARM_UP = 4 /* windows */
};

static const double search_hz = 24.0; /* of the square */
/* Largest of 330 cells over their mean: noise passes this once in 500 windows, a signal of which
 * half the blocks are right has 170. */
static const double enough = 12.0;
static const double memory = 0.9; /* of the offset, a window */
static const double timing_memory = 0.85;
/* Of the variance of one window's timing, what stands between it and the smoothed one. */
static const double between_share = 0.78;
static const double near_hz = 1.5;

enum sc_error measure_rds_demodulator_create(measure_rds_decided *decided, void *context,
                                             struct measure_rds_demodulator **demodulator)
{
  struct measure_rds_demodulator *d = calloc(1, sizeof *d);
  if (d == NULL)
    return SC_NO_MEMORY;
  d->decided = decided;
  d->context = context;
  d->last_s = -1.0;
  const enum sc_error error = dsp_fft_create(TRANSFORM, DSP_PLAN_ESTIMATE, &d->fft);
  if (error != SC_OK) {
    measure_rds_demodulator_destroy(d);
    return error;
  }
  *demodulator = d;
  return SC_OK;
}

static double bit_s(const struct measure_rds_demodulator *d)
{
  return MEASURE_RDS_BIT_S / (1.0 + d->offset_hz / MEASURE_RDS_SUBCARRIER_HZ);
}

static double complex squared(double complex z)
{
  return z * z;
}

static double power_of(double complex z)
{
  return creal(z) * creal(z) + cimag(z) * cimag(z);
}

/* As long as nothing was found, bits have their nominal length, and what the window shares with the
 * one before is there. */
static int reuse_grid(struct measure_rds_demodulator *d)
{
  const bool nominal = d->offset_hz == 0.0;
  const bool follows = nominal && d->grid_nominal &&
                       fabs(d->start_s - d->grid_start_s - MEASURE_RDS_HOP * MEASURE_RDS_BIT_S) <
                           1e-6 * MEASURE_RDS_BIT_S;
  enum { SHARED = WINDOW - MEASURE_RDS_HOP };
  for (int h = 0; follows && h < PHASES; h++)
    memmove(d->grid[h], d->grid[h] + MEASURE_RDS_HOP, SHARED * sizeof *d->grid[h]);
  d->grid_nominal = nominal;
  d->grid_start_s = d->start_s;
  return follows ? SHARED : 0;
}

static void fill_grid(struct measure_rds_demodulator *d, const struct measure_rds_band *band)
{
  const double length_s = bit_s(d);
  const int first = reuse_grid(d);
  for (int h = 0; h < PHASES; h++)
    for (int k = first; k < WINDOW; k++) {
      const double at_s = d->start_s + (k + (double)h / PHASES) * length_s;
      d->grid[h][k] = squared(measure_rds_band_at(band, at_s, length_s));
    }
}

/* ---- offset */

struct peak {
  double ratio; /* over the mean of what noise gives */
  double offset_hz;
};

static double cell(const float *bins, int bin)
{
  const float *z = bins + 2 * ((bin + TRANSFORM) % TRANSFORM);
  return (double)z[0] * (double)z[0] + (double)z[1] * (double)z[1];
}

/* Parabola through three powers. */
static double between(double before, double at, double after)
{
  const double curve = before - 2.0 * at + after;
  return curve < 0.0 ? 0.5 * (before - after) / curve : 0.0;
}

static void search_phase(struct measure_rds_demodulator *d, int h, double cell_hz,
                         struct peak *peak)
{
  float *bins = dsp_fft_buffer(d->fft);
  memset(bins, 0, 2 * TRANSFORM * sizeof *bins);
  for (int k = 0; k < WINDOW; k++) {
    bins[2 * k] = (float)creal(d->grid[h][k]);
    bins[2 * k + 1] = (float)cimag(d->grid[h][k]);
  }
  dsp_fft_run(d->fft);
  const int reach = (int)(search_hz / cell_hz);
  for (int bin = -reach; bin <= reach; bin++) {
    const double power = cell(bins, bin);
    if (power <= peak->ratio)
      continue;
    peak->ratio = power;
    peak->offset_hz =
        (bin + between(cell(bins, bin - 1), power, cell(bins, bin + 1))) * cell_hz / 2.0;
  }
}

static struct peak search(struct measure_rds_demodulator *d)
{
  struct peak peak = {0.0, 0.0};
  double mean = 0.0;
  const double cell_hz = 1.0 / (bit_s(d) * TRANSFORM);
  for (int h = 0; h < PHASES; h++) {
    search_phase(d, h, cell_hz, &peak);
    for (int k = 0; k < WINDOW; k++)
      mean += power_of(d->grid[h][k]) / PHASES;
  }
  peak.ratio = mean > 0.0 ? peak.ratio / mean : 0.0;
  return peak;
}

static void forget(struct measure_rds_demodulator *d)
{
  d->tracking = d->phased = false;
  d->blind = d->astray = 0;
  d->offset_weight = 0.0;
  d->timing = 0.0;
  d->carrier_fit = d->clock_fit = (struct measure_rds_fit){.n = 0.0};
}

/* True: the offset is new, and the grid has to be made again. */
static bool follow_offset(struct measure_rds_demodulator *d, const struct peak *peak)
{
  d->blind = peak->ratio < enough ? d->blind + 1 : 0;
  if (d->blind > BLIND_MAX)
    forget(d);
  if (peak->ratio < enough)
    return false;
  const bool astray = d->tracking && fabs(peak->offset_hz - d->offset_hz) > near_hz;
  d->astray = astray ? d->astray + 1 : 0;
  if (astray && d->astray <= ASTRAY_MAX)
    return false;
  if (astray)
    forget(d);
  const bool fresh = !d->tracking;
  d->tracking = true;
  const double before = d->offset_hz * d->offset_weight * memory;
  d->offset_weight = d->offset_weight * memory + 1.0;
  d->offset_hz = (before + peak->offset_hz) / d->offset_weight;
  return fresh;
}

/* ---- timing */

/* Line of one phase's squares at the known offset. */
static double complex line_of(const struct measure_rds_demodulator *d, int h)
{
  const double length_s = bit_s(d);
  const double complex step = cexp(-4.0 * PI * I * d->offset_hz * length_s);
  double complex turn = cexp(-4.0 * PI * I * d->offset_hz * length_s * h / PHASES), sum = 0.0;
  for (int k = 0; k < WINDOW; k++, turn *= step)
    sum += d->grid[h][k] * turn;
  return sum;
}

/* Where in a bit the pulses begin, 0 to 1 from the window's start. */
static double follow_timing(struct measure_rds_demodulator *d)
{
  double complex line[PHASES], all = 0.0, now = 0.0;
  for (int h = 0; h < PHASES; h++)
    all += line[h] = line_of(d, h);
  for (int h = 0; h < PHASES; h++)
    now += creal(line[h] * conj(all)) * cexp(2.0 * PI * I * h / PHASES);
  if (cabs(all) > 0.0)
    d->timing = d->timing * timing_memory + now / cabs(all);
  const double turns = carg(d->timing) / (2.0 * PI);
  const double apart = remainder(carg(now) / (2.0 * PI) - turns, 1.0);
  d->astir += d->clock_fit.n < WARM_UP ? 0.0 : apart * apart;
  d->astir_count += d->clock_fit.n < WARM_UP ? 0.0 : 1.0;
  return turns < 0.0 ? turns + 1.0 : turns;
}

/* The next window begins a whole number of nominal bits later, which is not one of the signal's. */
static void advance_timing(struct measure_rds_demodulator *d, double bits)
{
  const double slip = bits * d->offset_hz / MEASURE_RDS_SUBCARRIER_HZ;
  d->timing *= cexp(-2.0 * PI * I * slip);
  d->start_s += bits * MEASURE_RDS_BIT_S;
}

static void follow_clock(struct measure_rds_demodulator *d, double timing)
{
  const double middle_s = d->start_s + WINDOW / 2 * MEASURE_RDS_BIT_S;
  /* phase of the clock in the window's middle against one of 1187.5 Hz, in bits */
  const double now = WINDOW / 2 * (MEASURE_RDS_BIT_S / bit_s(d) - 1.0) - timing;
  if (d->clock_fit.n == 0.0)
    d->clock_turns = now;
  else
    d->clock_turns += remainder(now - d->clock_last, 1.0);
  d->clock_last = now;
  measure_rds_fit_add(&d->clock_fit, middle_s, d->clock_turns);
}

/* ---- phase and decisions */

/* Carrier phase in the window's middle, continued from the window before. */
static void follow_phase(struct measure_rds_demodulator *d, double first_s)
{
  const double length_s = bit_s(d);
  const double middle_s = d->start_s + WINDOW / 2 * MEASURE_RDS_BIT_S;
  double complex sum = 0.0;
  for (int k = 0; k < WINDOW; k++) {
    const double at_s = first_s + k * length_s - middle_s;
    sum += squared(d->bits[k]) * cexp(-4.0 * PI * I * d->offset_hz * at_s);
  }
  const double now = carg(sum) / 2.0;
  const double expected =
      d->phased ? d->phase_rad + 2.0 * PI * d->offset_hz * (middle_s - d->phase_s) : now;
  d->phase_rad = now + PI * round((expected - now) / PI);
  d->phase_s = middle_s;
  d->phased = true;
  measure_rds_fit_add(&d->carrier_fit, middle_s, d->phase_rad);
}

static void decide(struct measure_rds_demodulator *d, const struct measure_rds_band *band,
                   double complex bit, double at_s, double complex sums[2])
{
  const double phase = d->phase_rad + 2.0 * PI * d->offset_hz * (at_s - d->phase_s);
  const double complex z = bit * cexp(-I * phase);
  /* the filter's output has the phase of the pulse's middle */
  const double complex pilot = measure_rds_band_pilot(band, at_s + bit_s(d) / 4.0);
  const double complex cube = pilot * pilot * pilot;
  d->levels.bits += 1.0;
  d->levels.in_phase += creal(z) * creal(z);
  d->levels.quadrature += cimag(z) * cimag(z);
  sums[0] += squared(bit * conj(cube));
  sums[1] += pilot != 0.0 ? squared(z) : 0.0;
  d->last_s = at_s;
  d->decided(d->context, (float)creal(z), at_s + bit_s(d));
}

static void decide_window(struct measure_rds_demodulator *d, const struct measure_rds_band *band,
                          double first_s)
{
  const double length_s = bit_s(d);
  const double decided = d->ending ? WINDOW : EDGE + MEASURE_RDS_HOP;
  const double until_s = d->start_s + decided * MEASURE_RDS_BIT_S;
  double complex sums[2] = {0.0, 0.0};
  for (int k = 0; k < WINDOW; k++) {
    const double at_s = first_s + k * length_s;
    if (at_s > d->last_s + length_s / 2.0 && at_s <= until_s)
      decide(d, band, d->bits[k], at_s, sums);
  }
  d->levels.against_pilot += sums[0];
  d->levels.coherent += cabs(sums[1]);
}

static void run_window(struct measure_rds_demodulator *d, const struct measure_rds_band *band)
{
  fill_grid(d, band);
  const struct peak peak = search(d);
  if (follow_offset(d, &peak))
    fill_grid(d, band);
  if (!d->tracking)
    return;
  const double timing = follow_timing(d);
  const double length_s = bit_s(d);
  const double first_s = d->start_s + timing * length_s;
  for (int k = 0; k < WINDOW; k++)
    d->bits[k] = measure_rds_band_at(band, first_s + k * length_s, length_s);
  follow_clock(d, timing);
  follow_phase(d, first_s);
  decide_window(d, band, first_s);
}

static void run_until(struct measure_rds_demodulator *d, const struct measure_rds_band *band,
                      double until_s)
{
  while (d->start_s + (WINDOW + 2) * MEASURE_RDS_BIT_S <= until_s) {
    run_window(d, band);
    advance_timing(d, MEASURE_RDS_HOP);
  }
}

/* The pilot comes later than the band; it is waited for. */
double measure_rds_demodulator_run(struct measure_rds_demodulator *demodulator,
                                   const struct measure_rds_band *band)
{
  struct measure_rds_demodulator *d = demodulator;
  run_until(d, band, fmin(measure_rds_band_until(band), measure_rds_band_pilot_until(band)));
  return d->start_s - MEASURE_RDS_HOP * MEASURE_RDS_BIT_S; /* for the last window */
}

/* The last window is the one before, moved on as far as the band goes. */
void measure_rds_demodulator_finish(struct measure_rds_demodulator *demodulator,
                                    const struct measure_rds_band *band)
{
  struct measure_rds_demodulator *d = demodulator;
  const double until_s = measure_rds_band_until(band);
  run_until(d, band, until_s);
  const double beyond_s = d->start_s + (WINDOW + 2) * MEASURE_RDS_BIT_S - until_s;
  const double back = ceil(beyond_s / MEASURE_RDS_BIT_S);
  if (back > MEASURE_RDS_HOP || d->start_s < back * MEASURE_RDS_BIT_S)
    return;
  d->ending = true;
  advance_timing(d, -back);
  run_window(d, band);
}

double measure_rds_demodulator_jitter(const struct measure_rds_demodulator *demodulator)
{
  const struct measure_rds_demodulator *d = demodulator;
  if (d->astir_count == 0.0)
    return (double)NAN;
  return sqrt(d->astir / d->astir_count / between_share) * bit_s(d);
}

/* Geometric weights over n windows, which share half of their bits. */
double measure_rds_demodulator_smoothing(const struct measure_rds_demodulator *demodulator)
{
  const double m = timing_memory, left = pow(m, demodulator->clock_fit.n);
  const double variance = left < 1.0 ? (1.0 - m) / (1.0 + m) * (1.0 + left) / (1.0 - left) : 1.0;
  return sqrt(fmin(1.0, 2.0 * variance));
}

void measure_rds_demodulator_break(struct measure_rds_demodulator *demodulator)
{
  const double offset_hz = demodulator->offset_hz;
  forget(demodulator);
  demodulator->offset_hz = offset_hz;
  demodulator->ending = demodulator->grid_nominal = false;
  demodulator->start_s = 0.0;
  demodulator->last_s = -1.0;
}

void measure_rds_demodulator_destroy(struct measure_rds_demodulator *demodulator)
{
  if (demodulator == NULL)
    return;
  dsp_fft_destroy(demodulator->fft);
  free(demodulator);
}
