/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Extremes by the parabola through the three samples about each top that may be the highest. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "measure/extremes.h"

#include "common/kernel.h"

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

enum { LANES = 64 }; /* a loop over fewer would be unrolled, and then not made vectors of */

/* frames: a multiple of LANES */
SC_KERNEL
static void widen_by_samples(const float *restrict x, size_t frames, float *restrict high,
                             float *restrict low)
{
  for (size_t n = 0; n < frames; n += LANES)
    for (size_t l = 0; l < LANES; l++) {
      high[l] = x[n + l] > high[l] ? x[n + l] : high[l];
      low[l] = x[n + l] < low[l] ? x[n + l] : low[l];
    }
}

/* The same with what is between the samples, where one of `samples` or beyond is a top or a
 * bottom; both have one formula. */
SC_KERNEL
static void widen_by_tops(const float *restrict x, size_t frames,
                          const struct measure_extremes *samples, float *restrict high,
                          float *restrict low)
{
  const struct measure_extremes ends = *samples;
  for (size_t n = 0; n < frames; n += LANES)
    for (size_t l = 0; l < LANES; l++) {
      const float *const at = x + n + l;
      const float left = at[-1], middle = at[0], right = at[1];
      const float bend = left - 2.0F * middle + right;
      const float lean = left - right;
      const float between = middle - lean * lean / (8.0F * bend);
      const int is_top = (middle >= ends.high) & (middle >= left) & (middle >= right);
      const int is_bottom = (middle <= ends.low) & (middle <= left) & (middle <= right);
      const float top = bend < 0.0F ? between : middle;
      const float bottom = bend > 0.0F ? between : middle;
      high[l] = (is_top & (top > high[l])) ? top : high[l];
      low[l] = (is_bottom & (bottom < low[l])) ? bottom : low[l];
    }
}

static void fold(struct measure_extremes *e, const float *high, const float *low)
{
  for (size_t l = 0; l < LANES; l++) {
    e->high = high[l] > e->high ? high[l] : e->high;
    e->low = low[l] < e->low ? low[l] : e->low;
  }
}

/* A sample that may be a top or a bottom, with its neighbours. */
static void look(struct measure_extremes *e, const struct measure_extremes *samples, const float *x)
{
  if (x[0] >= samples->high && x[0] >= x[-1] && x[0] >= x[1])
    e->high = fmaxf(e->high, between_samples(x[-1], x[0], x[1]));
  if (x[0] <= samples->low && x[0] <= x[-1] && x[0] <= x[1])
    e->low = fminf(e->low, -between_samples(-x[-1], -x[0], -x[1]));
}

struct measure_extremes measure_extremes_of_samples(const float *x, size_t frames)
{
  struct measure_extremes e = measure_extremes_none();
  const size_t whole = frames / LANES * LANES;
  float high[LANES], low[LANES];
  for (size_t l = 0; l < LANES; l++) {
    high[l] = e.high;
    low[l] = e.low;
  }
  widen_by_samples(x, whole, high, low);
  fold(&e, high, low);
  for (size_t n = whole; n < frames; n++) {
    e.high = x[n] > e.high ? x[n] : e.high;
    e.low = x[n] < e.low ? x[n] : e.low;
  }
  return e;
}

struct measure_extremes measure_extremes_of(const float *x, size_t frames)
{
  struct measure_extremes e = measure_extremes_none();
  if (frames < 3)
    return e;
  const size_t whole = (frames - 2) / LANES * LANES;
  e = measure_extremes_of_samples(x + 1, frames - 2);
  float high[LANES], low[LANES];
  for (size_t l = 0; l < LANES; l++) {
    high[l] = e.high;
    low[l] = e.low;
  }
  /* between samples of a 53 kHz tone at 384 kS/s up to a tenth of it is not seen */
  const float reach = 0.1F * (e.high - e.low);
  const struct measure_extremes samples = {e.high - reach, e.low + reach};
  widen_by_tops(x + 1, whole, &samples, high, low);
  fold(&e, high, low);
  for (size_t n = 1 + whole; n + 1 < frames; n++)
    look(&e, &samples, x + n);
  return e;
}
