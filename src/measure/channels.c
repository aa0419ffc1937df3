/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Averaged spectra of left and right and their cross spectrum, both channels in one transform.
 *
 * A steady tone is a peak that stands 30 dB above its surroundings, has nothing of its height
 * beside it, and whose power does not change from block to block. The ratio and the phase between
 * the channels at its highest bin do not depend on where between the bins it stands. Its frequency
 * is the phase's advance from block to block, which is known but for whole turns; over all of them
 * it is known as well as between the first and the last. */
#include "measure/channels.h"

#include "common/kernel.h"
#include "dsp/fft.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define TWO_PI 6.283185307179586476925286766559

enum { BLOCK = 8192, HALF = BLOCK / 2, AROUND_FROM = 6, AROUND_TO = 14, LOBE = 5 };

static const double lowest_hz = 40.0;
static const double highest_hz = 15000.0;
static const double prominence = 1e3; /* 30 dB over the bins beside the main lobe */
static const double strongest_share =
    1e-5;                            /* weaker ones than that of the strongest do not count */
static const double steady = 0.02;   /* relative variance of the power from block to block */
static const double rounding = 1e-6; /* radians, of phases in single precision */

struct measure_channels {
  double rate_hz;
  struct dsp_fft *fft;
  float window[BLOCK], block[2 * BLOCK];
  size_t filled;
  double blocks;
  double left[HALF], right[HALF], cross[2 * HALF], square[HALF];
  /* Pairs of blocks that follow each other: the products of both, one conjugate, in both channels
   * together, and the means of their powers. */
  double pairs;
  double advance[2 * HALF], common[HALF];
  bool follows; /* the next block does on `last`, which has left and right of each bin */
  float last[4 * HALF];
};

enum sc_error measure_channels_create(double rate_hz, struct measure_channels **channels)
{
  struct measure_channels *c = calloc(1, sizeof *c);
  if (c == NULL)
    return SC_NO_MEMORY;
  c->rate_hz = rate_hz;
  const enum sc_error error = dsp_fft_create(BLOCK, DSP_PLAN_ESTIMATE, &c->fft);
  if (error != SC_OK) {
    measure_channels_destroy(c);
    return error;
  }
  /* Blackman-Harris, 4 terms, 92 dB (Harris 1978) */
  for (size_t i = 0; i < BLOCK; i++) {
    const double x = TWO_PI * (double)i / BLOCK;
    c->window[i] =
        (float)(0.35875 - 0.48829 * cos(x) + 0.14128 * cos(2.0 * x) - 0.01168 * cos(3.0 * x));
  }
  *channels = c;
  return SC_OK;
}

void measure_channels_reset(struct measure_channels *channels)
{
  struct measure_channels *c = channels;
  measure_channels_cut(c);
  c->blocks = c->pairs = 0.0;
  memset(c->left, 0, sizeof c->left);
  memset(c->right, 0, sizeof c->right);
  memset(c->cross, 0, sizeof c->cross);
  memset(c->square, 0, sizeof c->square);
  memset(c->advance, 0, sizeof c->advance);
  memset(c->common, 0, sizeof c->common);
}

void measure_channels_cut(struct measure_channels *channels)
{
  channels->filled = 0;
  channels->follows = false;
}

void measure_channels_destroy(struct measure_channels *channels)
{
  if (channels == NULL)
    return;
  dsp_fft_destroy(channels->fft);
  free(channels);
}

/* Left is the even part of the transform of left + j right, right the odd part over j; `now` has
 * both of each bin. */
SC_KERNEL
static void take_apart(const float *restrict bins, float *restrict now)
{
  const float *const mirror = bins + 2 * BLOCK;
  for (size_t k = 1; k < HALF; k++) {
    const float a = bins[2 * k], b = bins[2 * k + 1];
    const float e = *(mirror - 2 * k), f = *(mirror - 2 * k + 1);
    now[4 * k] = 0.5F * (a + e);
    now[4 * k + 1] = 0.5F * (b - f);
    now[4 * k + 2] = 0.5F * (b + f);
    now[4 * k + 3] = 0.5F * (e - a);
  }
}

SC_KERNEL
static void add_powers(const float *restrict now, double *restrict left, double *restrict right,
                       double *restrict cross, double *restrict square)
{
  for (size_t k = 1; k < HALF; k++) {
    const double a = now[4 * k], b = now[4 * k + 1], c = now[4 * k + 2], d = now[4 * k + 3];
    const double l = a * a + b * b, r = c * c + d * d;
    left[k] += l;
    right[k] += r;
    cross[2 * k] += a * c + b * d;
    cross[2 * k + 1] += b * c - a * d;
    square[k] += (l + r) * (l + r);
  }
}

SC_KERNEL
static void add_advances(const float *restrict now, const float *restrict last,
                         double *restrict advance, double *restrict common)
{
  for (size_t k = 1; k < HALF; k++) {
    const double a = now[4 * k], b = now[4 * k + 1], c = now[4 * k + 2], d = now[4 * k + 3];
    const double e = last[4 * k], f = last[4 * k + 1], g = last[4 * k + 2], h = last[4 * k + 3];
    advance[2 * k] += a * e + b * f + c * g + d * h;
    advance[2 * k + 1] += b * e - a * f + d * g - c * h;
    common[k] += 0.5 * (a * a + b * b + c * c + d * d + e * e + f * f + g * g + h * h);
  }
}

static void end_block(struct measure_channels *c)
{
  float *bins = dsp_fft_buffer(c->fft);
  for (size_t i = 0; i < BLOCK; i++) {
    bins[2 * i] = c->window[i] * c->block[2 * i];
    bins[2 * i + 1] = c->window[i] * c->block[2 * i + 1];
  }
  dsp_fft_run(c->fft);
  float now[4 * HALF];
  take_apart(bins, now);
  add_powers(now, c->left, c->right, c->cross, c->square);
  if (c->follows)
    add_advances(now, c->last, c->advance, c->common);
  memcpy(c->last + 4, now + 4, sizeof now - 4 * sizeof *now);
  c->blocks += 1.0;
  c->pairs += c->follows ? 1.0 : 0.0;
  c->follows = true;
  memmove(c->block, c->block + BLOCK, BLOCK * sizeof *c->block);
  c->filled = HALF;
}

void measure_channels_feed(struct measure_channels *channels, const float *in, size_t frames)
{
  struct measure_channels *c = channels;
  while (frames > 0) {
    const size_t room = BLOCK - c->filled;
    const size_t n = frames < room ? frames : room;
    memcpy(c->block + 2 * c->filled, in, 2 * n * sizeof *in);
    c->filled += n;
    if (c->filled == BLOCK)
      end_block(c);
    in += 2 * n;
    frames -= n;
  }
}

/* Mean of a spectrum beside a bin, on both sides of its main lobe; not where a constant stands. */
static double around(const double *power, size_t k)
{
  double sum = 0.0;
  size_t n = 0;
  for (size_t d = AROUND_FROM; d <= AROUND_TO; d++) {
    if (k > d + LOBE) {
      sum += power[k - d];
      n++;
    }
    if (k + d < HALF) {
      sum += power[k + d];
      n++;
    }
  }
  return sum / (double)n;
}

static double both(const struct measure_channels *c, size_t k)
{
  return c->left[k] + c->right[k];
}

static bool is_tone(const struct measure_channels *c, size_t k)
{
  for (size_t d = 1; d <= LOBE; d++)
    if ((k > d && both(c, k - d) > both(c, k)) || (k + d < HALF && both(c, k + d) > both(c, k)))
      return false;
  const double mean = both(c, k) / c->blocks;
  const double variance = c->square[k] / c->blocks - mean * mean;
  return both(c, k) > prominence * (around(c->left, k) + around(c->right, k)) &&
         variance < steady * mean * mean;
}

/* Whole turns from the bin, of which neighbours are half a turn apart. */
static double frequency_of(const struct measure_channels *c, size_t k)
{
  const double turns = atan2(c->advance[2 * k + 1], c->advance[2 * k]) / TWO_PI;
  const double whole = nearbyint((double)k / 2.0 - turns);
  return (turns + whole) * c->rate_hz / HALF;
}

/* Noise turns the ends of the record, and by its square each pair; what the pairs scatter beyond
 * that is the tone's own, from pair to pair. */
static double frequency_uncertainty_of(const struct measure_channels *c, size_t k,
                                       double noise_left, double noise_right)
{
  const double power = both(c, k), n = c->pairs;
  const double own = (c->left[k] * noise_left + c->right[k] * noise_right) / (power * power);
  const double all = (noise_left + noise_right) / power;
  const double kept = hypot(c->advance[2 * k], c->advance[2 * k + 1]) / c->common[k];
  const double wander = 2.0 * (1.0 - kept - all);
  double variance = own / (n * n) + all * all / (2.0 * n) + rounding * rounding;
  if (wander > all)
    variance += wander / n;
  return sqrt(variance) / TWO_PI * c->rate_hz / HALF;
}

static struct measure_channels_tone take(const struct measure_channels *c, size_t k)
{
  /* overlapping blocks: about two thirds of them count */
  const double looks = fmax(1.0, c->blocks / 1.5);
  const double noise_left = around(c->left, k);
  const double noise_right = around(c->right, k);
  struct measure_channels_tone t = {.frequency_hz = frequency_of(c, k),
                                    .frequency_uncertainty_hz =
                                        frequency_uncertainty_of(c, k, noise_left, noise_right),
                                    .left = (c->left[k] - noise_left) / c->blocks,
                                    .right = (c->right[k] - noise_right) / c->blocks};
  t.left_sd =
      sqrt((2.0 * fmax(0.0, t.left) * noise_left / c->blocks + pow(noise_left / c->blocks, 2.0)) /
           looks);
  t.right_sd = sqrt(
      (2.0 * fmax(0.0, t.right) * noise_right / c->blocks + pow(noise_right / c->blocks, 2.0)) /
      looks);
  t.phase_rad = atan2(c->cross[2 * k + 1], c->cross[2 * k]);
  t.phase_uncertainty_rad =
      sqrt((noise_left / c->left[k] + noise_right / c->right[k]) / (2.0 * looks));
  return t;
}

static int by_strength(const void *a, const void *b)
{
  const struct measure_channels_tone *x = a, *y = b;
  const double left = x->left + x->right;
  const double right = y->left + y->right;
  return (left < right) - (left > right);
}

size_t measure_channels_result(const struct measure_channels *channels,
                               struct measure_channels_tone tones[MEASURE_CHANNELS_TONES_MAX])
{
  const struct measure_channels *c = channels;
  size_t count = 0;
  double strongest = 0.0;
  if (!(c->blocks >= 2.0 && c->pairs >= 1.0))
    return 0;
  const size_t last = (size_t)fmin(HALF - AROUND_TO - 1, highest_hz * BLOCK / c->rate_hz + 1.0);
  const size_t first = (size_t)(lowest_hz * BLOCK / c->rate_hz);
  for (size_t k = first; k <= last; k++)
    strongest = fmax(strongest, both(c, k));
  for (size_t k = first; k <= last && count < MEASURE_CHANNELS_TONES_MAX; k++)
    if (both(c, k) > strongest_share * strongest && is_tone(c, k))
      tones[count++] = take(c, k);
  qsort(tones, count, sizeof *tones, by_strength);
  return count;
}
