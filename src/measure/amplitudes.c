/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Histogram of amplitudes, and its end without noise.
 *
 * The largest of m draws of Gaussian noise is about the m-th part's quantile above the mean. Of the
 * frames, those count as draws at the signal's peak that lie no more than 1.5 times the noise below
 * it; the peak follows from the extreme and their number, and they from the peak. A peak that
 * comes once has one draw, and nothing is taken off it. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "measure/amplitudes.h"

#include "common/kernel.h"

#include <math.h>

enum { STEPS = 12, CHUNK = 512 };

static const double near_share = 1.5; /* of the noise: frames this far below are at the peak */
static const double excess_max = 5.0;
static const double median_log = 0.69; /* -log(1/2) */

SC_KERNEL
static void place(const float *restrict khz, size_t frames, int32_t *restrict bin)
{
  const float scale = (float)(1.0 / MEASURE_AMPLITUDE_BIN_KHZ);
  for (size_t n = 0; n < frames; n++) {
    const float at = khz[n] * scale + MEASURE_AMPLITUDE_BINS / 2;
    const float inside = at > 0.0F ? at : 0.0F; /* NAN too */
    bin[n] = (int32_t)(inside < MEASURE_AMPLITUDE_BINS - 1 ? inside : MEASURE_AMPLITUDE_BINS - 1);
  }
}

void measure_amplitudes_add(struct measure_amplitudes *amplitudes, const float *khz, size_t frames)
{
  int32_t bin[CHUNK];
  while (frames > 0) {
    const size_t n = frames < CHUNK ? frames : CHUNK;
    place(khz, n, bin);
    for (size_t i = 0; i < n; i++)
      amplitudes->bin[bin[i]]++;
    khz += n;
    frames -= n;
  }
}

static double bin_khz(size_t i)
{
  return ((double)i + 0.5 - MEASURE_AMPLITUDE_BINS / 2.0) * MEASURE_AMPLITUDE_BIN_KHZ;
}

double measure_amplitudes_beyond(const struct measure_amplitudes *amplitudes, double mean_khz,
                                 double limit_khz)
{
  double beyond = 0.0;
  double all = 0.0;
  for (size_t i = 0; i < MEASURE_AMPLITUDE_BINS; i++) {
    all += (double)amplitudes->bin[i];
    if (fabs(bin_khz(i) - mean_khz) > limit_khz)
      beyond += (double)amplitudes->bin[i];
  }
  return all > 0.0 ? beyond / all : 0.0;
}

/* Where the chance to be beyond is p, of a standard normal variable; by halving. */
static double normal_quantile(double p)
{
  double low = 0.0;
  double high = 9.0;
  for (int i = 0; i < 50; i++) {
    const double middle = (low + high) / 2.0;
    if (0.5 * erfc(middle / sqrt(2.0)) > p)
      low = middle;
    else
      high = middle;
  }
  return low;
}

/* The excess that agrees with the number of draws that it leaves at the peak. */
static double settle(const struct measure_amplitudes *amplitudes, double extreme_khz, double sign,
                     double noise_khz, double per_sample, double excess)
{
  for (int step = 0; step < STEPS; step++) {
    const double from_khz = sign * extreme_khz - (excess + near_share) * noise_khz;
    double count = 0.0;
    for (size_t i = 0; i < MEASURE_AMPLITUDE_BINS; i++)
      if (sign * bin_khz(i) > from_khz)
        count += (double)amplitudes->bin[i];
    const double draws = fmax(1.0, count * per_sample);
    /* the median of the largest of the draws; damped, since the count follows the peak */
    excess += 0.5 * (normal_quantile(fmin(0.5, median_log / draws)) - excess);
  }
  return excess;
}

void measure_amplitudes_excess(const struct measure_amplitudes *amplitudes, double extreme_khz,
                               double sign, double noise_khz, double per_sample,
                               struct measure_excess *excess)
{
  /* a peak that comes often may also pass for a rarer, higher one: the first is taken, and how
   * far the other is from it is in doubt */
  const double least = settle(amplitudes, extreme_khz, sign, noise_khz, per_sample, 0.0);
  const double most = settle(amplitudes, extreme_khz, sign, noise_khz, per_sample, excess_max);
  excess->value = most;
  excess->uncertainty = fabs(most - least) / 2.0;
}
