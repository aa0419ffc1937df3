/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The lower side band of the difference signal, turned about 38 kHz. */
#include "measure/difference_edge.h"

#include <math.h>

static const double middle_hz = 38e3;
static const double pilot_hz = 19e3;
static const double start_hz = 52e3; /* inside of the band: 38 + 15 kHz */
static const double node_hz = 75;
static const double band_hz = 53e3;
static const double end_hz = 60e3; /* the highest that the scenarios, or a leaky low-pass, send */
static const double smooth_hz = 300;
static const double pilot_lobe_bins = 4; /* of the window's resolution, to either side */
static const double sure_from_hz = 9e3, sure_to_hz = 14.5e3;
/* Receivers' filters differ from one side band to the other by so much and more (our choice). */
static const double share_least = 0.02;
static const double noise_share = 0.1; /* less than that of the noise is none */
static const double over_least = 2.0;  /* chance moves a bin by as much */

double measure_edge_noise(const struct sc_trace *trace, const struct sc_composite_noise *noise,
                          double lowest, double hz)
{
  return noise->per_hz >= 0.0 ? 2.0 * noise->per_hz * hz * hz * trace->rbw_hz * 1e-6 : lowest;
}

/* Between two bins, as 38 kHz need not be one. */
static double power_at(const struct sc_trace *t, double hz)
{
  const double at = (hz - t->start_hz) / t->step_hz;
  if (!(at >= 0.0) || at + 1.0 >= (double)t->points)
    return 0.0;
  const size_t i = (size_t)at;
  const double part = at - (double)i;
  return (1.0 - part) * t->mean[i] + part * t->mean[i + 1];
}

static double over_noise(const struct measure_edge *edge, double hz)
{
  return power_at(edge->trace, hz) - measure_edge_noise(edge->trace, edge->noise, edge->lowest, hz);
}

static double mean_between(const struct measure_edge *edge, double from_hz, double to_hz)
{
  double sum = 0.0;
  size_t count = 0;
  for (double hz = from_hz; hz <= to_hz; hz += edge->trace->step_hz, count++)
    sum += over_noise(edge, hz);
  return sum / (double)count;
}

/* How far the side bands are from being equal where both are far stronger than what else is. */
static double inequality(const struct measure_edge *edge)
{
  const double upper = mean_between(edge, middle_hz + sure_from_hz, middle_hz + sure_to_hz);
  const double lower = mean_between(edge, middle_hz - sure_to_hz, middle_hz - sure_from_hz);
  return lower > 0.0 && upper > 0.0 ? fmin(fabs(upper / lower - 1.0), 1.0) : 1.0;
}

void measure_edge_find(const struct sc_trace *trace, const struct sc_composite_noise *noise,
                       double lowest, struct measure_edge *edge)
{
  *edge = (struct measure_edge){.trace = trace, .noise = noise, .lowest = lowest};
  edge->last_hz = 2.0 * middle_hz - pilot_hz - smooth_hz / 2.0 - pilot_lobe_bins * trace->rbw_hz;
  edge->share = fmax(share_least, inequality(edge));
  double least = INFINITY;
  for (size_t n = 0; n < MEASURE_EDGE_NODES; n++) {
    const double hz = 2.0 * middle_hz - (start_hz + (double)n * node_hz);
    const double floor = measure_edge_noise(trace, noise, lowest, hz);
    const double here = mean_between(edge, hz - smooth_hz / 2.0, hz + smooth_hz / 2.0);
    if (start_hz + (double)n * node_hz <= edge->last_hz)
      least = fmin(least, here > noise_share * floor ? here : 0.0);
    edge->most[n] = least;
  }
}

double measure_edge_power(const struct measure_edge *edge, double hz, double *open)
{
  *open = 0.0;
  if (hz < band_hz || hz > end_hz || !(edge->last_hz > band_hz))
    return 0.0;
  const size_t n = (size_t)((fmin(hz, edge->last_hz) - start_hz) / node_hz);
  const double most = edge->most[n < MEASURE_EDGE_NODES ? n : MEASURE_EDGE_NODES - 1];
  if (hz > edge->last_hz) { /* anything from nothing to as much as there was */
    *open = most / sqrt(12.0);
    return most / 2.0;
  }
  const double twin = fmax(0.0, fmin(over_noise(edge, 2.0 * middle_hz - hz), over_least * most));
  *open = edge->share * twin;
  return twin;
}
