/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The chain of everything: blocks of a capture in, one result out. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "analysis/analysis_parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Bins of the spectrum of the whole capture: fast, and 0.6 kHz wide at 2.4 MS/s. */
enum { SCALE_FRAMES = 4096 };
/* Highest composite frequency that is looked at (47 CFR 73.322: baseband up to 99 kHz). */
static const double composite_top_hz = 100000;
/* Sound cards fall at the very edge. */
static const double usable_share = 0.95;

bool analysis_is_absolute(const struct sc_analysis *analysis)
{
  return analysis->info.kind == SC_KIND_COMPOSITE && analysis->settings.full_scale_khz > 0;
}

static enum sc_error create_real(struct sc_analysis *analysis)
{
  double usable = usable_share * analysis->info.sample_rate_hz / 2;
  struct analysis_baseband_settings settings = {
      .rate_hz = analysis->info.sample_rate_hz,
      .top_hz = fmin(composite_top_hz, usable),
      .composite = analysis->info.kind == SC_KIND_COMPOSITE,
      .absolute = analysis_is_absolute(analysis),
      .lines = analysis->settings.lines,
      .deemphasis_us = analysis->settings.deemphasis_us,
      .audio_path = analysis->settings.audio_path,
      .audio_keep = analysis->settings.audio_keep,
      .clock_relative_uncertainty = analysis->info.clock_relative_uncertainty,
      .false_alarm = analysis->settings.line_false_alarm,
      .expected_frames = analysis->info.frames,
      .rds_region = analysis->settings.rds_region,
      .rds_groups = analysis->settings.rds_groups};
  analysis->scaled = malloc(SCALE_FRAMES * sizeof *analysis->scaled);
  if (analysis->scaled == NULL)
    return SC_NO_MEMORY;
  const enum sc_error error = analysis_baseband_create(&settings, &analysis->baseband);
  if (error != SC_OK || settings.composite)
    return error;
  return analysis_listener_create(settings.rate_hz, analysis->info.channels, 1, analysis->info.bits,
                                  &analysis->listener);
}

enum sc_error sc_analysis_create(const struct sc_source_info *info,
                                 const struct sc_analysis_settings *settings,
                                 struct sc_analysis **out, struct sc_message *message)
{
  *out = NULL;
  if (info->kind == SC_KIND_UNDECIDED || !(info->sample_rate_hz > 0) || info->channels < 1)
    return sc_fail(message, SC_BAD_ARGUMENT, "%s: what its samples are is not decided; name it",
                   info->name);
  struct sc_analysis *analysis = calloc(1, sizeof *analysis);
  if (analysis == NULL)
    return sc_fail(message, SC_NO_MEMORY, "%s", sc_error_text(SC_NO_MEMORY));
  analysis->info = *info;
  analysis->info.annotations = NULL;
  analysis->info.annotation_count = 0;
  analysis->settings = *settings;
  enum sc_error error = analysis_emission_create(info, settings, &analysis->emission);
  analysis->settings.masks = NULL; /* the emission has its own */
  if (error == SC_OK)
    error = info->kind == SC_KIND_IQ ? analysis_wanted_create(analysis) : create_real(analysis);
  if (error != SC_OK) {
    sc_analysis_destroy(analysis);
    return sc_fail(message, error, "%s: cannot be analysed: %s", info->name, sc_error_text(error));
  }
  *out = analysis;
  return SC_OK;
}

/* One channel of the block, in kHz of deviation where the scale is known. */
static void feed_real(struct sc_analysis *analysis, const struct sc_block *block)
{
  float scale = analysis_is_absolute(analysis) ? (float)analysis->settings.full_scale_khz : 1;
  bool discontinuity = block->discontinuity;
  for (size_t done = 0; done < block->frames;) {
    size_t left = block->frames - done, run = left < SCALE_FRAMES ? left : SCALE_FRAMES;
    const float *from = block->samples + done * block->channels;
    for (size_t i = 0; i < run; i++)
      analysis->scaled[i] = scale * from[i * block->channels];
    analysis_baseband_feed(analysis->baseband, analysis->scaled, run, discontinuity);
    discontinuity = false;
    done += run;
  }
}

/* Samples of another rate or tuned frequency are no continuation of this measurement. */
static bool belongs(const struct sc_analysis *analysis, const struct sc_block *block)
{
  const struct sc_source_info *now = block->info;
  return now == NULL || (now->sample_rate_hz == analysis->info.sample_rate_hz &&
                         now->centre_hz == analysis->info.centre_hz);
}

static void note_likely_type(struct sc_analysis *analysis, const struct sc_source_info *now)
{
  if (now == NULL || now->likely_type[0] == '\0')
    return;
  memcpy(analysis->info.likely_type, now->likely_type, sizeof now->likely_type);
  analysis->info.likely_db = now->likely_db;
}

enum sc_error sc_analysis_feed(struct sc_analysis *analysis, const struct sc_block *block)
{
  if (block->channels != analysis->info.channels)
    return SC_BAD_ARGUMENT;
  if (!belongs(analysis, block)) {
    analysis->other_settings += block->frames;
    return SC_OK;
  }
  note_likely_type(analysis, block->info);
  analysis_variation_feed(&analysis->variation, block);
  analysis->facts.gaps += block->discontinuity && analysis->facts.frames > 0;
  analysis->facts.frames += block->frames;
  analysis->facts.clipped += block->clipped;
  analysis->facts.invalid += block->invalid;
  if (analysis->info.kind == SC_KIND_IQ)
    return analysis_wanted_feed(analysis, block->samples, block->frames, block->discontinuity);
  feed_real(analysis, block);
  if (analysis->listener != NULL)
    analysis_listener_feed(analysis->listener, block->samples, block->frames, block->discontinuity);
  return SC_OK;
}

void sc_analysis_destroy(struct sc_analysis *analysis)
{
  if (analysis == NULL)
    return;
  sc_spectrum_destroy(analysis->air);
  analysis_emission_destroy(analysis->emission);
  analysis_rounded_destroy(analysis->rounded);
  analysis_head_destroy(analysis->head);
  analysis_later_destroy(analysis->later);
  analysis_channel_destroy(analysis->channel);
  analysis_baseband_destroy(analysis->baseband);
  analysis_listener_destroy(analysis->listener);
  free(analysis->scaled);
  free(analysis);
}
