/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Where in a capture the transmitter is, and how much noise lies beside it. Quantiles of the
 * points are found by halving, so that nothing is allocated or sorted. */
#include "measure/channel.h"

#include <sidecomb/carrier.h>

#include "dsp/gamma.h"

#include <math.h>
#include <stdlib.h>

/* Common practice, no source, unless said otherwise. */
static const double half_channel_hz = 100e3; /* holds all but the skirts of an FM channel */
static const double beside_hz = 150e3;       /* beyond it a channel is empty: Carson's rule gives
                                                +/-128 kHz for a full stereo signal */
static const double piece_hz = 25e3;
static const double edge_share = 0.05;
static const double agree_sigma = 3.0;
static const double floor_quantile = 0.25; /* a channel may fill three quarters of a capture */
static const double false_line = 1e-6;     /* chance of a line anywhere in noise */
static const double line_ratio = 4.0;      /* and no line below 6 dB over the floor */
static const double hump_ratio = 0.26;     /* 1 dB: receivers are not flatter than that */
static const double strong = 3.0;          /* over the floor: counts for the centre */
static const double spike_share = 0.01;    /* of the receiver's own line at zero */
static const double centre_steps = 4;
enum { PIECES_MAX = 1024 };

static double looks(const struct sc_trace *trace)
{
  return fmax(1.0, trace->independent_records);
}

static double point_hz(const struct sc_trace *trace, size_t i)
{
  return trace->start_hz + (double)i * trace->step_hz;
}

/* The value that the given share of points [from, to) does not reach. */
static double quantile(const struct sc_trace *trace, size_t from, size_t to, double share)
{
  double low = 0.0;
  double high = 0.0;
  for (size_t i = from; i < to; i++)
    high = fmax(high, trace->mean[i]);
  double least = high;
  for (size_t i = from; i < to; i++)
    if (trace->mean[i] > 0.0F)
      least = fmin(least, trace->mean[i]);
  low = 0.5 * least;
  const double wanted = share * (double)(to - from);
  for (int step = 0; step < 60 && high > low * (1.0 + 1e-7); step++) {
    const double middle = sqrt(low * high);
    size_t below = 0;
    for (size_t i = from; i < to; i++)
      below += trace->mean[i] < middle;
    if ((double)below < wanted)
      low = middle;
    else
      high = middle;
  }
  return high;
}

/* ---- noise beside the channel */

/* Medians of the pieces, corrected for being medians; those that touch the channel left out. */
static size_t piece_levels(const struct sc_trace *air, double carrier_hz, size_t points,
                           double levels[PIECES_MAX])
{
  const size_t edge = (size_t)(edge_share * (double)air->points);
  size_t count = 0;
  for (size_t i = edge; i + points <= air->points - edge && count < PIECES_MAX; i += points) {
    const double low = point_hz(air, i) - carrier_hz;
    const double high = point_hz(air, i + points - 1) - carrier_hz;
    if (low < beside_hz && high > -beside_hz)
      continue;
    levels[count++] =
        quantile(air, i, i + points, 0.5) * dsp_quantile_bias(0.5, looks(air)) / air->rbw_hz;
  }
  return count;
}

static int ascending(const void *a, const void *b)
{
  const double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

/* Mean of those that agree with the lowest quarter, two at least: other stations may fill the rest.
 * Of noise alone that quarter ends 0.67 standard deviations below the mean, and the mean of it
 * would be 1.27 below. */
static double mean_of_empty(double *levels, size_t count, double scatter)
{
  const size_t lowest = count / 4 > 2 ? count / 4 : 2;
  qsort(levels, count, sizeof *levels, ascending);
  const double most = levels[lowest - 1] * (1.0 + (agree_sigma + 0.67) * scatter);
  double sum = 0.0;
  size_t n = 0;
  while (n < count && (n < lowest || levels[n] <= most))
    sum += levels[n++];
  return sum / (double)n;
}

bool measure_noise_beside(const struct sc_trace *air, double carrier_hz,
                          struct measure_noise *noise)
{
  double levels[PIECES_MAX];
  const double wanted = fmax(piece_hz, (double)air->points * air->step_hz / PIECES_MAX);
  const size_t points = (size_t)fmax(8.0, wanted / air->step_hz);
  if (air->points == 0)
    return false;
  const size_t count = piece_levels(air, carrier_hz, points, levels);
  if (count < 2)
    return false;
  /* a point is not independent of its neighbours where the window overlaps them */
  const double independent = (double)points * fmin(1.0, air->step_hz / air->rbw_hz);
  const double scatter = 1.25 / sqrt(independent * looks(air)); /* of a median */
  noise->density = mean_of_empty(levels, count, scatter);
  noise->relative_uncertainty = scatter;
  return true;
}

/* ---- finding the channel */

struct search {
  const struct sc_trace *trace;
  double floor;       /* power of a point that holds noise only */
  size_t from, to;    /* the receiver's own line at zero, left out */
  size_t half_points; /* of a channel */
};

static double excess(const struct search *s, size_t i)
{
  return i >= s->from && i < s->to ? 0.0 : s->trace->mean[i] - s->floor;
}

static void window(const struct search *s, size_t middle, size_t *from, size_t *to)
{
  *from = middle > s->half_points ? middle - s->half_points : 0;
  *to = middle + s->half_points + 1 < s->trace->points ? middle + s->half_points + 1
                                                       : s->trace->points;
}

/* The window of one channel's width that holds most power above the floor. */
static size_t strongest(const struct search *s)
{
  const size_t points = s->trace->points;
  const size_t width = 2 * s->half_points + 1;
  double sum = 0.0;
  double best = -INFINITY;
  size_t middle = points / 2;
  for (size_t i = 0; i < points + s->half_points; i++) {
    sum += i < points ? excess(s, i) : 0.0;
    sum -= i >= width ? excess(s, i - width) : 0.0;
    if (i >= s->half_points && sum > best) {
      best = sum;
      middle = i - s->half_points;
    }
  }
  return middle;
}

/* Centre of gravity of what stands out: of an FM signal, its mean frequency. */
static size_t recentre(const struct search *s, size_t middle)
{
  for (int step = 0; step < centre_steps; step++) {
    size_t from, to;
    double sum = 0.0;
    double moment = 0.0;
    window(s, middle, &from, &to);
    for (size_t i = from; i < to; i++)
      if (excess(s, i) > (strong - 1.0) * s->floor) {
        sum += excess(s, i);
        moment += excess(s, i) * (double)i;
      }
    if (sum > 0.0)
      middle = (size_t)(moment / sum + 0.5);
  }
  return middle;
}

static bool stands_out(const struct search *s, size_t middle, double *power)
{
  size_t from, to;
  double highest = 0.0;
  *power = 0.0;
  window(s, middle, &from, &to);
  for (size_t i = from; i < to; i++) {
    *power += excess(s, i);
    highest = fmax(highest, excess(s, i) + s->floor);
  }
  const double points = (double)(to - from);
  const double chance = 6.0 / sqrt(points * looks(s->trace));
  const double line =
      fmax(line_ratio, dsp_threshold(false_line / (double)s->trace->points, looks(s->trace)));
  return *power > fmax(hump_ratio, chance) * points * s->floor || highest > line * s->floor;
}

/* Between the points that leave one per cent of the power on either side. */
static double width_hz(const struct search *s, size_t middle, double power)
{
  size_t from, to;
  double sum = 0.0;
  window(s, middle, &from, &to);
  size_t low = from; /* a line at the window's very edge may have its share at once */
  size_t high = from;
  for (size_t i = from; i < to; i++) {
    sum += excess(s, i);
    if (sum < 0.01 * power)
      low = i;
    if (sum < 0.99 * power)
      high = i;
  }
  return (double)(high > low ? high - low : 1) * s->trace->step_hz;
}

static struct sc_channel_guess describe(const struct search *s, size_t middle, double power)
{
  const struct sc_trace *t = s->trace;
  return (struct sc_channel_guess){SC_YES, point_hz(t, middle), width_hz(s, middle, power),
                                   10.0 * log10(power * t->step_hz / t->rbw_hz),
                                   s->floor / t->rbw_hz};
}

/* The points around zero that a receiver's direct current fills. */
static void exclude_zero(struct search *s)
{
  const struct sc_trace *t = s->trace;
  const double reach_hz = 2.0 * t->rbw_hz + 2.0 * t->step_hz;
  while (s->from < t->points && point_hz(t, s->from) < -reach_hz)
    s->from++;
  for (s->to = s->from; s->to < t->points && point_hz(t, s->to) <= reach_hz;)
    s->to++;
}

/* What is at zero, in a channel apart from the one at `other`, has side lines of its own: it is a
 * carrier that the receiver was tuned to, and no direct current. */
static bool is_tuned_to(const struct search *apart, size_t zero, size_t other, double all)
{
  double beside;
  const size_t between = zero > other ? zero - other : other - zero;
  return between > apart->half_points && stands_out(apart, zero, &beside) &&
         beside > spike_share * all;
}

struct sc_channel_guess sc_channel_find(const struct sc_trace *whole, double sample_rate_hz)
{
  struct sc_channel_guess none = {SC_UNKNOWN, 0.0, 0.0, (double)NAN, (double)NAN};
  if (whole->points < 8 || !(sample_rate_hz > 0.0))
    return none;
  struct search s = {.trace = whole};
  s.floor = quantile(whole, 0, whole->points, floor_quantile) *
            dsp_quantile_bias(floor_quantile, looks(whole));
  s.half_points = (size_t)fmin(half_channel_hz / whole->step_hz, (double)(whole->points - 1) / 2.0);
  double all, beside;
  const size_t with_zero = recentre(&s, strongest(&s));
  const bool any = stands_out(&s, with_zero, &all);
  struct search apart = s;
  exclude_zero(&apart);
  const size_t without_zero = recentre(&apart, strongest(&apart));
  if (stands_out(&apart, without_zero, &beside) && beside > spike_share * all &&
      !(all > beside && is_tuned_to(&apart, with_zero, without_zero, all)))
    return describe(&apart, without_zero, beside);
  if (any)
    return describe(&s, with_zero, all);
  none.present = SC_NO;
  none.noise_density = s.floor / whole->rbw_hz;
  return none;
}
