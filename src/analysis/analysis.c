/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The chain of everything: blocks of a capture in, one result out.
 *
 * An IQ capture is searched for its channel in its first second, which is kept and replayed
 * into the channel's measurements once these exist. While nothing is found the search begins
 * again with the next second: a transmitter may be keyed late. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <sidecomb/analysis.h>

#include "account/account.h"
#include "analysis/absolute.h"
#include "analysis/air.h"
#include "analysis/baseband.h"
#include "analysis/baseline.h"
#include "analysis/blank.h"
#include "analysis/centre.h"
#include "analysis/channel.h"
#include "analysis/emission.h"
#include "analysis/explain.h"
#include "analysis/foreign.h"
#include "analysis/head.h"
#include "analysis/listener.h"
#include "analysis/missing.h"
#include "analysis/naming.h"
#include "analysis/overload.h"
#include "analysis/rounded.h"
#include "analysis/undecoded.h"
#include "analysis/unwanted.h"
#include "analysis/variation.h"
#include "analysis/warnings.h"
#include "analysis/worker.h"
#include "dsp/resample.h"
#include "measure/channel.h"

/* Bins of the spectrum of the whole capture: fast, and 0.6 kHz wide at 2.4 MS/s. */
enum { SCALE_FRAMES = 4096 };
/* Highest composite frequency that is looked at (47 CFR 73.322: baseband up to 99 kHz). */
static const double composite_top_hz = 100000;
/* Sound cards fall at the very edge. */
static const double usable_share = 0.95;

struct sc_analysis {
  struct sc_source_info info;
  struct sc_analysis_settings settings;
  struct sc_capture_facts facts;
  uint64_t other_settings; /* frames left out */
  struct analysis_variation variation;
  /* kind iq */
  struct sc_spectrum *air;
  struct analysis_emission *emission;
  struct analysis_rounded *rounded; /* NULL: not wanted */
  struct analysis_head *head;       /* NULL when the channel is known */
  bool tentative;                   /* a result was asked for: the channel is by part of the head */
  uint64_t searched;                /* frames before the channel's first, ... */
  uint64_t head_at;                 /* ... before the head's */
  uint64_t taken;                   /* frames from there on */
  double channel_hz;
  bool skipped; /* the spectra were left out of something */
  struct analysis_channel *channel;
  const char *channel_why; /* why there is no channel */
  /* kinds composite and audio */
  struct analysis_baseband *baseband;
  float *scaled;                      /* SCALE_FRAMES */
  struct analysis_listener *listener; /* kind audio */
};

/* A mixer takes half the time where its cycles repeat soon; the guess is no better than this. */
static const double near_enough_hz = 25;

static const char no_signal[] = "no FM signal stands out of the noise";

/* 0: unknown. */
static uint64_t frames_to_come(const struct sc_analysis *analysis)
{
  const uint64_t all = analysis->info.frames;
  return all > analysis->searched ? all - analysis->searched : 0;
}

/* "Not possible here" is a finding, not an error. */
static enum sc_error start_channel(struct sc_analysis *analysis, double channel_hz)
{
  analysis->channel_hz = channel_hz;
  struct analysis_channel_settings settings = {
      .sample_rate_hz = analysis->info.sample_rate_hz,
      .channel_hz = channel_hz,
      .centre_hz = analysis->info.centre_hz,
      .lines = analysis->settings.lines,
      .deemphasis_us = analysis->settings.deemphasis_us,
      .audio_path = analysis->settings.audio_path,
      .audio_keep = analysis->settings.audio_keep,
      .clock_relative_uncertainty = analysis->info.clock_relative_uncertainty,
      .false_alarm = analysis->settings.line_false_alarm,
      .expected_frames = frames_to_come(analysis),
      .start_s = (double)analysis->searched / analysis->info.sample_rate_hz,
      .rds_region = analysis->settings.rds_region,
      .rds_groups = analysis->settings.rds_groups,
      .threads = analysis_worker_threads(analysis->settings.threads)};
  enum sc_error error = analysis_channel_create(&settings, &analysis->channel);
  if (error == SC_BAD_ARGUMENT)
    analysis->channel_why = "the sample rate is not within 192 kS/s to 10 MS/s";
  else if (error == SC_UNSUPPORTED)
    analysis->channel_why = "the transmitter is too near to the edge of the capture";
  else
    return error;
  return SC_OK;
}

static enum sc_error create_iq(struct sc_analysis *analysis)
{
  enum sc_error error = analysis_air_create(&analysis->info, &analysis->air);
  if (error == SC_OK && analysis->settings.lines)
    error = analysis_rounded_create(&analysis->info, &analysis->rounded);
  if (error != SC_OK)
    return error;
  if (isfinite(analysis->settings.channel_hz))
    return start_channel(analysis, analysis->settings.channel_hz);
  return analysis_head_create(analysis->info.sample_rate_hz, &analysis->head);
}

static bool is_absolute(const struct sc_analysis *analysis)
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
      .absolute = is_absolute(analysis),
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
  analysis->channel_why = no_signal;
  enum sc_error error = analysis_emission_create(info, settings, &analysis->emission);
  analysis->settings.masks = NULL; /* the emission has its own */
  if (error == SC_OK)
    error = info->kind == SC_KIND_IQ ? create_iq(analysis) : create_real(analysis);
  if (error != SC_OK) {
    sc_analysis_destroy(analysis);
    return sc_fail(message, error, "%s: cannot be analysed: %s", info->name, sc_error_text(error));
  }
  *out = analysis;
  return SC_OK;
}

/* What is kept of the samples is memory that most captures do not need. */
static void consider_rounding(struct sc_analysis *analysis)
{
  struct sc_trace air;
  struct measure_noise noise;
  sc_spectrum_result(analysis->air, &air);
  if (measure_noise_beside(&air, analysis->channel_hz, &noise))
    analysis_rounded_consider(analysis->rounded, 10 * log10(noise.density));
}

static void feed_spectra(struct sc_analysis *analysis, const float *iq, size_t frames,
                         bool discontinuity)
{
  sc_spectrum_feed(analysis->air, iq, frames, discontinuity);
  analysis_emission_feed(analysis->emission, iq, frames, discontinuity);
  if (analysis_rounded_feed(analysis->rounded, iq, frames, discontinuity))
    consider_rounding(analysis);
}

static void reset_spectra(struct sc_analysis *analysis)
{
  sc_spectrum_reset(analysis->air);
  analysis_emission_reset(analysis->emission);
  analysis_rounded_reset(analysis->rounded);
}

/* What was taken for the channel so far was none: the carrier comes only now. */
static enum sc_error begin_again(struct sc_analysis *analysis)
{
  analysis->searched += analysis->taken;
  analysis->taken = 0;
  analysis_channel_destroy(analysis->channel);
  analysis->channel = NULL;
  reset_spectra(analysis);
  return start_channel(analysis, analysis->channel_hz);
}

static enum sc_error take_run(struct sc_analysis *analysis, const float *iq, size_t frames,
                              bool discontinuity)
{
  if (analysis->channel != NULL) {
    const bool on = analysis_channel_feed(analysis->channel, iq, frames, discontinuity);
    analysis->taken += frames;
    if (analysis_channel_begun(analysis->channel))
      return begin_again(analysis);
    discontinuity = discontinuity || analysis->skipped;
    analysis->skipped = !on;
    if (!on)
      return SC_OK;
  }
  feed_spectra(analysis, iq, frames, discontinuity);
  return SC_OK;
}

static enum sc_error take(struct sc_analysis *analysis, const float *iq, size_t frames,
                          bool discontinuity)
{
  enum sc_error error = SC_OK;
  while (error == SC_OK && frames > 0) {
    const size_t run = frames < ANALYSIS_CHANNEL_RUN ? frames : ANALYSIS_CHANNEL_RUN;
    error = take_run(analysis, iq, run, discontinuity);
    discontinuity = false;
    iq += 2 * run;
    frames -= run;
  }
  return error;
}

static bool head_run(const struct sc_analysis *analysis, size_t i, struct sc_block *run)
{
  return analysis_head_run(analysis->head, i, &run->samples, &run->frames, &run->discontinuity);
}

/* Starts the channel when it is there, and replays what was kept. */
static enum sc_error search(struct sc_analysis *analysis)
{
  struct sc_channel_guess guess = analysis_head_guess(analysis->head);
  if (guess.present != SC_YES)
    return SC_OK;
  enum sc_error error = analysis_centre(analysis->head, analysis->info.sample_rate_hz, &guess);
  if (error != SC_OK)
    return error;
  analysis->tentative = true;
  analysis->head_at = analysis->searched;
  const double near_hz =
      dsp_mixer_near(guess.offset_hz, near_enough_hz, analysis->info.sample_rate_hz);
  error = start_channel(analysis, near_hz);
  if (error == SC_OK && analysis->channel != NULL)
    reset_spectra(analysis);
  struct sc_block run;
  for (size_t i = 0; error == SC_OK && analysis->channel != NULL && head_run(analysis, i, &run);
       i++)
    error = take(analysis, run.samples, run.frames, run.discontinuity);
  return error;
}

/* As if nobody had asked for a result: the channel is to be what the whole head says. */
static void take_back(struct sc_analysis *analysis)
{
  const bool replayed = analysis->channel != NULL;
  analysis_channel_destroy(analysis->channel);
  analysis->channel = NULL;
  analysis->channel_why = no_signal;
  analysis->tentative = analysis->skipped = false;
  analysis->searched = analysis->head_at;
  analysis->taken = 0;
  if (!replayed)
    return;
  reset_spectra(analysis);
  struct sc_block run;
  for (size_t i = 0; head_run(analysis, i, &run); i++)
    feed_spectra(analysis, run.samples, run.frames, run.discontinuity);
}

/* By a head that is full: done with it, or with what is in it. */
static enum sc_error end_head(struct sc_analysis *analysis)
{
  const enum sc_error error = search(analysis);
  if (error == SC_OK && analysis->tentative) {
    analysis_head_destroy(analysis->head);
    analysis->head = NULL;
    analysis->tentative = false;
  } else if (error == SC_OK) {
    analysis->searched += analysis_head_frames(analysis->head);
    analysis_head_reset(analysis->head);
  }
  return error;
}

/* While the channel is not known, the spectra have all. */
static enum sc_error feed_iq(struct sc_analysis *analysis, const float *iq, size_t frames,
                             bool discontinuity)
{
  if (analysis->tentative)
    take_back(analysis);
  while (analysis->head != NULL && frames > 0) {
    size_t taken = analysis_head_feed(analysis->head, iq, frames, discontinuity);
    feed_spectra(analysis, iq, taken, discontinuity);
    discontinuity = discontinuity && taken == 0;
    iq += 2 * taken;
    frames -= taken;
    enum sc_error error = analysis_head_full(analysis->head) ? end_head(analysis) : SC_OK;
    if (error != SC_OK)
      return error;
  }
  return take(analysis, iq, frames, discontinuity);
}

static double left_out_s(const struct sc_analysis *analysis)
{
  if (analysis->channel == NULL)
    return 0;
  return (double)analysis->searched / analysis->info.sample_rate_hz +
         analysis_channel_left_out_s(analysis->channel);
}

/* One channel of the block, in kHz of deviation where the scale is known. */
static void feed_real(struct sc_analysis *analysis, const struct sc_block *block)
{
  float scale = is_absolute(analysis) ? (float)analysis->settings.full_scale_khz : 1;
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

enum sc_error sc_analysis_feed(struct sc_analysis *analysis, const struct sc_block *block)
{
  if (block->channels != analysis->info.channels)
    return SC_BAD_ARGUMENT;
  if (!belongs(analysis, block)) {
    analysis->other_settings += block->frames;
    return SC_OK;
  }
  analysis_variation_feed(&analysis->variation, block);
  analysis->facts.gaps += block->discontinuity && analysis->facts.frames > 0;
  analysis->facts.frames += block->frames;
  analysis->facts.clipped += block->clipped;
  analysis->facts.invalid += block->invalid;
  if (analysis->info.kind == SC_KIND_IQ)
    return feed_iq(analysis, block->samples, block->frames, block->discontinuity);
  feed_real(analysis, block);
  if (analysis->listener != NULL)
    analysis_listener_feed(analysis->listener, block->samples, block->frames, block->discontinuity);
  return SC_OK;
}

static enum sc_error result_iq(struct sc_analysis *analysis, struct sc_result *result)
{
  enum sc_error error = SC_OK;
  if (analysis->head != NULL && !analysis->tentative && analysis_head_frames(analysis->head) > 0)
    error = search(analysis);
  if (error != SC_OK)
    return error;
  if (analysis->channel == NULL) {
    analysis_blank(result, analysis->channel_why, "there is no carrier");
    analysis_emission_refuse(analysis->emission, analysis->channel_why, result);
    result->carrier.present = analysis->head != NULL && !analysis->tentative ? SC_NO : SC_UNKNOWN;
    return SC_OK;
  }
  analysis_blank(result, "there is no carrier", "there is no composite");
  analysis_emission_refuse(analysis->emission, "there is no carrier", result);
  struct sc_trace air;
  sc_spectrum_result(analysis->air, &air);
  error = analysis_channel_result(analysis->channel, air.points > 0 ? &air : NULL, result);
  return error == SC_OK ? analysis_emission_result(analysis->emission, &air, result) : error;
}

static enum sc_error result_real(struct sc_analysis *analysis, struct sc_result *result)
{
  bool composite = analysis->info.kind == SC_KIND_COMPOSITE;
  analysis_blank(result, composite ? "a composite holds no carrier" : "audio holds no carrier",
                 composite ? "a composite holds no carrier" : "audio holds no composite");
  analysis_emission_refuse(analysis->emission, result->carrier.why, result);
  if (composite) {
    result->composite_why = NULL;
    result->composite_absolute = is_absolute(analysis);
    result->composite_full_scale = is_absolute(analysis) ? analysis->settings.full_scale_khz : 1;
    result->composite_rate_hz = sc_measured(analysis->info.sample_rate_hz, (double)NAN);
  }
  const struct sc_composite_noise unknown = sc_composite_noise_unknown();
  if (analysis->listener != NULL)
    analysis_listener_result(analysis->listener, &result->audio);
  if (!composite)
    result->audio.basis = "the recording as it is; --deemphasis does not concern it";
  return analysis_baseband_result(analysis->baseband, &unknown, 0, result);
}

static void refuse(const struct sc_analysis *analysis, const char *why, struct sc_result *result)
{
  analysis_blank(result, why, why);
  analysis_emission_refuse(analysis->emission, why, result);
}

static enum sc_error measure(struct sc_analysis *analysis, struct sc_result *result)
{
  const char *why = analysis_nothing_told(&analysis->variation, &analysis->info, &analysis->facts,
                                          analysis->other_settings);
  if (why == NULL)
    return analysis->info.kind == SC_KIND_IQ ? result_iq(analysis, result)
                                             : result_real(analysis, result);
  refuse(analysis, why, result);
  return SC_OK;
}

enum sc_error sc_analysis_result(struct sc_analysis *analysis, struct sc_result *result)
{
  bool iq = analysis->info.kind == SC_KIND_IQ;
  enum sc_error error = measure(analysis, result);
  if (error != SC_OK) {
    sc_result_clear(result);
    return error;
  }
  result->capture = analysis->facts;
  result->capture.info = analysis->info;
  result->capture.reference_hz = analysis->settings.reference_hz;
  result->capture.duration_s = (double)analysis->facts.frames / analysis->info.sample_rate_hz;
  result->capture.left_out_s = iq ? left_out_s(analysis) : (double)NAN;
  analysis_doubt_data(result);
  analysis_missing(result);
  analysis_name_injections(result);
  result->unmeasured = analysis_unmeasured(analysis->info.kind, result);
  double half_width =
      analysis->channel != NULL ? analysis_channel_half_width(analysis->channel) : 0;
  analysis_warnings(result, half_width, analysis->other_settings,
                    analysis->facts.frames > analysis->facts.invalid &&
                        !analysis->variation.varies);
  struct sc_trace air;
  double least_dbc;
  bool has_air = sc_analysis_air(analysis, &air) == SC_OK;
  error = analysis_explain(analysis_channel_beneath(analysis->channel), analysis->rounded,
                           has_air ? &air : NULL, analysis_channel_image(analysis->channel), result,
                           &least_dbc);
  if (error != SC_OK) {
    sc_result_clear(result);
    return error;
  }
  account_edges(result);
  analysis_warn_of_rounding(result);
  analysis_warn_of_reach(result);
  analysis_foreign(analysis_channel_beneath(analysis->channel), has_air ? &air : NULL, result);
  analysis_made(result);
  if (analysis->settings.baseline != NULL)
    analysis_baseline_lines(analysis->settings.baseline, result);
  analysis_overload_lines(result);
  analysis_unwanted(has_air ? &air : NULL, analysis_channel_beneath(analysis->channel), least_dbc,
                    result);
  analysis_absolute(&analysis->settings, result);
  analysis_overload(result);
  account_sentence(result);
  return SC_OK;
}

enum sc_error sc_analysis_save_audio(struct sc_analysis *analysis, struct sc_message *message)
{
  if (analysis->channel != NULL)
    return analysis_channel_save_audio(analysis->channel, message);
  if (analysis->baseband != NULL)
    return analysis_baseband_save_audio(analysis->baseband, message);
  if (analysis->settings.audio_path == NULL)
    return SC_OK;
  return sc_fail(message, SC_UNSUPPORTED, "%s: not written, %s", analysis->settings.audio_path,
                 analysis->channel_why);
}

enum sc_error sc_analysis_air(struct sc_analysis *analysis, struct sc_trace *trace)
{
  if (analysis->air == NULL)
    return SC_UNSUPPORTED;
  sc_spectrum_result(analysis->air, trace);
  return SC_OK;
}

enum sc_error sc_analysis_composite(struct sc_analysis *analysis, struct sc_trace *trace)
{
  if (analysis->channel != NULL)
    analysis_channel_trace(analysis->channel, trace);
  else if (analysis->baseband != NULL)
    analysis_baseband_trace(analysis->baseband, trace);
  else
    return SC_UNSUPPORTED;
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
  analysis_channel_destroy(analysis->channel);
  analysis_baseband_destroy(analysis->baseband);
  analysis_listener_destroy(analysis->listener);
  free(analysis->scaled);
  free(analysis);
}
