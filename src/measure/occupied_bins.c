/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The noise of a discriminator under a spectrum, and what stands out of it. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "measure/occupied_bins.h"

#include "common/kernel.h"
#include "dsp/gamma.h"

#include <math.h>
#include <string.h>

enum {
  LENGTH = OCCUPIED_LENGTH,
  HALF = OCCUPIED_HALF,
  BESIDE = OCCUPIED_BESIDE,
  WIDE = 12,
  STRIDE = 6,
  NEAR = 2
};

static const double top_hz = 101e3;  /* nothing of a composite is above */
static const double always_hz = 5e3; /* the noise below does not matter */
static const double quiet_from_hz = 20e3;
static const double quiet_to_hz = 90e3;
static const double quiet_share = 0.1;
static const double quiet_sigma = 1.28; /* below the mean, of that quantile */
static const double pairs_averaged = 20.0;
static const double looks_of_pair = 1.5; /* the two overlap by half */
static const double bins_per_look = 2.5; /* for the window */
/* That noise passes for more, in one bin of one pair: on the average, for the moment. */
static const double false_average = 1e-10;
static const double false_moment = 1e-12;

void occupied_bins_init(struct occupied_bins *bins, double rate_hz)
{
  bins->rate_hz = rate_hz;
  bins->bin_hz = rate_hz / LENGTH;
  bins->top = (size_t)fmin(HALF - 1 - BESIDE, top_hz / bins->bin_hz);
  bins->reach = bins->top + WIDE < HALF - 1 ? bins->top + WIDE : HALF - 1;
  occupied_bins_reset(bins);
}

void occupied_bins_reset(struct occupied_bins *bins)
{
  memset(bins->mean, 0, sizeof bins->mean);
  bins->pairs = bins->noise = 0.0;
  bins->taken_pairs = bins->taken_squares = bins->taken_bins = bins->most_squares = 0.0;
  bins->highest = 0;
}

size_t occupied_bins_last(const struct occupied_bins *bins)
{
  return bins->top + BESIDE;
}

/* Mean over the bins within `reach` of k, by running sums. */
static float around(const float *sums, size_t k, size_t reach)
{
  return (sums[k + reach + 1] - sums[k - reach]) / (float)(2 * reach + 1);
}

static void add_up(struct occupied_bins *bins)
{
  double mean = 0.0;
  double power = 0.0;
  bins->mean_sums[0] = bins->power_sums[0] = 0.0F;
  for (size_t k = 0; k <= bins->reach; k++) {
    mean += bins->mean[k];
    power += bins->power[k];
    bins->mean_sums[k + 1] = (float)mean;
    bins->power_sums[k + 1] = (float)power;
  }
}

static double looks(const struct occupied_bins *bins)
{
  return looks_of_pair * fmin(bins->pairs, pairs_averaged);
}

SC_KERNEL
static int count_below(const float *restrict values, size_t count, float most)
{
  int below = 0;
  for (size_t i = 0; i < count; i++)
    below += values[i] < most;
  return below;
}

/* The noise under a tenth of the bins, by halving. Neighbours share what they are averaged over, so
 * a few of them do. */
static void find_noise(struct occupied_bins *bins)
{
  const size_t from = (size_t)fmax(WIDE, quiet_from_hz / bins->bin_hz);
  const size_t to = (size_t)(fmin(quiet_to_hz, 0.45 * bins->rate_hz) / bins->bin_hz);
  float ratio[HALF / STRIDE + 1];
  size_t count = 0;
  float low = 0.0F;
  float high = 0.0F;
  for (size_t k = from; k < to; k += STRIDE) {
    ratio[count] = around(bins->mean_sums, k, WIDE) / (float)(k * k);
    high = fmaxf(high, ratio[count++]);
  }
  for (int step = 0; step < 40; step++) {
    const float middle = (low + high) / 2.0F;
    if ((double)count_below(ratio, count, middle) < quiet_share * (double)count)
      low = middle;
    else
      high = middle;
  }
  bins->noise = (double)high /
                fmax(0.5, 1.0 - quiet_sigma / sqrt((2 * WIDE + 1) / bins_per_look * looks(bins)));
}

/* Of both blocks: bin k and its mirror, of bins 1 to `last`. */
SC_KERNEL
static void add_pair(const float *restrict z, size_t last, float share, float *restrict power,
                     float *restrict mean)
{
  const float *const mirror = z + 2 * LENGTH;
  for (size_t k = 1; k <= last; k++) {
    const float re = z[2 * k], im = z[2 * k + 1];
    power[k] = re * re + im * im;
  }
  for (size_t k = 1; k <= last; k++) {
    const float re = *(mirror - 2 * k), im = *(mirror - 2 * k + 1);
    power[k] += re * re + im * im;
    mean[k] += share * (power[k] - mean[k]);
  }
}

static void add_power(struct occupied_bins *bins, const float *z)
{
  bins->pairs += 1.0;
  const float share = (float)fmax(1.0 / bins->pairs, 1.0 / pairs_averaged);
  add_pair(z, bins->reach, share, bins->power, bins->mean);
  bins->power[0] = 2.0F * (z[0] * z[0] + z[1] * z[1]);
  bins->mean[0] += share * (bins->power[0] - bins->mean[0]);
}

/* They change while more and more pairs are averaged. */
static void set_thresholds(struct occupied_bins *bins)
{
  const double wide = 2 * WIDE + 1;
  const double few = 2 * NEAR + 1;
  if (bins->pairs > pairs_averaged)
    return;
  bins->over.alone = dsp_threshold(false_average, looks(bins));
  bins->over.wide = wide * dsp_threshold(false_average, wide / bins_per_look * looks(bins));
  bins->over.moment = dsp_threshold(false_moment, looks_of_pair);
  bins->over.near = few * dsp_threshold(false_moment, few / bins_per_look * looks_of_pair);
}

SC_KERNEL
static void mark(const float *restrict mean, const float *restrict power,
                 const float *restrict mean_sums, const float *restrict power_sums, size_t from,
                 size_t to, const struct occupied_thresholds *over, double noise,
                 float *restrict hit)
{
  const float over_alone = (float)(over->alone * noise), over_wide = (float)(over->wide * noise);
  const float over_moment = (float)(over->moment * noise), over_near = (float)(over->near * noise);
  for (size_t k = from; k <= to; k++) {
    const float square = (float)(int)k * (float)(int)k;
    const float wide = mean_sums[k + WIDE + 1] - mean_sums[k - WIDE];
    const float near = power_sums[k + NEAR + 1] - power_sums[k - NEAR];
    const float alone = (mean[k] > over_alone * square) | (power[k] > over_moment * square);
    const float beside = (wide > over_wide * square) | (near > over_near * square);
    hit[k] = alone + beside;
  }
}

SC_KERNEL
static void keep_beside(const float *restrict hit, size_t to, float *restrict kept)
{
  for (size_t k = 0; k <= to; k++) {
    float sum = 0.0F;
    for (size_t i = 0; i <= 2 * BESIDE; i++)
      sum += hit[k + i];
    kept[k] = sum > 0.0F ? 1.0F : 0.0F;
  }
}

static void choose(struct occupied_bins *bins)
{
  const size_t always = (size_t)fmax(WIDE, always_hz / bins->bin_hz);
  float *const hit = bins->hit + BESIDE;
  add_up(bins);
  find_noise(bins);
  set_thresholds(bins);
  for (size_t k = 0; k <= always; k++)
    hit[k] = 1.0F;
  mark(bins->mean, bins->power, bins->mean_sums, bins->power_sums, always + 1, bins->reach - WIDE,
       &bins->over, bins->noise, hit);
  keep_beside(bins->hit, occupied_bins_last(bins), bins->kept);
}

static void count_kept(struct occupied_bins *bins)
{
  double squares = 0.0;
  for (size_t k = 1; k <= occupied_bins_last(bins); k++) {
    bins->highest = bins->kept[k] > 0.0F && k > bins->highest ? k : bins->highest;
    bins->taken_bins += bins->kept[k];
    squares += bins->kept[k] * (double)k * (double)k;
  }
  bins->taken_pairs += 1.0;
  bins->taken_squares += squares;
  bins->most_squares = fmax(bins->most_squares, squares);
}

void occupied_bins_choose(struct occupied_bins *bins, const float *z)
{
  add_power(bins, z);
  choose(bins);
  count_kept(bins);
}
