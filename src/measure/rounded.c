/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "measure/rounded.h"

#include <complex.h>
#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "dsp/fft.h"

static const float pi = 3.14159265F;
enum { BESIDE = 2, ROUNDS = 2, FRAMES_MIN = 1 << 12, BITS_MAX = 16 };
/* Bins of the channel are taken for signal from so many times the noise on: one of 55 is noise. */
static const double over_noise = 4;
/* Outside, signal is what is so many times the strongest line that rounding made (power). */
static const double over_rounding = 4;
/* The error of the cleaner signal is not weaker than that of the samples, but for what was taken
 * off it or is missing of it (power, our choice). */
static const double most_gain = 1.5;

struct measure_rounded {
  size_t frames;
  double rate_hz;
  float *shares;  /* of each bin of the record; the phases, as long as they are asked for */
  float *of_tone; /* of each bin of the composite, from zero to half the rate */
};

struct work {
  struct measure_rounded *rounded;
  const struct measure_rounded_settings *settings;
  const int16_t *codes;
  struct dsp_fft *fft;
  float *x;                  /* its buffer */
  float *phase;              /* of the channel's signal, in time; NAN: there is none */
  float *error;              /* spectrum of what rounding makes */
  bool *weak;                /* bins of the record that are no signal outside of the channel */
  double least;              /* step of the container */
  double step, origin, mean; /* of the samples; the channel's amplitude */
};

/* ---- bins */

static float complex at(const float *pairs, size_t i)
{
  return pairs[2 * i] + pairs[2 * i + 1] * I;
}

static void put(float *pairs, size_t i, float complex value)
{
  pairs[2 * i] = crealf(value);
  pairs[2 * i + 1] = cimagf(value);
}

static double power_of(double complex value)
{
  return creal(value) * creal(value) + cimag(value) * cimag(value);
}

/* The bin of the same record through a Hann window, of a spectrum without one. */
static double complex hann(const float *spectrum, size_t n, size_t k)
{
  return (double complex)at(spectrum, k) -
         0.5 * ((double complex)at(spectrum, (k + 1) % n) + at(spectrum, (k + n - 1) % n));
}

static bool is_near(const struct work *work, size_t k)
{
  const size_t n = work->rounded->frames;
  const double turns = (double)k / (double)n - work->settings->carrier_hz / work->settings->rate_hz;
  return fabs(turns - nearbyint(turns)) * work->settings->rate_hz <= work->settings->half_width_hz;
}

static void forward(struct work *work)
{
  const size_t n = work->rounded->frames;
  const float scale = 1.0F / (float)n;
  dsp_fft_run(work->fft);
  for (size_t i = 0; i < 2 * n; i++)
    work->x[i] *= scale;
}

static float sample_of(const struct work *work, int16_t code)
{
  return (float)(((double)code + work->settings->offset) * work->least);
}

/* The record's spectrum. */
static void transform(struct work *work)
{
  for (size_t i = 0; i < 2 * work->rounded->frames; i++)
    work->x[i] = sample_of(work, work->codes[i]);
  forward(work);
}

static void conjugate(float *pairs, size_t n)
{
  for (size_t i = 0; i < n; i++)
    pairs[2 * i + 1] = -pairs[2 * i + 1];
}

static void backward(struct work *work)
{
  conjugate(work->x, work->rounded->frames);
  dsp_fft_run(work->fft);
  conjugate(work->x, work->rounded->frames);
}

/* ---- the signal */

/* The largest step whose multiples, from one sample on, all samples are. */
static bool find_step(struct work *work)
{
  const int16_t first = work->codes[0];
  uint32_t any = 0;
  for (size_t i = 0; i < 2 * work->rounded->frames; i++)
    any |= (uint32_t)abs(work->codes[i] - first);
  work->origin = (double)sample_of(work, first);
  work->step = work->least;
  for (; any != 0 && any % 2 == 0; any /= 2)
    work->step *= 2;
  return any != 0;
}

static double noise_of_bin(const struct work *work)
{
  const double noise = work->settings->noise_density * work->settings->rate_hz;
  return fmax(work->step * work->step / 6, noise) / (double)work->rounded->frames;
}

/* The channel's signal: its phase, and its mean amplitude. */
static void take_channel(struct work *work)
{
  const size_t n = work->rounded->frames;
  const double least = over_noise * noise_of_bin(work);
  transform(work);
  for (size_t k = 0; k < n; k++)
    if (!is_near(work, k) || power_of(at(work->x, k)) <= least)
      put(work->x, k, 0);
  backward(work);
  double sum = 0;
  for (size_t i = 0; i < n; i++) {
    const float complex near = at(work->x, i);
    const float size = cabsf(near);
    work->phase[i] = size > 0 ? cargf(near) : NAN;
    sum += (double)size;
  }
  work->mean = sum / (double)n;
}

static float complex unit(float phase)
{
  return isnan(phase) ? 0 : cosf(phase) + sinf(phase) * I;
}

/* All of the signal; outside of the channel what is stronger than this (power). */
static void make_signal(struct work *work, double least)
{
  const size_t n = work->rounded->frames;
  transform(work);
  for (size_t k = 0; k < n; k++) {
    work->weak[k] = !is_near(work, k) && power_of(at(work->x, k)) <= least;
    if (work->weak[k] || is_near(work, k))
      put(work->x, k, 0);
  }
  backward(work);
  for (size_t i = 0; i < n; i++)
    put(work->x, i, at(work->x, i) + (float)work->mean * unit(work->phase[i]));
}

static float error_of(const struct work *work, float value)
{
  const double steps = ((double)value - work->origin) / work->step;
  return (float)((nearbyint(steps) - steps) * work->step);
}

static void make_error(struct work *work)
{
  for (size_t i = 0; i < 2 * work->rounded->frames; i++)
    work->x[i] = error_of(work, work->x[i]);
  forward(work);
}

/* Of the error outside of the channel, as the power of a line. */
static double strongest_made(const struct work *work)
{
  const size_t n = work->rounded->frames;
  double most = 0;
  for (size_t k = 0; k < n; k++)
    if (work->weak[k])
      most = fmax(most, power_of(hann(work->x, n, k)));
  return most;
}

static void round_anew(struct work *work)
{
  double least = work->settings->strongest * work->settings->strongest;
  for (int round = 0; round < ROUNDS; round++) {
    make_signal(work, least);
    make_error(work);
    least = fmin(least, over_rounding * strongest_made(work));
  }
  memcpy(work->error, work->x, 2 * work->rounded->frames * sizeof *work->x);
}

/* ---- the composite */

/* What the error within the channel turns the carrier by: its part in quadrature. Spectrum of the
 * phase's steps: as real parts in time those of the record, as imaginary parts those by the error.
 */
static void make_steps(struct work *work)
{
  const size_t n = work->rounded->frames;
  for (size_t k = 0; k < n; k++)
    if (!is_near(work, k))
      put(work->x, k, 0);
  backward(work);
  float last = work->phase[0], turned = 0;
  for (size_t i = 0; i < n; i++) {
    const float now = work->phase[i], step = remainderf(now - last, 2 * pi);
    const float by = cimagf(at(work->x, i) * conjf(unit(now))) / (float)work->mean;
    put(work->x, i, (isnan(step) ? 0 : step) + (i > 0 ? by - turned : 0) * I);
    last = now;
    turned = by;
  }
  forward(work);
}

/* ---- shares */

struct bins {
  double complex record[2 * BESIDE + 1], error[2 * BESIDE + 1];
};

static double share_of(const struct bins *bins)
{
  double common = 0, of_error = 0, of_record = 0;
  for (size_t i = 0; i < 2 * BESIDE + 1; i++) {
    common += creal(bins->record[i] * conj(bins->error[i]));
    of_error += power_of(bins->error[i]);
    of_record += power_of(bins->record[i]);
  }
  if (!(of_error > 0 && of_record > 0))
    return 0;
  const double alike = pow(fmax(common, 0), 2) / (of_error * of_record);
  return alike * fmin(1, most_gain * of_error / of_record);
}

/* Of the bins about k; the record's spectrum is at hand. */
static double share_at(const struct work *work, size_t k)
{
  const size_t n = work->rounded->frames, first = k + n - BESIDE;
  struct bins bins;
  for (size_t i = 0; i < 2 * BESIDE + 1; i++) {
    bins.record[i] = hann(work->x, n, (first + i) % n);
    bins.error[i] = hann(work->error, n, (first + i) % n);
  }
  return share_of(&bins);
}

/* The same of the composite; the spectrum of the steps is at hand. */
static double share_of_steps_at(const struct work *work, size_t bin)
{
  const size_t n = work->rounded->frames, first = bin + n - BESIDE;
  struct bins bins;
  for (size_t i = 0; i < 2 * BESIDE + 1; i++) {
    const size_t k = (first + i) % n;
    const double complex above = hann(work->x, n, k);
    const double complex below = conj(hann(work->x, n, (n - k) % n));
    bins.record[i] = (above + below) / 2;
    bins.error[i] = (above - below) / (2 * I);
  }
  return share_of(&bins);
}

static void take_shares(struct work *work)
{
  struct measure_rounded *rounded = work->rounded;
  make_steps(work);
  for (size_t k = 0; k <= rounded->frames / 2; k++)
    rounded->of_tone[k] = (float)share_of_steps_at(work, k);
  transform(work);
  for (size_t k = 0; k < rounded->frames; k++)
    rounded->shares[k] = (float)share_at(work, k);
}

/* ---- */

static enum sc_error make_room(struct work *work)
{
  struct measure_rounded *rounded = work->rounded;
  const size_t n = rounded->frames;
  rounded->shares = malloc(n * sizeof *rounded->shares);
  rounded->of_tone = malloc((n / 2 + 1) * sizeof *rounded->of_tone);
  work->phase = rounded->shares;
  work->error = malloc(2 * n * sizeof *work->error);
  work->weak = malloc(n * sizeof *work->weak);
  if (rounded->shares == NULL || rounded->of_tone == NULL || work->error == NULL ||
      work->weak == NULL)
    return SC_NO_MEMORY;
  const enum sc_error error = dsp_fft_create(n, DSP_PLAN_ESTIMATE, &work->fft);
  if (error == SC_OK)
    work->x = dsp_fft_buffer(work->fft);
  return error;
}

static enum sc_error make(struct work *work)
{
  const enum sc_error error = make_room(work);
  if (error != SC_OK)
    return error;
  take_channel(work);
  round_anew(work);
  take_shares(work);
  return SC_OK;
}

enum sc_error measure_rounded_create(const struct measure_rounded_settings *settings,
                                     const int16_t *codes, size_t frames,
                                     struct measure_rounded **out)
{
  *out = NULL;
  if (settings->bits < 1 || settings->bits > BITS_MAX || frames < FRAMES_MIN)
    return SC_UNSUPPORTED;
  struct measure_rounded *rounded = calloc(1, sizeof *rounded);
  if (rounded == NULL)
    return SC_NO_MEMORY;
  rounded->frames = dsp_fft_good_length(
      frames < MEASURE_ROUNDED_FRAMES ? frames : (size_t)MEASURE_ROUNDED_FRAMES);
  rounded->rate_hz = settings->rate_hz;
  struct work work = {.rounded = rounded,
                      .settings = settings,
                      .codes = codes,
                      .least = exp2(1 - (double)settings->bits)};
  enum sc_error error = find_step(&work) ? make(&work) : SC_UNSUPPORTED;
  dsp_fft_destroy(work.fft);
  free(work.error);
  free(work.weak);
  if (error == SC_OK)
    *out = rounded;
  else
    measure_rounded_destroy(rounded);
  return error;
}

/* ---- */

static size_t bin_of(const struct measure_rounded *rounded, double hz)
{
  const double n = (double)rounded->frames, k = nearbyint(hz / rounded->rate_hz * n);
  return (size_t)(k - n * floor(k / n));
}

double measure_rounded_share(const struct measure_rounded *rounded, double hz)
{
  return (double)rounded->shares[bin_of(rounded, hz)];
}

double measure_rounded_share_of_tone(const struct measure_rounded *rounded, double hz)
{
  const size_t k = bin_of(rounded, hz), n = rounded->frames;
  return (double)rounded->of_tone[k <= n / 2 ? k : n - k];
}

void measure_rounded_destroy(struct measure_rounded *rounded)
{
  if (rounded == NULL)
    return;
  free(rounded->shares);
  free(rounded->of_tone);
  free(rounded);
}
