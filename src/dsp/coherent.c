/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Maximum likelihood of one complex tone: the highest bin of a transform padded to twice the
 * record or more, refined by Newton's method on the periodogram. */
#include "dsp/coherent.h"

#include "dsp/fft.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define TWO_PI 6.283185307179586476925286766559

enum { PADDED = 2 * DSP_COHERENT_MEMORY, NEWTON_STEPS = 4 };

static const double near_cells = 6.0;   /* on either side */
static const double wandering = 2.2;    /* near noise that is no chance: 1 in 1000 */
static const double fitted_cells = 2.0; /* that amplitude and frequency have taken away */

struct dsp_coherent {
  double base_rate_hz, search_hz, noise_hz;
  double centre_hz; /* by which the samples are turned back */
  size_t factor;    /* frames of the series in one sample */
  size_t count;     /* samples */
  size_t frames;    /* of the series so far */
  double sum[2];    /* of the sample that is being filled */
  size_t summed;
  double samples[2 * DSP_COHERENT_MEMORY];
  struct dsp_fft64 *fft;
};

enum sc_error dsp_coherent_create(double rate_hz, double search_hz, double noise_hz,
                                  struct dsp_coherent **coherent)
{
  if (!(rate_hz > 0.0 && search_hz > 0.0 && noise_hz > 0.0))
    return SC_BAD_ARGUMENT;
  struct dsp_coherent *c = calloc(1, sizeof *c);
  if (c == NULL)
    return SC_NO_MEMORY;
  c->base_rate_hz = rate_hz;
  c->search_hz = search_hz;
  c->noise_hz = noise_hz;
  const enum sc_error error = dsp_fft64_create(PADDED, DSP_PLAN_ESTIMATE, &c->fft);
  if (error != SC_OK) {
    free(c);
    return error;
  }
  dsp_coherent_reset(c);
  *coherent = c;
  return SC_OK;
}

void dsp_coherent_reset(struct dsp_coherent *coherent)
{
  coherent->centre_hz = 0.0;
  coherent->factor = 1;
  coherent->count = coherent->frames = coherent->summed = 0;
  coherent->sum[0] = coherent->sum[1] = 0.0;
}

void dsp_coherent_drop(struct dsp_coherent *coherent, size_t frames)
{
  const size_t left = coherent->frames > frames ? coherent->frames - frames : 0;
  coherent->count = left / coherent->factor;
  coherent->frames = coherent->count * coherent->factor;
  coherent->summed = 0;
  coherent->sum[0] = coherent->sum[1] = 0.0;
}

void dsp_coherent_destroy(struct dsp_coherent *coherent)
{
  if (coherent == NULL)
    return;
  dsp_fft64_destroy(coherent->fft);
  free(coherent);
}

static double sample_rate(const struct dsp_coherent *c)
{
  return c->base_rate_hz / (double)c->factor;
}

/* Middle of sample m, in frames of the series from its first. */
static double middle(const struct dsp_coherent *c, size_t m)
{
  return ((double)m + 0.5) * (double)c->factor - 0.5;
}

static void turn(double *sample, double cycles)
{
  const double angle = TWO_PI * (cycles - nearbyint(cycles));
  const double re = sample[0] * cos(angle) - sample[1] * sin(angle);
  sample[1] = sample[0] * sin(angle) + sample[1] * cos(angle);
  sample[0] = re;
}

static void transform(struct dsp_coherent *c)
{
  double *buffer = dsp_fft64_buffer(c->fft);
  memcpy(buffer, c->samples, 2 * c->count * sizeof *buffer);
  memset(buffer + 2 * c->count, 0, 2 * (PADDED - c->count) * sizeof *buffer);
  dsp_fft64_run(c->fft);
}

static double power(const double *bin)
{
  return bin[0] * bin[0] + bin[1] * bin[1];
}

/* Bin k of the padded transform as a frequency in cycles per sample. */
static double bin_cycles(size_t k)
{
  return (k < PADDED / 2 ? (double)k : (double)k - PADDED) / PADDED;
}

/* Highest bin inside the searched band, and once samples have been merged not further out than
 * where the tone can have been. */
static double coarse(struct dsp_coherent *c)
{
  const double *bins = dsp_fft64_buffer(c->fft);
  const double rate_hz = sample_rate(c);
  double best = -1.0;
  double best_cycles = 0.0;
  transform(c);
  for (size_t k = 0; k < PADDED; k++) {
    const double cycles = bin_cycles(k);
    if (fabs(c->centre_hz + cycles * rate_hz) > c->search_hz)
      continue;
    if (c->factor > 1 && fabs(cycles) > 0.125)
      continue;
    if (power(bins + 2 * k) > best) {
      best = power(bins + 2 * k);
      best_cycles = cycles;
    }
  }
  return best_cycles;
}

/* S_j = sum of u^j z exp(-2 pi i f t), u = t from the middle of the record. */
static void moments(const struct dsp_coherent *c, double cycles, double s[3][2])
{
  const double half = ((double)c->count - 1.0) / 2.0;
  memset(s, 0, 6 * sizeof(double));
  for (size_t m = 0; m < c->count; m++) {
    const double u = (double)m - half;
    double z[2] = {c->samples[2 * m], c->samples[2 * m + 1]};
    turn(z, -cycles * u);
    for (int part = 0; part < 2; part++) {
      s[0][part] += z[part];
      s[1][part] += u * z[part];
      s[2][part] += u * u * z[part];
    }
  }
}

/* Derivatives of |S_0|^2 by the angular frequency per sample: S_0' = -i S_1, S_0'' = -S_2. */
static double refine(const struct dsp_coherent *c, double cycles, double amplitude[2])
{
  double s[3][2];
  for (int step = 0; step < NEWTON_STEPS; step++) {
    moments(c, cycles, s);
    const double slope = 2.0 * (s[0][0] * s[1][1] - s[0][1] * s[1][0]);
    const double bend = 2.0 * (power(s[1]) - s[0][0] * s[2][0] - s[0][1] * s[2][1]);
    if (!(bend < 0.0))
      break;
    cycles -= slope / bend / TWO_PI;
  }
  moments(c, cycles, s);
  amplitude[0] = s[0][0] / (double)c->count;
  amplitude[1] = s[0][1] / (double)c->count;
  return cycles;
}

/* Mean power of the bins within `reach` cycles of the tone. */
static double mean_power(const double *bins, double cycles, double reach)
{
  double sum = 0.0;
  size_t n = 0;
  for (size_t k = 0; k < PADDED; k++)
    if (fabs(remainder(bin_cycles(k) - cycles, 1.0)) <= reach) {
      sum += power(bins + 2 * k);
      n++;
    }
  return n > 0 ? sum / (double)n : 0.0;
}

/* Noise from what is left without the tone, which is put back afterwards. */
static void measure_noise(struct dsp_coherent *c, double cycles, const double amplitude[2],
                          struct dsp_coherent_fit *fit)
{
  const double half = ((double)c->count - 1.0) / 2.0;
  double *bins = dsp_fft64_buffer(c->fft);
  memset(bins, 0, 2 * PADDED * sizeof *bins);
  for (size_t m = 0; m < c->count; m++) {
    double tone[2] = {amplitude[0], amplitude[1]};
    turn(tone, cycles * ((double)m - half));
    bins[2 * m] = c->samples[2 * m] - tone[0];
    bins[2 * m + 1] = c->samples[2 * m + 1] - tone[1];
  }
  dsp_fft64_run(c->fft);
  const double cell = 1.0 / (double)c->count; /* in cycles per sample */
  const double reach = fmin(c->noise_hz / sample_rate(c), c->factor > 1 ? 0.25 : 0.5);
  const double near = fmin(near_cells * cell, reach);
  const double per_hertz = 1.0 / ((double)c->count * sample_rate(c));
  fit->noise_cells = fmax(1.0, 2.0 * reach / cell - fitted_cells);
  fit->noise_density = mean_power(bins, cycles, reach) * per_hertz *
                       (fit->noise_cells + fitted_cells) / fit->noise_cells;
  fit->near_density =
      mean_power(bins, cycles, near) * per_hertz * near_cells / (near_cells - fitted_cells / 2.0);
}

static void state_uncertainty(struct dsp_coherent_fit *fit, double rate_hz)
{
  const double t = fit->record_s;
  /* samples are single precision: without other noise, their rounding is left */
  const double rounding = fit->amplitude * 0x1p-24;
  fit->noise_density = fmax(fit->noise_density, rounding * rounding / rate_hz);
  const bool wanders = fit->near_density > wandering * fit->noise_density;
  const double density = wanders ? fit->near_density : fit->noise_density;
  fit->energy = fit->amplitude * fit->amplitude * t / fit->noise_density;
  fit->amplitude_uncertainty = sqrt(density / (2.0 * t));
  fit->frequency_uncertainty_hz =
      sqrt(6.0 * density / (fit->amplitude * fit->amplitude * t * t * t)) / TWO_PI;
}

enum sc_error dsp_coherent_result(struct dsp_coherent *coherent, struct dsp_coherent_fit *fit)
{
  struct dsp_coherent *c = coherent;
  if (c->count < DSP_COHERENT_SHORTEST)
    return SC_UNSUPPORTED;
  double amplitude[2];
  const double cycles = refine(c, coarse(c), amplitude);
  const double rate_hz = sample_rate(c);
  fit->record_s = (double)c->count / rate_hz;
  fit->frequency_hz = c->centre_hz + cycles * rate_hz;
  fit->amplitude = sqrt(power(amplitude));
  const double middle_frame = (middle(c, 0) + middle(c, c->count - 1)) / 2.0;
  const double turns = fit->frequency_hz * middle_frame / c->base_rate_hz;
  /* the samples were turned back by centre_hz from the first frame on */
  const double back = c->centre_hz * middle_frame / c->base_rate_hz;
  fit->phase_rad = remainder(atan2(amplitude[1], amplitude[0]) +
                                 TWO_PI * (remainder(back, 1.0) - remainder(turns, 1.0)),
                             TWO_PI);
  measure_noise(c, cycles, amplitude, fit);
  state_uncertainty(fit, c->base_rate_hz);
  return SC_OK;
}

static void compress(struct dsp_coherent *c)
{
  double amplitude[2];
  const double step_hz = refine(c, coarse(c), amplitude) * sample_rate(c);
  for (size_t m = 0; m < c->count; m++)
    turn(c->samples + 2 * m, -step_hz * middle(c, m) / c->base_rate_hz);
  for (size_t m = 0; m < c->count / 2; m++)
    for (size_t part = 0; part < 2; part++)
      c->samples[2 * m + part] = (c->samples[4 * m + part] + c->samples[4 * m + 2 + part]) / 2.0;
  c->centre_hz += step_hz;
  c->count /= 2;
  c->factor *= 2;
}

void dsp_coherent_feed(struct dsp_coherent *coherent, const float *in, size_t frames)
{
  struct dsp_coherent *c = coherent;
  for (size_t n = 0; n < frames; n++) {
    double z[2] = {in[2 * n], in[2 * n + 1]};
    if (c->factor > 1)
      turn(z, -c->centre_hz * (double)c->frames / c->base_rate_hz);
    c->sum[0] += z[0];
    c->sum[1] += z[1];
    c->frames++;
    if (++c->summed < c->factor)
      continue;
    c->samples[2 * c->count] = c->sum[0] / (double)c->factor;
    c->samples[2 * c->count + 1] = c->sum[1] / (double)c->factor;
    c->sum[0] = c->sum[1] = 0.0;
    c->summed = 0;
    if (++c->count == DSP_COHERENT_MEMORY)
      compress(c);
  }
}
