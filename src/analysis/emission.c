/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What a transmitter takes up on air, from averaged spectra of the whole capture. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "analysis/air.h"
#include "analysis/baseline.h"
#include "analysis/emission.h"

/* Top of what modulates, by mode: audio, pilot, and the difference's upper band edge (ITU-R
 * BS.450-3: 15 kHz, 19 kHz, 38 + 15 kHz). */
static const double audio_top_hz = 15e3, pilot_top_hz = 19e3, difference_top_hz = 53e3;
/* A line of the composite below this share of 75 kHz widens nothing. */
static const double line_share_db = -60;
/* The raster of Europe's planning (common practice, no source here); elsewhere 50 or 200 kHz. */
static const double default_raster_hz = 100e3;

struct analysis_emission {
  struct sc_mask masks[SC_MASKS_MAX];
  struct sc_spectrum *spectra[SC_MASKS_MAX];
  size_t mask_count;
  double nominal_hz, raster_hz;
  const struct sc_baseline *baseline; /* NULL: none */
};

static enum sc_error create_spectra(struct analysis_emission *emission,
                                    const struct sc_source_info *info)
{
  enum sc_error error = SC_OK;
  for (size_t i = 0; error == SC_OK && i < emission->mask_count; i++)
    error = analysis_mask_spectrum_create(info, &emission->masks[i], &emission->spectra[i]);
  return error;
}

enum sc_error analysis_emission_create(const struct sc_source_info *info,
                                       const struct sc_analysis_settings *settings,
                                       struct analysis_emission **out)
{
  *out = NULL;
  if (settings->mask_count > SC_MASKS_MAX)
    return SC_BAD_ARGUMENT;
  struct analysis_emission *emission = calloc(1, sizeof *emission);
  if (emission == NULL)
    return SC_NO_MEMORY;
  for (size_t i = 0; i < settings->mask_count; i++)
    emission->masks[i] = settings->masks[i];
  emission->mask_count = settings->mask_count;
  emission->baseline = settings->baseline;
  emission->nominal_hz = settings->nominal_hz;
  emission->raster_hz = settings->raster_hz > 0 ? settings->raster_hz : default_raster_hz;
  enum sc_error error = info->kind == SC_KIND_IQ ? create_spectra(emission, info) : SC_OK;
  if (error != SC_OK) {
    analysis_emission_destroy(emission);
    return error;
  }
  *out = emission;
  return SC_OK;
}

void analysis_emission_reset(struct analysis_emission *emission)
{
  for (size_t i = 0; i < emission->mask_count; i++)
    if (emission->spectra[i] != NULL)
      sc_spectrum_reset(emission->spectra[i]);
}

void analysis_emission_feed(struct analysis_emission *emission, const float *iq, size_t frames,
                            bool discontinuity)
{
  for (size_t i = 0; i < emission->mask_count; i++)
    sc_spectrum_feed(emission->spectra[i], iq, frames, discontinuity);
}

/* Of data and subcarriers, which are no lines. */
static double upper_edge_hz(const struct sc_injection *injection)
{
  const struct sc_quantity *centre = &injection->offset_hz, *width = &injection->bandwidth_hz;
  return centre->why != NULL || width->why != NULL ? injection->upper_hz
                                                   : centre->value + width->value / 2;
}

static double highest_modulating_hz(const struct sc_result *result)
{
  static const double tops[] = {[SC_MODE_MONO] = audio_top_hz,
                                [SC_MODE_PILOT_ONLY] = pilot_top_hz,
                                [SC_MODE_STEREO] = difference_top_hz,
                                [SC_MODE_DIFFERENCE_WITHOUT_PILOT] = difference_top_hz};
  size_t mode = (size_t)result->stereo.mode;
  double top = mode < sizeof tops / sizeof tops[0] ? tops[mode] : 0;
  const struct sc_line_list *lines = &result->composite_lines;
  for (size_t i = 0; lines->why == NULL && i < lines->count; i++)
    if (lines->lines[i].level_db75.value > line_share_db)
      top = fmax(top, lines->lines[i].offset_hz.value);
  for (size_t i = 0; result->injections.why == NULL && i < result->injections.count; i++)
    top = fmax(top, upper_edge_hz(&result->injections.at[i]));
  return top > 0 ? top : (double)NAN;
}

static double density_of(const struct sc_carrier *carrier)
{
  const struct sc_quantity *density = &carrier->noise_density_dbfs_hz;
  return density->why == NULL ? pow(10, density->value / 10) : (double)NAN;
}

static struct sc_occupancy occupancy(const struct sc_trace *air, const struct sc_result *result)
{
  const struct sc_carrier *carrier = &result->carrier;
  const struct sc_deviation *deviation = &result->deviation;
  const struct sc_quantity *peak =
      deviation->corrected_khz.why == NULL ? &deviation->corrected_khz : &deviation->peak_khz;
  const struct sc_occupancy_settings settings = {
      .carrier_hz = carrier->offset_hz.value,
      .noise_density = density_of(carrier),
      .noise_density_relative_uncertainty =
          carrier->noise_density_dbfs_hz.uncertainty * log(10) / 10,
      .deviation_khz = peak->why == NULL ? peak->value : (double)NAN,
      .top_hz = highest_modulating_hz(result)};
  return sc_occupancy_measure(air, &settings);
}

/* Takes off what the receiver shows without the transmitter; *mean is to be freed. */
static enum sc_error clear(const struct sc_trace *baseline, struct sc_trace *trace, float **mean)
{
  *mean = baseline != NULL ? malloc((trace->points + 1) * sizeof **mean) : NULL;
  if (baseline == NULL)
    return SC_OK;
  if (*mean == NULL)
    return SC_NO_MEMORY;
  analysis_baseline_subtract(baseline, *mean, trace);
  return SC_OK;
}

/* NULL: there is none that may be used. */
static const struct sc_baseline *baseline_of(const struct analysis_emission *emission,
                                             const struct sc_result *result)
{
  const struct sc_baseline *baseline = emission->baseline;
  return baseline != NULL && !analysis_baseline_holds(baseline, &result->carrier) ? baseline : NULL;
}

static enum sc_error judge_mask(const struct analysis_emission *emission, size_t i,
                                const struct sc_mask_settings *settings, struct sc_result *result)
{
  const struct sc_baseline *baseline = baseline_of(emission, result);
  const struct sc_trace *there = baseline != NULL ? analysis_baseline_mask(baseline, i) : NULL;
  struct sc_trace trace;
  float *mean;
  sc_spectrum_result(emission->spectra[i], &trace);
  enum sc_error error = clear(there, &trace, &mean);
  if (error == SC_OK)
    sc_mask_judge(&emission->masks[i], &trace, settings, &result->masks[i]);
  free(mean);
  return error;
}

static enum sc_error judge_masks(struct analysis_emission *emission, struct sc_result *result)
{
  const struct sc_carrier *carrier = &result->carrier;
  const struct sc_mask_settings settings = {.carrier_hz = carrier->offset_hz.value,
                                            .carrier_dbfs = carrier->level_dbfs,
                                            .noise_density = density_of(carrier)};
  enum sc_error error = SC_OK;
  for (size_t i = 0; error == SC_OK && i < emission->mask_count; i++)
    error = judge_mask(emission, i, &settings, result);
  result->mask_count = emission->mask_count;
  return error;
}

static enum sc_error measure_occupancy(const struct analysis_emission *emission,
                                       const struct sc_trace *air, struct sc_result *result)
{
  const struct sc_baseline *baseline = baseline_of(emission, result);
  const struct sc_trace *there = baseline != NULL ? analysis_baseline_air(baseline) : NULL;
  struct sc_trace cleared = *air;
  float *mean;
  enum sc_error error = clear(there, &cleared, &mean);
  if (error == SC_OK)
    result->occupancy = occupancy(&cleared, result);
  free(mean);
  return error;
}

static void refuse_channel(struct sc_channel_place *place, const char *why)
{
  *place =
      (struct sc_channel_place){sc_not_measured(why), sc_not_measured(why), sc_not_measured(why),
                                sc_not_measured(why), sc_not_measured(why)};
}

static void place_on_raster(const struct analysis_emission *emission, struct sc_result *result)
{
  struct sc_channel_place *place = &result->channel;
  const struct sc_quantity *frequency = &result->carrier_frequency_hz;
  if (frequency->why != NULL) {
    refuse_channel(place, frequency->why);
    return;
  }
  double channel = emission->raster_hz * floor(frequency->value / emission->raster_hz + 0.5);
  place->raster_hz = sc_measured(emission->raster_hz, (double)NAN);
  place->nearest_hz = sc_measured(channel, (double)NAN);
  place->nearest_error_hz = sc_measured(frequency->value - channel, frequency->uncertainty);
  if (!(emission->nominal_hz > 0)) {
    const char *why = "no nominal frequency was given (--nominal)";
    place->error_hz = place->error_ppm = sc_not_measured(why);
    return;
  }
  double ppm = 1e6 / emission->nominal_hz, error = frequency->value - emission->nominal_hz;
  place->error_hz = sc_measured(error, frequency->uncertainty);
  place->error_ppm = sc_measured(error * ppm, frequency->uncertainty * ppm);
}

enum sc_error analysis_emission_result(struct analysis_emission *emission,
                                       const struct sc_trace *air, struct sc_result *result)
{
  place_on_raster(emission, result);
  if (result->carrier.offset_hz.why != NULL || result->carrier.level_dbfs.why != NULL)
    return SC_OK; /* as it was refused */
  enum sc_error error = measure_occupancy(emission, air, result);
  return error == SC_OK ? judge_masks(emission, result) : error;
}

void analysis_emission_refuse(const struct analysis_emission *emission, const char *why,
                              struct sc_result *result)
{
  const struct sc_quantity absent = sc_not_measured(why);
  result->occupancy =
      (struct sc_occupancy){absent, absent, absent, absent, absent, absent, absent, absent};
  refuse_channel(&result->channel, why);
  result->mask_count = emission->mask_count;
  for (size_t i = 0; i < emission->mask_count; i++) {
    const struct sc_mask *mask = &emission->masks[i];
    struct sc_mask_result *judged = &result->masks[i];
    *judged = (struct sc_mask_result){.pass = SC_UNKNOWN,
                                      .worst_margin_db = absent,
                                      .worst_offset_hz = absent,
                                      .resolution_hz = absent};
    snprintf(judged->name, sizeof judged->name, "%s", mask->name);
    snprintf(judged->source, sizeof judged->source, "%s", mask->source);
    snprintf(judged->note, sizeof judged->note, "%s", mask->note);
    snprintf(judged->unjudged, sizeof judged->unjudged, "nothing was judged: %s", why);
  }
}

void analysis_emission_destroy(struct analysis_emission *emission)
{
  if (emission == NULL)
    return;
  for (size_t i = 0; i < emission->mask_count; i++)
    sc_spectrum_destroy(emission->spectra[i]);
  free(emission);
}
