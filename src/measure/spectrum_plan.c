/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* From the settings of a spectrum to its rates and lengths: arithmetic without state. */
#include "measure/spectrum_plan.h"

#include <math.h>

#include "dsp/fft.h"
#include "dsp/window.h"

/* The shown span's share of the decimated rate: what is left over is the filter's edge. */
static const double SHARE_SHOWN = 0.8;
/* An alias just outside the span would leak into it, so the window's main lobe is kept clean
 * beside it, as long as this share of the rate allows: more would make the filter long. */
static const double SHARE_BESIDE_MAX = 0.06;
/* The decimation filter spoils some 30 to 60 frames, so that fewer decimated frames than this
 * would lose a noticeable part of a short capture. */
static const double DECIMATED_FRAMES_MIN = 1024;
static const double DEFAULT_POINTS = 800;
static const double KAISER_BETA_MAX = 100;
/* Rounding of a quotient that is meant to be whole. */
static const double WHOLE = 1e-6;

/* What lasts one record more than this fills one: 29 ms of those of 4096 at 2.4 MS/s. */
static const double LENGTHS_PER_RECORD_MAX = 16;

enum { RECORD_MIN = 16 };

static bool finite_from(double value, double least)
{
  return isfinite(value) && value >= least;
}

static bool settings_are_sound(const struct sc_spectrum_settings *s)
{
  if ((unsigned)s->window >= SC_WINDOW_COUNT || !isfinite(s->overlap) || s->overlap > 0.95)
    return false;
  if (s->window == SC_WINDOW_KAISER &&
      (!finite_from(s->window_parameter, 0) || s->window_parameter > KAISER_BETA_MAX))
    return false;
  return finite_from(s->sample_rate_hz, 0) && s->sample_rate_hz > 0 && isfinite(s->centre_hz) &&
         finite_from(s->span_hz, 0) && finite_from(s->rbw_hz, 0) && finite_from(s->memory_s, 0);
}

static unsigned choose_decimation(const struct sc_spectrum_settings *settings, double span_hz)
{
  double most = settings->sample_rate_hz * SHARE_SHOWN / span_hz;
  if (settings->expected_frames)
    most = fmin(most, (double)settings->expected_frames / DECIMATED_FRAMES_MIN);
  most = fmin(most * (1 + WHOLE), MEASURE_DECIMATION_MAX);
  /* a complex band of half a real signal's rate is as long to transform */
  const double least = settings->complex_input ? 2 : 4;
  return most < least ? 1 : (unsigned)dsp_fft_good_length((size_t)most);
}

static double wanted_rbw_hz(const struct sc_spectrum_settings *settings,
                            const struct measure_band *band)
{
  return settings->rbw_hz > 0 ? settings->rbw_hz : (band->high_hz - band->low_hz) / DEFAULT_POINTS;
}

static double clean_width_hz(const struct sc_spectrum_settings *settings,
                             const struct measure_band *band)
{
  double step = wanted_rbw_hz(settings, band) /
                dsp_window_noise_bandwidth(settings->window, settings->window_parameter);
  if (settings->expected_frames)
    step = fmax(step, settings->sample_rate_hz / (double)settings->expected_frames);
  double lobe = dsp_window_main_lobe(settings->window, settings->window_parameter) * step;
  return (band->high_hz - band->low_hz) / 2 + fmin(lobe, SHARE_BESIDE_MAX * band->rate_hz);
}

enum sc_error measure_plan_band(const struct sc_spectrum_settings *settings,
                                struct measure_band *band)
{
  if (!settings_are_sound(settings))
    return SC_BAD_ARGUMENT;
  double top = settings->sample_rate_hz / 2, bottom = settings->complex_input ? -top : 0;
  double centre = settings->centre_hz != 0 ? settings->centre_hz : (top + bottom) / 2;
  double span = settings->span_hz > 0 ? settings->span_hz : 2 * settings->sample_rate_hz;
  if (centre < bottom || centre > top)
    return SC_BAD_ARGUMENT;
  band->low_hz = fmax(bottom, centre - span / 2);
  band->high_hz = fmin(top, centre + span / 2);
  if (!(band->high_hz > band->low_hz))
    return SC_BAD_ARGUMENT;
  band->decimation = choose_decimation(settings, band->high_hz - band->low_hz);
  band->rate_hz = settings->sample_rate_hz / band->decimation;
  band->mix_hz = band->decimation > 1 ? (band->low_hz + band->high_hz) / 2 : 0;
  band->clean_hz = clean_width_hz(settings, band);
  band->half = band->decimation == 1 && !settings->complex_input;
  return SC_OK;
}

/* The smallest even product of small primes from n on. */
static size_t even_length(double n)
{
  size_t half = (size_t)ceil(n / 2 * (1 - WHOLE));
  while (dsp_fft_good_length(half) != half)
    half++;
  return 2 * half;
}

static size_t longest(const struct sc_spectrum_settings *settings, const struct measure_band *band,
                      size_t transient)
{
  uint64_t most = MEASURE_RECORD_MAX;
  if (settings->expected_frames) {
    uint64_t frames = settings->expected_frames / band->decimation;
    frames = frames > transient ? frames - transient : 0;
    most = frames < most ? frames : most;
  }
  return most < RECORD_MIN ? RECORD_MIN : 2 * dsp_fft_good_length((size_t)most / 2);
}

static size_t choose_length(const struct sc_spectrum_settings *settings,
                            const struct measure_band *band, size_t transient, bool *limited)
{
  double bins = dsp_window_noise_bandwidth(settings->window, settings->window_parameter);
  double wanted = fmax(bins * band->rate_hz / wanted_rbw_hz(settings, band), RECORD_MIN);
  size_t most = longest(settings, band, transient);
  *limited = wanted * (1 - WHOLE) > (double)most;
  if (*limited)
    return most;
  size_t length = even_length(wanted);
  return length < most ? length : most;
}

static void choose_bins(const struct measure_band *band, struct measure_records *records)
{
  long half = (long)records->length / 2;
  double low = (band->low_hz - band->mix_hz) / records->step_hz;
  double high = (band->high_hz - band->mix_hz) / records->step_hz;
  records->first = (long)fmax(ceil(low - WHOLE), band->half ? 0 : (double)-half);
  records->last = (long)fmin(floor(high + WHOLE), (double)(band->half ? half : half - 1));
  if (records->last < records->first) /* a span between two bins */
    records->first = records->last = (long)fmin(round((low + high) / 2), (double)(half - 1));
}

/* Leaves out what is not needed of a long capture. */
static void spread(const struct sc_spectrum_settings *settings, const struct measure_band *band,
                   struct measure_records *records)
{
  double frames = (double)settings->expected_frames / band->decimation;
  double enough = (double)settings->records_enough * (double)records->length;
  if (!(enough > 0) || frames < enough)
    return;
  records->hop = records->length;
  records->apart =
      (size_t)(fmin(floor(frames / enough), LENGTHS_PER_RECORD_MAX) - 1) * records->length;
}

struct measure_records measure_plan_records(const struct sc_spectrum_settings *settings,
                                            const struct measure_band *band, size_t transient)
{
  struct measure_records records;
  records.length = choose_length(settings, band, transient, &records.limited);
  double overlap = settings->overlap;
  if (overlap < 0)
    overlap = sc_window_figures(settings->window, settings->window_parameter).recommended_overlap;
  records.hop = (size_t)fmax(round((double)records.length * (1 - overlap)), 1);
  records.apart = 0;
  spread(settings, band, &records);
  records.step_hz = band->rate_hz / (double)records.length;
  choose_bins(band, &records);
  return records;
}
