/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Occupied bandwidth: one sum over the span, one walk from either end.
 *
 * A point of the trace holds the power of `rbw` hertz while points are `step` apart; both the
 * signal's and the noise's share scale alike, so ratios of sums need no correction. Bins below
 * the noise stay negative: cutting them at zero would add what was just taken away.
 */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>

#include <sidecomb/occupancy.h>

static const double outside_share = 0.005;   /* to either side */
static const double lobe_rbw = 2;            /* half a main lobe, in resolution bandwidths */
static const double width_ratio = 2.5119e-3; /* -26 dB */

struct span {
  const struct sc_trace *trace;
  size_t first, end; /* points first to end - 1 */
  double noise;      /* power in one point */
  double total;      /* of all points, noise taken away */
};

static struct span make_span(const struct sc_trace *trace,
                             const struct sc_occupancy_settings *settings)
{
  double lower = (settings->carrier_hz - SC_OCCUPANCY_HALF_SPAN_HZ - trace->start_hz);
  double upper = (settings->carrier_hz + SC_OCCUPANCY_HALF_SPAN_HZ - trace->start_hz);
  double first = ceil(lower / trace->step_hz), last = floor(upper / trace->step_hz);
  struct span span = {.trace = trace};
  if (trace->points == 0 || last < 0 || first > (double)(trace->points - 1))
    return span;
  span.first = first > 0 ? (size_t)first : 0;
  span.end = last < (double)(trace->points - 1) ? (size_t)last + 1 : trace->points;
  span.noise = isfinite(settings->noise_density) ? settings->noise_density * trace->rbw_hz : 0;
  for (size_t i = span.first; i < span.end; i++)
    span.total += (double)trace->mean[i] - span.noise;
  return span;
}

/* Frequency, from the trace's start in points, below which `share` of the power lies. A point's
 * power is spread evenly over its step. Where noise makes the sum cross more than once, the
 * edge is half way between the first and the last crossing: either alone would be biased. */
static double find_edge(const struct span *span, double share)
{
  double wanted = share * span->total, sum = 0;
  double first = (double)span->end, last = (double)span->first;
  for (size_t i = span->first; i < span->end; i++) {
    double power = (double)span->trace->mean[i] - span->noise;
    if ((sum < wanted) != (sum + power < wanted)) {
      double crossing = (double)i - 0.5 + (wanted - sum) / power;
      first = fmin(first, crossing);
      last = fmax(last, crossing);
    }
    sum += power;
  }
  return (first + last) / 2;
}

/* What lies around an edge within the window's main lobe. */
struct vicinity {
  double slope;    /* mean power of a point: how steeply the sum rises here */
  double centroid; /* of that power, in points */
};

static struct vicinity look_around(const struct span *span, double edge)
{
  double reach = fmax(1, lobe_rbw * span->trace->rbw_hz / span->trace->step_hz);
  size_t count = 0;
  double sum = 0, moment = 0;
  for (size_t i = span->first; i < span->end; i++) {
    double power = (double)span->trace->mean[i] - span->noise;
    if (fabs((double)i - edge) > reach)
      continue;
    sum += power;
    moment += power * ((double)i - edge);
    count++;
  }
  if (!(sum > 0))
    return (struct vicinity){0, edge};
  double shift = fmax(-reach, fmin(reach, moment / sum));
  return (struct vicinity){sum / (double)count, edge + shift};
}

/* The sum up to an edge holds the noise of `tail` points, averaged over the records, and the
 * error of the noise density that was taken away; both move the edge along the slope. What
 * lies inside one resolution bandwidth is not told apart (uniform: 1 / sqrt(12)). */
static double edge_uncertainty(const struct span *span, double slope, double tail,
                               double density_uncertainty)
{
  const struct sc_trace *trace = span->trace;
  double resolution = trace->rbw_hz / sqrt(12);
  double records = fmax(1, trace->independent_records);
  double random = span->noise * sqrt(tail * fmax(1, trace->rbw_hz / trace->step_hz) / records);
  double systematic = span->noise * tail * density_uncertainty;
  if (!(slope > 0))
    return INFINITY;
  return hypot(resolution, hypot(random, systematic) / slope * trace->step_hz);
}

/* A line that the edge falls into was smeared by the window: its middle is where it is. Where
 * the spectrum is smooth the centroid hardly moves. */
static struct sc_quantity measure_edge(const struct span *span, double share,
                                       const struct sc_occupancy_settings *settings)
{
  const struct sc_trace *trace = span->trace;
  double edge = find_edge(span, share), density = settings->noise_density_relative_uncertainty;
  double tail = share < 0.5 ? edge - (double)span->first : (double)span->end - edge;
  struct vicinity vicinity = look_around(span, edge);
  double uncertainty =
      edge_uncertainty(span, vicinity.slope, fmax(0, tail), isfinite(density) ? density : 0);
  if (!isfinite(uncertainty))
    return sc_not_measured("the noise hides the edges of the spectrum");
  double origin = settings->carrier_hz - trace->start_hz;
  return sc_measured(vicinity.centroid * trace->step_hz - origin, uncertainty);
}

static void measure_99(const struct span *span, const struct sc_occupancy_settings *settings,
                       struct sc_occupancy *occupancy)
{
  struct sc_quantity lower = measure_edge(span, outside_share, settings);
  struct sc_quantity upper = measure_edge(span, 1 - outside_share, settings);
  const char *why = lower.why != NULL ? lower.why : upper.why;
  occupancy->lower_hz = lower;
  occupancy->upper_hz = upper;
  occupancy->obw99_hz = why != NULL ? sc_not_measured(why)
                                    : sc_measured(upper.value - lower.value,
                                                  hypot(lower.uncertainty, upper.uncertainty));
}

/* Where the curve crosses `level` between point `inner`, which reaches it, and its neighbour. */
static double crossing(const float *power, size_t inner, size_t outer, double level)
{
  double inside = log((double)power[inner]), outside = log(fmax((double)power[outer], 1e-30));
  double share = inside > outside ? (inside - log(level)) / (inside - outside) : 0;
  return (double)inner + share * ((double)outer - (double)inner);
}

static void measure_26(const struct span *span, struct sc_occupancy *occupancy)
{
  const float *held = span->trace->max_hold;
  double highest = 0;
  for (size_t i = span->first; i < span->end; i++)
    highest = fmax(highest, (double)held[i]);
  double level = highest * width_ratio;
  size_t low = span->first, high = span->end - 1;
  while (low < high && (double)held[low] < level)
    low++;
  while (high > low && (double)held[high] < level)
    high--;
  if (low == span->first || high == span->end - 1) {
    occupancy->minus26db_hz =
        sc_not_measured("at the edge of the span the spectrum is not 26 dB down");
    return;
  }
  double width = crossing(held, high, high + 1, level) - crossing(held, low, low - 1, level);
  occupancy->minus26db_hz =
      sc_measured(width * span->trace->step_hz, span->trace->rbw_hz / sqrt(6));
}

static struct sc_quantity carson(const struct sc_occupancy_settings *settings)
{
  if (!isfinite(settings->deviation_khz) || !isfinite(settings->top_hz))
    return sc_not_measured("the peak deviation was not measured");
  return sc_measured(2 * (settings->deviation_khz * 1e3 + settings->top_hz), (double)NAN);
}

struct sc_occupancy sc_occupancy_measure(const struct sc_trace *trace,
                                         const struct sc_occupancy_settings *settings)
{
  struct sc_quantity none = sc_not_measured("no power stands out of the noise");
  struct sc_occupancy occupancy = {none, none, none, none, none, none, none, none};
  struct span span = make_span(trace, settings);
  occupancy.carson_hz = carson(settings);
  if (span.end <= span.first || !(span.total > 0))
    return occupancy;
  occupancy.span_hz = sc_measured((double)(span.end - span.first) * trace->step_hz, (double)NAN);
  occupancy.rbw_hz = sc_measured(trace->rbw_hz, (double)NAN);
  occupancy.coverage_percent = sc_measured(100 * trace->coverage, (double)NAN);
  measure_99(&span, settings, &occupancy);
  measure_26(&span, &occupancy);
  return occupancy;
}
