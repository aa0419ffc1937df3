/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Sums over points. */
#include <math.h>
#include <stdlib.h>

#include "view/band.h"

static const double density_half_width = 4; /* resolution bandwidths */
static const double line_ratio = 10;
static const double quartile = -0.6744897501960817; /* of the normal distribution */
/* More points than that are thinned evenly for the quartile. */
enum { SORTED_POINTS = 2048 };

/* First and last point with a share in the band. */
struct stretch {
  double low, high; /* ends in points */
  size_t first, last;
};

static struct stretch stretch_of(const struct sc_trace *trace, double low_hz, double high_hz)
{
  struct stretch s = {(low_hz - trace->start_hz) / trace->step_hz,
                      (high_hz - trace->start_hz) / trace->step_hz, 0, 0};
  s.first = (size_t)fmax(floor(s.low + 0.5), 0);
  s.last = (size_t)fmin(fmax(ceil(s.high - 0.5), 0), (double)trace->points - 1);
  return s;
}

static double share(const struct stretch *s, size_t i)
{
  double from = fmax(s->low, (double)i - 0.5), to = fmin(s->high, (double)i + 0.5);
  return fmax(to - from, 0);
}

static int ascending(const void *a, const void *b)
{
  float left = *(const float *)a, right = *(const float *)b;
  return (left > right) - (left < right);
}

/* Mean that noise with this lower quartile has: an average of K powers is chi-square with 2K
 * degrees, whose quantile is (1 - v + z sqrt(v))^3 of its mean with v = 1/(9K) and z the normal
 * quantile (Wilson and Hilferty, PNAS 17, 1931, from memory). */
static double floor_of(const struct sc_trace *trace, const struct stretch *s)
{
  float values[SORTED_POINTS];
  size_t count = s->last - s->first + 1, every = (count + SORTED_POINTS - 1) / SORTED_POINTS;
  size_t used = 0;
  for (size_t i = s->first; i <= s->last; i += every)
    values[used++] = trace->mean[i];
  qsort(values, used, sizeof *values, ascending);
  double variance = 1 / (9 * fmax(trace->independent_records, 1));
  return (double)values[used / 4] / pow(1 - variance + quartile * sqrt(variance), 3);
}

static const char *why_not(const struct sc_trace *trace, double low_hz, double high_hz)
{
  if (trace->points < 2)
    return "there is no trace";
  double half = trace->step_hz / 2;
  double last_hz = trace->start_hz + (double)(trace->points - 1) * trace->step_hz;
  if (!(low_hz >= trace->start_hz - half) || !(high_hz <= last_hz + half))
    return "the trace ends before";
  if (high_hz - low_hz < trace->rbw_hz)
    return "narrower than the resolution bandwidth";
  return NULL;
}

struct view_band view_band_power(const struct sc_trace *trace, double one_hz, double other_hz)
{
  double low_hz = fmin(one_hz, other_hz), high_hz = fmax(one_hz, other_hz);
  struct view_band band = {.floor = (double)NAN, .width_hz = high_hz - low_hz};
  const char *why = why_not(trace, low_hz, high_hz);
  if (why != NULL) {
    band.power = sc_not_measured(why);
    return band;
  }
  struct stretch s = stretch_of(trace, low_hz, high_hz);
  double sum = 0, squares = 0, weight = trace->step_hz / trace->rbw_hz;
  for (size_t i = s.first; i <= s.last; i++) {
    double part = share(&s, i) * (double)trace->mean[i];
    sum += part;
    squares += part * (double)trace->mean[i];
  }
  /* Points within a resolution bandwidth tell the same; each of these has the variance p^2 / K. */
  double variance = squares * weight / fmax(trace->independent_records, 1);
  band.power = sc_measured(sum * weight, sqrt(variance));
  band.floor = floor_of(trace, &s) * band.width_hz / trace->rbw_hz;
  return band;
}

struct view_density view_band_density(const struct sc_trace *trace, double hz)
{
  double half_hz = density_half_width * trace->rbw_hz;
  struct view_band band = view_band_power(trace, hz - half_hz, hz + half_hz);
  struct view_density density = {.per_hz = band.power};
  if (band.power.why != NULL)
    return density;
  density.per_hz.value /= band.width_hz;
  density.per_hz.uncertainty /= band.width_hz;
  struct stretch s = stretch_of(trace, hz - half_hz, hz + half_hz);
  double most = 0;
  for (size_t i = s.first; i <= s.last; i++)
    most = fmax(most, (double)trace->mean[i]);
  density.line_within = most > line_ratio * floor_of(trace, &s);
  return density;
}
