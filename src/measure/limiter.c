/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/limiter.h"

#include <math.h>

static const double pi = 3.14159265358979323846;
/* Our choices: what a channel filter makes of a corner is within it; and that the pilot is a small
 * part of the composite, as the ends would be its own else. */
static const double stretch_khz = 3.0, least_pilots = 3.0;
static const double least_share = 0.01; /* of the time: less may be a moment of the programme */
static const double margin = 1.25;      /* over what the arcsine law allows */
static const double either_side = 0.25; /* of the stretch's content: both ends are cut off */

struct ends {
  const uint64_t *bin;
  double total;
  long mean;
};

static double counted(const struct ends *ends, long from, long to, int sign)
{
  double sum = 0.0;
  for (long k = from; k < to; k++) {
    const long at = sign > 0 ? ends->mean + k : ends->mean - 1 - k;
    sum += at >= 0 && at < MEASURE_AMPLITUDE_BINS ? (double)ends->bin[at] : 0.0;
  }
  return sum;
}

/* What is in a stretch over what is around it and in it; 0: too little, or on one side alone. */
static double concentration(const struct ends *ends, long from, long width, long around)
{
  const double above = counted(ends, from, from + width, 1);
  const double below = counted(ends, from, from + width, -1);
  const double inside = above + below;
  if (inside < least_share * ends->total || fmin(above, below) < either_side * inside)
    return 0.0;
  const long low = from > around ? from - around : 0, high = from + width + around;
  return inside / (counted(ends, low, high, 1) + counted(ends, low, high, -1));
}

static double middle_khz(const struct ends *ends, long from, long width)
{
  double sum = 0.0, weighted = 0.0;
  for (long k = from; k < from + width; k++) {
    const double here = counted(ends, k, k + 1, 1) + counted(ends, k, k + 1, -1);
    sum += here;
    weighted += here * ((double)k + 0.5);
  }
  return weighted / sum * MEASURE_AMPLITUDE_BIN_KHZ;
}

double measure_limiter_khz(const struct measure_amplitudes *amplitudes, double mean_khz,
                           double pilot_khz, double *width_khz)
{
  struct ends ends = {.bin = amplitudes->bin};
  const long width = lround(stretch_khz / MEASURE_AMPLITUDE_BIN_KHZ), step = width / 10;
  const long around = lround(2.0 * pilot_khz / MEASURE_AMPLITUDE_BIN_KHZ);
  *width_khz = stretch_khz;
  if (!(2.0 * pilot_khz > stretch_khz))
    return 0.0;
  ends.mean = lround(mean_khz / MEASURE_AMPLITUDE_BIN_KHZ) + MEASURE_AMPLITUDE_BINS / 2;
  for (size_t i = 0; i < MEASURE_AMPLITUDE_BINS; i++)
    ends.total += (double)ends.bin[i];
  const double allowed = margin * acos(1.0 - stretch_khz / pilot_khz) / pi;
  double most = allowed;
  long best = -1;
  const long least = lround(least_pilots * pilot_khz / MEASURE_AMPLITUDE_BIN_KHZ);
  for (long from = least; from + width < MEASURE_AMPLITUDE_BINS / 2; from += step) {
    const double here = concentration(&ends, from, width, around);
    if (here > most) {
      most = here;
      best = from;
    }
  }
  return best < 0 ? 0.0 : middle_khz(&ends, best, width);
}
