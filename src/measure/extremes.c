/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Extremes by the parabola through the three samples about each top that may be the highest. */
#include "measure/extremes.h"

#include <math.h>

struct measure_extremes measure_extremes_none(void)
{
  return (struct measure_extremes){-INFINITY, INFINITY};
}

void measure_extremes_widen(struct measure_extremes *to, const struct measure_extremes *by)
{
  to->high = by->high > to->high ? by->high : to->high;
  to->low = by->low < to->low ? by->low : to->low;
}

/* Top of the parabola through three samples whose middle one is the highest. */
static float between_samples(float left, float middle, float right)
{
  const float bend = left - 2.0F * middle + right;
  const float lean = left - right;
  return bend < 0.0F ? middle - lean * lean / (8.0F * bend) : middle;
}

struct measure_extremes measure_extremes_of(const float *x, size_t frames)
{
  struct measure_extremes e = measure_extremes_none();
  for (size_t n = 1; n + 1 < frames; n++) {
    e.high = x[n] > e.high ? x[n] : e.high;
    e.low = x[n] < e.low ? x[n] : e.low;
  }
  /* between samples of a 53 kHz tone at 384 kS/s up to a tenth of it is not seen */
  const float reach = 0.1F * (e.high - e.low);
  const struct measure_extremes samples = {e.high - reach, e.low + reach};
  for (size_t n = 1; n + 1 < frames; n++) {
    if (x[n] >= samples.high && x[n] >= x[n - 1] && x[n] >= x[n + 1])
      e.high = fmaxf(e.high, between_samples(x[n - 1], x[n], x[n + 1]));
    if (x[n] <= samples.low && x[n] <= x[n - 1] && x[n] <= x[n + 1])
      e.low = fminf(e.low, -between_samples(-x[n - 1], -x[n], -x[n + 1]));
  }
  return e;
}
