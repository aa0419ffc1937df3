/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The walk in slices of 40 ms, each turned back by the tone, and a fit over all of them.
 *
 * Sent are exp(j phi/2) on the left and exp(-j phi/2) on the right. Whatever a linear way makes of
 * them is p exp(j phi/2) + q exp(-j phi/2) in each output. Half the sum of equal ones has p = q and
 * the level |cos(phi/2)|; in a left channel alone q is what leaks. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "measure/audio_walk.h"

#include <math.h>

#define PI 3.1415926535897932384626433832795

enum { SLICES_MAX = 640 };
/* Slices under a Hann window, half overlapping: 16 cycles of the tone and more, so its image at
 * twice the frequency is down by 100 dB. */
static const double slice_s = 0.04;
/* The slices' noise is correlated by 1/6 to either side, which adds as much to a sum's variance. */
static const double overlap_variance = 1 + 2.0 / 6;
/* Near the null a level says nothing of the law. */
static const double least_cosine = 0.1;

struct slices {
  size_t count;
  double phi[SLICES_MAX];
  double complex z[AUDIO_WALKS][SLICES_MAX];
};

static void cut_slice(const float *samples, size_t from, size_t length, double turn,
                      double complex z[2])
{
  double sums[4] = {0};
  for (size_t i = 0; i < length; i++) {
    const double window = 1 - cos(2 * PI * ((double)i + 0.5) / (double)length);
    const double angle = turn * (double)(from + i);
    const double re = window * cos(angle), im = -window * sin(angle);
    const double left = (double)samples[2 * (from + i)];
    const double right = (double)samples[2 * (from + i) + 1];
    sums[0] += left * re;
    sums[1] += left * im;
    sums[2] += right * re;
    sums[3] += right * im;
  }
  z[0] = 2 * (sums[0] + I * sums[1]) / (double)length;
  z[1] = 2 * (sums[2] + I * sums[3]) / (double)length;
}

static void cut(const float *samples, size_t frames, double rate_hz, double hz, double clock,
                double from_s, struct slices *slices)
{
  const size_t length = (size_t)(slice_s * rate_hz), hop = length / 2;
  slices->count = 0;
  for (size_t from = 0; from + length <= frames && slices->count < SLICES_MAX; from += hop) {
    const size_t m = slices->count++;
    const double middle_s = ((double)from + (double)length / 2) / rate_hz;
    double complex z[2];
    cut_slice(samples, from, length, 2 * PI * hz / rate_hz, z);
    slices->phi[m] = sc_sequence_walk_rad(from_s + middle_s / clock);
    slices->z[AUDIO_WALK_LEFT][m] = z[0];
    slices->z[AUDIO_WALK_RIGHT][m] = z[1];
    slices->z[AUDIO_WALK_SUM][m] = (z[0] + z[1]) / 2;
  }
}

/* Least squares: the two normal equations. */
static void fit(const struct slices *slices, int which, struct audio_walk *walk)
{
  const double complex *z = slices->z[which];
  const double n = (double)slices->count;
  double complex square = 0, with_p = 0, with_q = 0;
  for (size_t m = 0; m < slices->count; m++) {
    const double complex u = cexp(I * slices->phi[m] / 2);
    square += u * u;
    with_p += z[m] * conj(u);
    with_q += z[m] * u;
  }
  const double determinant = n * n - creal(square * conj(square));
  walk->p[which] = (n * with_p - conj(square) * with_q) / determinant;
  walk->q[which] = (n * with_q - square * with_p) / determinant;
  double rest = 0;
  for (size_t m = 0; m < slices->count; m++) {
    const double complex u = cexp(I * slices->phi[m] / 2);
    const double complex r = z[m] - walk->p[which] * u - walk->q[which] * conj(u);
    rest += creal(r * conj(r));
  }
  walk->variance[which] = overlap_variance * rest / (2 * (n - 2)) * n / determinant;
}

static double law_departure_db(const struct slices *slices, int which,
                               const struct audio_walk *walk)
{
  const double top = cabs(walk->p[which]) + cabs(walk->q[which]);
  double largest = 0;
  for (size_t m = 0; m < slices->count; m++) {
    const double law = fabs(cos(slices->phi[m] / 2));
    if (law < least_cosine)
      continue;
    const double departure = 20 * log10(cabs(slices->z[which][m]) / (top * law) + 1e-30);
    largest = fmax(largest, fabs(departure));
  }
  return largest;
}

static double phase_departure(const struct slices *slices, double sign)
{
  double largest = 0;
  for (size_t m = 0; m < slices->count; m++) {
    const double complex between = slices->z[AUDIO_WALK_LEFT][m] *
                                   conj(slices->z[AUDIO_WALK_RIGHT][m]) *
                                   cexp(-I * sign * slices->phi[m]);
    largest = fmax(largest, fabs(carg(between)));
  }
  return largest;
}

void audio_walk_fit(const float *samples, size_t frames, double rate_hz, double hz, double clock,
                    double from_s, struct audio_walk *walk)
{
  struct slices slices;
  cut(samples, frames, rate_hz, hz, clock, from_s, &slices);
  for (int which = 0; which < AUDIO_WALKS; which++) {
    fit(&slices, which, walk);
    walk->law_db[which] = law_departure_db(&slices, which, walk);
  }
  walk->phase_rad[0] = phase_departure(&slices, 1);
  walk->phase_rad[1] = phase_departure(&slices, -1);
}
