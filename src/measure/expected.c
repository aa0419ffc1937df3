/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The measured composite modulated again and transformed. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdlib.h>

#include <sidecomb/expected.h>

#include "measure/remodulator.h"

static const double pi = 3.14159265358979323846;
static const double ends_beyond = 0.35; /* of the composite's top; as measured */
static const double smooth = 3;         /* resolution bandwidths to either side */

struct sc_expected {
  struct sc_expected_settings settings;
  struct sc_spectrum *spectrum;
  struct measure_remodulator remodulator;
  float *iq;
  float *power; /* of the result; grows with the trace */
  size_t room;
  double channel_power, frames;
};

/* The part of the span that the channel's rate holds. */
static bool set_span(struct sc_spectrum_settings *spectrum, double rate_hz, double channel_hz)
{
  double half = spectrum->span_hz > 0 ? spectrum->span_hz / 2 : spectrum->sample_rate_hz / 2;
  double low = fmax(spectrum->centre_hz - half - channel_hz, -rate_hz / 2);
  double high = fmin(spectrum->centre_hz + half - channel_hz, rate_hz / 2);
  if (!(high > low))
    return false;
  double ratio = rate_hz / spectrum->sample_rate_hz;
  spectrum->expected_frames = (uint64_t)((double)spectrum->expected_frames * ratio);
  spectrum->sample_rate_hz = rate_hz;
  spectrum->centre_hz = (low + high) / 2;
  spectrum->span_hz = high - low;
  return true;
}

enum sc_error sc_expected_create(const struct sc_expected_settings *settings,
                                 struct sc_expected **out)
{
  *out = NULL;
  struct sc_expected *expected = calloc(1, sizeof *expected);
  if (expected == NULL)
    return SC_NO_MEMORY;
  expected->settings = *settings;
  double rate = settings->demodulator.rate_hz;
  enum sc_error error = SC_UNSUPPORTED;
  if (set_span(&expected->settings.spectrum, rate, settings->channel_hz))
    error = sc_spectrum_create(&expected->settings.spectrum, &expected->spectrum);
  expected->iq = malloc(2 * settings->demodulator.out_frames_max * sizeof *expected->iq);
  if (error == SC_OK && expected->iq == NULL)
    error = SC_NO_MEMORY;
  if (error != SC_OK) {
    sc_expected_destroy(expected);
    return error;
  }
  measure_remodulator_start(&expected->remodulator, rate);
  *out = expected;
  return SC_OK;
}

void sc_expected_feed(struct sc_expected *expected, const float *deviation_khz,
                      const float *channel, size_t frames, bool discontinuity)
{
  if (discontinuity)
    measure_remodulator_start(&expected->remodulator, expected->settings.demodulator.rate_hz);
  measure_remodulator_run(&expected->remodulator, deviation_khz, frames, expected->iq);
  for (size_t i = 0; i < 2 * frames; i++)
    expected->channel_power += (double)(channel[i] * channel[i]);
  expected->frames += (double)frames;
  sc_spectrum_feed(expected->spectrum, expected->iq, frames, discontinuity);
}

/* What the composite does not hold of the receiver's noise: half of it up to its top, all of it
 * where the equaliser has ended. */
static double missing_share(const struct sc_expected *expected, double offset_hz)
{
  double top_hz = expected->settings.demodulator.top_hz;
  double beyond = fmax(fabs(offset_hz) / top_hz - 1, 0) / ends_beyond;
  double part = cos(pi / 2 * fmin(beyond, 1));
  return 1 - part * part / 2;
}

static bool make_room(struct sc_expected *expected, size_t points)
{
  if (points <= expected->room)
    return true;
  float *grown = realloc(expected->power, points * sizeof *grown);
  if (grown == NULL)
    return false;
  expected->power = grown;
  expected->room = points;
  return true;
}

void sc_expected_result(struct sc_expected *expected, double noise_dbfs_hz, struct sc_trace *trace)
{
  double noise = isnan(noise_dbfs_hz) ? 0 : pow(10, noise_dbfs_hz / 10);
  double bandwidth = expected->settings.demodulator.noise_bandwidth_hz;
  double carrier = expected->channel_power / fmax(expected->frames, 1) - noise * bandwidth;
  sc_spectrum_result(expected->spectrum, trace);
  trace->max_hold = trace->min_hold = NULL;
  if (!make_room(expected, trace->points))
    trace->points = 0;
  for (size_t i = 0; i < trace->points; i++) {
    double offset_hz = trace->start_hz + (double)i * trace->step_hz;
    expected->power[i] = (float)(fmax(carrier, 0) * (double)trace->mean[i] +
                                 noise * trace->rbw_hz * missing_share(expected, offset_hz));
  }
  trace->mean = expected->power;
  trace->start_hz += expected->settings.channel_hz;
}

/* ---- measured against expected */

/* Mean of a trace about a frequency; NAN where it has no points. */
static double mean_about(const struct sc_trace *trace, double hz, double half_hz)
{
  double at = (hz - trace->start_hz) / trace->step_hz, reach = half_hz / trace->step_hz;
  double sum = 0, weights = 0;
  double first = ceil(fmax(at - reach, 0)),
         last = floor(fmin(at + reach, (double)trace->points - 1));
  for (double i = first; i <= last; i++) {
    double weight = 1 + cos(pi * (i - at) / reach);
    sum += weight * (double)trace->mean[(size_t)i];
    weights += weight;
  }
  return weights > 0 ? sum / weights : (double)NAN;
}

/* The value next to `is` that is expected within half a resolution bandwidth: on the steep side of
 * a line the points of two traces see different heights. */
static double expected_next_to(const struct sc_trace *expected, double hz, double half_hz,
                               double is)
{
  double low = (double)INFINITY, high = 0;
  for (int step = -1; step <= 1; step++) {
    double value = mean_about(expected, hz + step * expected->rbw_hz / 2, half_hz);
    low = fmin(low, value);
    high = fmax(high, value);
  }
  return fmin(fmax(is, low), high);
}

double sc_expected_difference_at(const struct sc_trace *air, const struct sc_trace *expected,
                                 double hz, double half_hz)
{
  double low = expected->start_hz + 2 * half_hz;
  double high = expected->start_hz + (double)expected->points * expected->step_hz - 2 * half_hz;
  double is = mean_about(air, hz, half_hz);
  bool inside = hz >= low && hz <= high;
  double wanted = inside ? expected_next_to(expected, hz, half_hz, is) : (double)NAN;
  return wanted > 0 && is > 0 ? 10 * log10(is / wanted) : (double)NAN;
}

void sc_expected_difference(const struct sc_trace *air, const struct sc_trace *expected,
                            float *difference_db)
{
  double half_hz = smooth * fmax(air->rbw_hz, expected->rbw_hz);
  for (size_t i = 0; i < air->points; i++)
    difference_db[i] = (float)sc_expected_difference_at(
        air, expected, air->start_hz + (double)i * air->step_hz, half_hz);
}

void sc_expected_reset(struct sc_expected *expected)
{
  sc_spectrum_reset(expected->spectrum);
  measure_remodulator_start(&expected->remodulator, expected->settings.demodulator.rate_hz);
  expected->channel_power = expected->frames = 0;
}

void sc_expected_destroy(struct sc_expected *expected)
{
  if (expected == NULL)
    return;
  sc_spectrum_destroy(expected->spectrum);
  free(expected->iq);
  free(expected->power);
  free(expected);
}
