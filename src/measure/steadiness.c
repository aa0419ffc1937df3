/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Blocks of 256 frames (1.1 to 1.3 s of a pilot's series) are weighed with the four-term
 * Blackman-Harris window, whose side lobes are 92 dB down (F. J. Harris, Proc. IEEE 66, 1978), and
 * transformed. In each, the highest line is separated from the power beside it. Modulation so slow
 * that it stays within the line's main lobe shows as a loss of coherence between the parts of a
 * block, and if it is slower still, as a scatter of frequency or power from block to block. */
#include "measure/steadiness.h"

#include "dsp/fft.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define TWO_PI 6.283185307179586476925286766559

enum { BLOCK = 256, PADDED = 1024, SHORTEST = 32, PART = 16 };

static const double window[] = {0.35875, 0.48829, 0.14128, 0.01168};
static const double lobe_cells = 4.0; /* of the main lobe, on either side */
/* Common practice, no source: side lines of a steady tone are far below these. */
static const double excess_limit = 0.02; /* -17 dB: 20 % AM, or 0.2 rad of jitter */
static const double loss_limit = 0.02;   /* the same */
static const double scatter_limit_hz = 0.3;
static const double fading_limit = 0.08;
static const double no_chance = 5.0; /* times the standard deviation that noise alone makes */

struct measure_steadiness {
  struct measure_steadiness_settings settings;
  struct dsp_fft64 *fft;
  double block[2 * BLOCK];
  size_t filled;
  size_t blocks;
  /* sums over blocks */
  double line, line_square, off, noise_density, off_width_hz, seconds;
  double frequency, frequency_square, loss;
  struct parts {
    double line, off, noise_density, frequency_hz, off_width_hz, loss;
  } last; /* block */
  size_t last_frames;
};

enum sc_error measure_steadiness_create(const struct measure_steadiness_settings *settings,
                                        struct measure_steadiness **steadiness)
{
  struct measure_steadiness *s = calloc(1, sizeof *s);
  if (s == NULL)
    return SC_NO_MEMORY;
  s->settings = *settings;
  const enum sc_error error = dsp_fft64_create(PADDED, DSP_PLAN_ESTIMATE, &s->fft);
  if (error != SC_OK) {
    free(s);
    return error;
  }
  *steadiness = s;
  return SC_OK;
}

void measure_steadiness_reset(struct measure_steadiness *steadiness)
{
  struct measure_steadiness *s = steadiness;
  s->filled = s->blocks = s->last_frames = 0;
  s->line = s->line_square = s->off = s->noise_density = s->off_width_hz = s->seconds = 0.0;
  s->frequency = s->frequency_square = s->loss = 0.0;
}

void measure_steadiness_destroy(struct measure_steadiness *steadiness)
{
  if (steadiness == NULL)
    return;
  dsp_fft64_destroy(steadiness->fft);
  free(steadiness);
}

static double bin_hz(const struct measure_steadiness *s, size_t k)
{
  return (k < PADDED / 2 ? (double)k : (double)k - PADDED) * s->settings.rate_hz / PADDED;
}

/* Powers of the bins in place of their real parts; returns the window's sum. */
static double transform(struct measure_steadiness *s, size_t n, double *square_sum)
{
  double *bins = dsp_fft64_buffer(s->fft);
  double sum = 0.0;
  *square_sum = 0.0;
  memset(bins, 0, 2 * PADDED * sizeof *bins);
  for (size_t i = 0; i < n; i++) {
    const double turn = TWO_PI * ((double)i + 0.5) / (double)n;
    const double weight = window[0] - window[1] * cos(turn) + window[2] * cos(2.0 * turn) -
                          window[3] * cos(3.0 * turn);
    bins[2 * i] = weight * s->block[2 * i];
    bins[2 * i + 1] = weight * s->block[2 * i + 1];
    sum += weight;
    *square_sum += weight * weight;
  }
  dsp_fft64_run(s->fft);
  for (size_t k = 0; k < PADDED; k++)
    bins[2 * k] = bins[2 * k] * bins[2 * k] + bins[2 * k + 1] * bins[2 * k + 1];
  return sum;
}

static size_t highest(const struct measure_steadiness *s, const double *bins)
{
  size_t best = 0;
  for (size_t k = 0; k < PADDED; k++)
    if (fabs(bin_hz(s, k)) <= s->settings.search_hz && bins[2 * k] > bins[2 * best])
      best = k;
  return best;
}

/* Between the bins: a parabola through the logarithms, which is good to a hundredth of a cell. */
static double peak_hz(const struct measure_steadiness *s, const double *bins, size_t k)
{
  const double left = log(bins[2 * ((k + PADDED - 1) % PADDED)] + 1e-300);
  const double right = log(bins[2 * ((k + 1) % PADDED)] + 1e-300);
  const double middle = log(bins[2 * k] + 1e-300);
  const double bend = left - 2.0 * middle + right;
  const double step = bend < 0.0 ? 0.5 * (left - right) / bend : 0.0;
  return bin_hz(s, k) + step * s->settings.rate_hz / PADDED;
}

static struct parts take_apart(struct measure_steadiness *s, size_t n)
{
  double square_sum;
  const double sum = transform(s, n, &square_sum);
  const double *bins = dsp_fft64_buffer(s->fft);
  const size_t peak = highest(s, bins);
  const double lobe_hz = lobe_cells * s->settings.rate_hz / (double)n;
  const double bin_width_hz = s->settings.rate_hz / PADDED;
  struct parts parts = {.line = bins[2 * peak] / (sum * sum),
                        .frequency_hz = peak_hz(s, bins, peak)};
  double noise = 0.0;
  double noise_width_hz = 0.0;
  for (size_t k = 0; k < PADDED; k++) {
    const double hz = fabs(bin_hz(s, k));
    if (fabs(bin_hz(s, k) - parts.frequency_hz) <= lobe_hz || hz > s->settings.noise_hz)
      continue;
    if (hz <= s->settings.search_hz) {
      parts.off += bins[2 * k] / (PADDED * square_sum);
      parts.off_width_hz += bin_width_hz;
    } else {
      noise += bins[2 * k] / (PADDED * square_sum);
      noise_width_hz += bin_width_hz;
    }
  }
  parts.noise_density = noise_width_hz > 0.0 ? noise / noise_width_hz : 0.0;
  return parts;
}

/* Share of the line's power that its short parts have and the whole block has not. */
static double coherence_loss(const struct measure_steadiness *s, size_t n, double frequency_hz)
{
  const double step = -TWO_PI * frequency_hz / s->settings.rate_hz;
  double whole[2] = {0.0, 0.0};
  double parts = 0.0;
  const size_t count = n / PART;
  for (size_t p = 0; p < count; p++) {
    double sum[2] = {0.0, 0.0};
    for (size_t i = p * PART; i < (p + 1) * PART; i++) {
      const double c = cos(step * (double)i);
      const double d = sin(step * (double)i);
      sum[0] += s->block[2 * i] * c - s->block[2 * i + 1] * d;
      sum[1] += s->block[2 * i] * d + s->block[2 * i + 1] * c;
    }
    whole[0] += sum[0];
    whole[1] += sum[1];
    parts += sum[0] * sum[0] + sum[1] * sum[1];
  }
  return 1.0 - (whole[0] * whole[0] + whole[1] * whole[1]) / ((double)count * parts);
}

/* `times`: 1, or -1 to take it back. */
static void count(struct measure_steadiness *s, const struct parts *parts, size_t n, double times)
{
  s->line += times * parts->line;
  s->line_square += times * parts->line * parts->line;
  s->off += times * parts->off;
  s->noise_density += times * parts->noise_density;
  s->off_width_hz += times * parts->off_width_hz;
  s->seconds += times * (double)n / s->settings.rate_hz;
  s->loss += times * parts->loss;
  s->frequency += times * parts->frequency_hz;
  s->frequency_square += times * parts->frequency_hz * parts->frequency_hz;
}

static void add(struct measure_steadiness *s, size_t n)
{
  s->last = take_apart(s, n);
  s->last.loss = coherence_loss(s, n, s->last.frequency_hz);
  s->last_frames = n;
  s->blocks++;
  count(s, &s->last, n, 1.0);
}

void measure_steadiness_drop(struct measure_steadiness *steadiness, size_t frames)
{
  struct measure_steadiness *s = steadiness;
  if (frames <= s->filled) {
    s->filled -= frames;
    return;
  }
  if (s->last_frames > 0) {
    s->blocks--;
    count(s, &s->last, s->last_frames, -1.0);
    s->last_frames = 0;
  }
  s->filled = 0;
}

void measure_steadiness_feed(struct measure_steadiness *steadiness, const float *series,
                             size_t frames)
{
  struct measure_steadiness *s = steadiness;
  for (size_t n = 0; n < frames; n++) {
    s->block[2 * s->filled] = series[2 * n];
    s->block[2 * s->filled + 1] = series[2 * n + 1];
    if (++s->filled < BLOCK)
      continue;
    add(s, BLOCK);
    s->filled = 0;
  }
}

void measure_steadiness_break(struct measure_steadiness *steadiness)
{
  const size_t worthwhile = steadiness->blocks > 0 ? BLOCK / 2 : SHORTEST;
  if (steadiness->filled >= worthwhile)
    add(steadiness, steadiness->filled);
  steadiness->filled = 0;
}

static void judge(const struct measure_steadiness *s, struct measure_steadiness_result *result)
{
  const double blocks = (double)s->blocks;
  const double line = s->line / blocks;
  const double density = s->noise_density / blocks;
  const double noise = density * s->off_width_hz / blocks;
  const double noise_sd = density * sqrt(s->off_width_hz / blocks / s->seconds);
  const double excess = s->off / blocks - noise;
  const double frequency = s->frequency / blocks;
  result->blocks = s->blocks;
  result->off_ratio = s->off / blocks / line;
  result->excess_ratio = fmax(0.0, excess) / line;
  result->scatter_hz = sqrt(fmax(0.0, s->frequency_square / blocks - frequency * frequency));
  result->fading = fmax(0.0, s->line_square / blocks / (line * line) - 1.0);
  result->loss = s->loss / blocks;
  /* what noise alone makes of a steady line */
  const double block_s = s->seconds / blocks;
  const double energy = line * block_s / density;
  const double parts = block_s * s->settings.rate_hz / PART;
  const double chance_loss = fmin(1.0, parts / energy);
  const double chance_hz = 2.0 * sqrt(6.0 / energy) / (TWO_PI * block_s);
  const bool smeared =
      result->loss - chance_loss > fmax(loss_limit, no_chance * chance_loss / sqrt(parts * blocks));
  result->modulated = (excess > excess_limit * line && excess > no_chance * noise_sd) || smeared ||
                      result->scatter_hz > fmax(scatter_limit_hz, no_chance * chance_hz);
  result->fades = result->fading > fmax(fading_limit, no_chance * no_chance * 3.0 / energy);
}

void measure_steadiness_judge(struct measure_steadiness *steadiness,
                              struct measure_steadiness_result *result)
{
  memset(result, 0, sizeof *result);
  if (steadiness->blocks == 0) {
    if (steadiness->filled < SHORTEST)
      return;
    /* for this look only: the block may yet grow */
    const size_t filled = steadiness->filled;
    add(steadiness, filled);
    judge(steadiness, result);
    measure_steadiness_reset(steadiness);
    steadiness->filled = filled;
    return;
  }
  judge(steadiness, result);
}
