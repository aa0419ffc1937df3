/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Traces to columns. No line is lost: a column shows its highest and its lowest point. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>

#include "common/curve.h"

/* Both edges of a column as positions between points. */
struct stretch {
  double from, to;
};

static float decibels(double power, double offset_db)
{
  return (float)(10 * log10(fmax(power, 1e-30)) + offset_db);
}

/* The trace between its points, straight in dB. */
static float between(const float *power, size_t points, double at, double offset_db)
{
  if (at < 0 || at > (double)(points - 1))
    return NAN;
  size_t i = (size_t)at;
  float left = decibels(power[i], offset_db);
  if (i + 1 == points)
    return left;
  return left + (decibels(power[i + 1], offset_db) - left) * (float)(at - (double)i);
}

static void extent(const float *power, size_t points, struct stretch s, double offset_db,
                   float *low, float *high)
{
  double first = ceil(fmax(s.from, 0)), last = fmin(ceil(s.to) - 1, (double)points - 1);
  if (!(first <= last)) {
    *low = *high = between(power, points, (s.from + s.to) / 2, offset_db);
    return;
  }
  float least = power[(size_t)first], most = least;
  for (size_t i = (size_t)first; i <= (size_t)last; i++) {
    least = fminf(least, power[i]);
    most = fmaxf(most, power[i]);
  }
  *low = decibels(least, offset_db);
  *high = decibels(most, offset_db);
}

void common_curve(const struct sc_trace *trace, const float *power, double low_hz, double high_hz,
                  double offset_db, int columns, float *low, float *high)
{
  double start = (low_hz - trace->start_hz) / trace->step_hz;
  double each = (high_hz - low_hz) / trace->step_hz / columns;
  for (int c = 0; c < columns; c++) {
    struct stretch s = {start + c * each, start + (c + 1) * each};
    if (trace->points == 0)
      low[c] = high[c] = NAN;
    else
      extent(power, trace->points, s, offset_db, &low[c], &high[c]);
  }
}

double common_round_step(double range, int most)
{
  if (!(range > 0) || most < 1)
    return 0;
  double least = range / most, decade = pow(10, floor(log10(least)));
  static const double parts[] = {1, 2, 5, 10};
  for (size_t i = 0; i < sizeof parts / sizeof *parts; i++)
    if (parts[i] * decade >= least * (1 - 1e-9))
      return parts[i] * decade;
  return 10 * decade;
}
