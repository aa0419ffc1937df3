/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* An IQ capture is searched for its channel in its first second, which is kept and replayed
 * into the channel's measurements once these exist. While nothing is found the search begins
 * again with the next second: a transmitter may be keyed late. So it does where what was found
 * gives way to what comes later. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "analysis/analysis_parts.h"

#include <math.h>

#include "analysis/air.h"
#include "analysis/centre.h"
#include "analysis/worker.h"
#include "dsp/resample.h"
#include "measure/channel.h"

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

/* The search goes on as if it had begun after so many frames. */
static void leave_channel(struct sc_analysis *analysis, uint64_t searched)
{
  analysis_channel_destroy(analysis->channel);
  analysis->channel = NULL;
  analysis->channel_why = no_signal;
  analysis->tentative = analysis->skipped = false;
  analysis->searched = searched;
  analysis->taken = 0;
}

/* As if nobody had asked for a result: the channel is to be what the whole head says. */
static void take_back(struct sc_analysis *analysis)
{
  const bool replayed = analysis->channel != NULL;
  leave_channel(analysis, analysis->head_at);
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
  enum sc_error error = search(analysis);
  if (error == SC_OK && analysis->tentative) {
    error = analysis_later_create(analysis->info.sample_rate_hz, analysis->head, &analysis->later);
    analysis_head_destroy(analysis->head);
    analysis->head = NULL;
    analysis->tentative = false;
  } else if (error == SC_OK) {
    analysis->searched += analysis_head_frames(analysis->head);
    analysis_head_reset(analysis->head);
  }
  return error;
}

/* As if the capture had begun with these samples, the last ones so far. */
static enum sc_error begin_elsewhere(struct sc_analysis *analysis, struct analysis_head *head)
{
  analysis_later_destroy(analysis->later);
  analysis->later = NULL;
  leave_channel(analysis, analysis->passed - analysis_head_frames(head));
  analysis->head = head;
  reset_spectra(analysis);
  return end_head(analysis);
}

/* With a channel; that may be left for what comes now. */
static enum sc_error take_and_look(struct sc_analysis *analysis, const float *iq, size_t frames,
                                   bool discontinuity)
{
  while (frames > 0) {
    size_t run = frames;
    enum sc_error error = SC_OK;
    if (analysis->later != NULL)
      error = analysis_later_feed(analysis->later, iq, frames, discontinuity, &run);
    if (error == SC_OK)
      error = take(analysis, iq, run, discontinuity);
    analysis->passed += run;
    discontinuity = discontinuity && run == 0;
    iq += 2 * run;
    frames -= run;
    struct analysis_head *found =
        analysis->later != NULL ? analysis_later_found(analysis->later) : NULL;
    if (error == SC_OK && found != NULL)
      error = begin_elsewhere(analysis, found);
    if (error != SC_OK)
      return error;
  }
  return SC_OK;
}

/* While the channel is not known, the spectra have all. */
enum sc_error analysis_wanted_feed(struct sc_analysis *analysis, const float *iq, size_t frames,
                                   bool discontinuity)
{
  if (analysis->tentative)
    take_back(analysis);
  while (analysis->head != NULL && frames > 0) {
    size_t taken = analysis_head_feed(analysis->head, iq, frames, discontinuity);
    feed_spectra(analysis, iq, taken, discontinuity);
    analysis->passed += taken;
    discontinuity = discontinuity && taken == 0;
    iq += 2 * taken;
    frames -= taken;
    enum sc_error error = analysis_head_full(analysis->head) ? end_head(analysis) : SC_OK;
    if (error != SC_OK)
      return error;
  }
  return take_and_look(analysis, iq, frames, discontinuity);
}

enum sc_error analysis_wanted_now(struct sc_analysis *analysis)
{
  const struct analysis_head *head = analysis->head;
  return head != NULL && !analysis->tentative && analysis_head_frames(head) > 0 ? search(analysis)
                                                                                : SC_OK;
}

enum sc_error analysis_wanted_create(struct sc_analysis *analysis)
{
  analysis->channel_why = no_signal;
  enum sc_error error = analysis_air_create(&analysis->info, &analysis->air);
  if (error == SC_OK && analysis->settings.lines)
    error = analysis_rounded_create(&analysis->info, &analysis->rounded);
  if (error != SC_OK)
    return error;
  if (isfinite(analysis->settings.channel_hz))
    return start_channel(analysis, analysis->settings.channel_hz);
  return analysis_head_create(analysis->info.sample_rate_hz, &analysis->head);
}
