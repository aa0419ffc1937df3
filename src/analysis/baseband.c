/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Everything that is measured of a real signal: spectrum, deviation, pilot, lines. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <stdlib.h>

#include <math.h>

#include "analysis/air.h"
#include "analysis/audiofile.h"
#include "analysis/baseband.h"
#include "analysis/halved.h"
#include "analysis/hum.h"
#include "analysis/linelist.h"
#include "analysis/listener.h"
#include "measure/lines_apart.h"

/* Of the spectrum: the guard bands beside the pilot are 4 kHz wide, subcarriers 5 kHz. */
static const double resolution_hz = 100;
/* The composite begins at 30 Hz (47 CFR 73.310: 50 Hz); room for rumble below, but the
 * carrier's offset, which stands at 0 Hz, is no line of it. */
static const double bottom_hz = 10;

static const double full_khz = 75;
/* Computed: from the nineteenth on no phase makes such a sum flatter than the arcsine law allows.
 */
static const double together_from = 1.5, together_to = 18.5;
/* What stands above 53 kHz is looked for after this time, and after twice as much, and so on. */
static const double aim_s = 0.4;

struct analysis_baseband {
  struct analysis_baseband_settings settings;
  struct sc_spectrum *spectrum;
  struct sc_deviation_meter *deviation; /* NULL for audio */
  struct analysis_halved *halved;       /* feeds pilot, stereo and RDS; NULL: they get all of it */
  struct sc_pilot_meter *pilot;         /* NULL for audio */
  struct sc_stereo_meter *stereo;       /* the same */
  struct sc_rds_meter *rds;             /* the same */
  struct analysis_audiofile *file;      /* writes what it gives; NULL: nothing is to be */
  struct analysis_listener *listener;   /* to what the stereo decoder gives; NULL: there is none */
  struct sc_injection_meter *injection; /* NULL for audio */
  double fed, aim_at;                   /* frames; when `injection` is to look around again */
  struct sc_lines *lines;               /* NULL when not asked for */
};

static enum sc_error create_spectrum(struct analysis_baseband *baseband)
{
  const struct analysis_baseband_settings *settings = &baseband->settings;
  struct sc_spectrum_settings wanted = {.sample_rate_hz = settings->rate_hz,
                                        .centre_hz = settings->top_hz / 2,
                                        .span_hz = settings->top_hz,
                                        .rbw_hz = resolution_hz,
                                        .window = SC_WINDOW_BLACKMAN_HARRIS,
                                        .overlap = 0.5,
                                        .records_enough = ANALYSIS_RECORDS_ENOUGH,
                                        .expected_frames = settings->expected_frames};
  return sc_spectrum_create(&wanted, &baseband->spectrum);
}

static enum sc_error create_halved(struct analysis_baseband *baseband)
{
  const struct analysis_baseband_settings *settings = &baseband->settings;
  return settings->composite ? analysis_halved_create(settings->rate_hz, &baseband->halved) : SC_OK;
}

static double lower_rate(const struct analysis_baseband *baseband)
{
  return baseband->settings.rate_hz / (baseband->halved != NULL ? 2 : 1);
}

static enum sc_error create_pilot(struct analysis_baseband *baseband)
{
  const struct analysis_baseband_settings *settings = &baseband->settings;
  struct sc_pilot_settings wanted = {lower_rate(baseband), settings->absolute,
                                     settings->clock_relative_uncertainty};
  return settings->composite ? sc_pilot_create(&wanted, &baseband->pilot) : SC_OK;
}

static enum sc_error create_deviation(struct analysis_baseband *baseband)
{
  const struct analysis_baseband_settings *settings = &baseband->settings;
  struct sc_deviation_settings wanted = {.rate_hz = settings->rate_hz,
                                         .absolute = settings->absolute};
  return settings->composite ? sc_deviation_create(&wanted, &baseband->deviation) : SC_OK;
}

static enum sc_error create_stereo(struct analysis_baseband *baseband)
{
  const struct analysis_baseband_settings *settings = &baseband->settings;
  struct sc_stereo_settings wanted = {lower_rate(baseband), settings->absolute,
                                      settings->deemphasis_us};
  return settings->composite ? sc_stereo_create(&wanted, &baseband->stereo) : SC_OK;
}

static enum sc_error create_rds(struct analysis_baseband *baseband)
{
  const struct analysis_baseband_settings *settings = &baseband->settings;
  struct sc_rds_settings wanted = {.rate_hz = lower_rate(baseband),
                                   .absolute = settings->absolute,
                                   .clock_relative_uncertainty =
                                       settings->clock_relative_uncertainty,
                                   .region = settings->rds_region,
                                   .groups_held = settings->rds_groups};
  return settings->composite ? sc_rds_create(&wanted, &baseband->rds) : SC_OK;
}

/* Full scale of the decoded audio is 75 kHz where deviations are known. */
static enum sc_error create_listener(struct analysis_baseband *baseband)
{
  const double rate_hz = baseband->stereo != NULL ? sc_stereo_audio_rate(baseband->stereo) : 0;
  return rate_hz > 0
             ? analysis_listener_create(rate_hz, 2, baseband->settings.absolute ? full_khz : 1, 0,
                                        &baseband->listener)
             : SC_OK;
}

/* Audio is written so that 75 kHz of deviation reach full scale, or as the composite was. */
static enum sc_error create_file(struct analysis_baseband *baseband)
{
  const struct analysis_baseband_settings *settings = &baseband->settings;
  double rate = baseband->stereo != NULL ? sc_stereo_audio_rate(baseband->stereo) : 0;
  struct analysis_audiofile_settings wanted = {rate, settings->absolute ? 1 / full_khz : 1,
                                               settings->audio_path, settings->audio_keep};
  return rate > 0 && settings->audio_path != NULL
             ? analysis_audiofile_create(&wanted, &baseband->file)
             : SC_OK;
}

static enum sc_error create_injection(struct analysis_baseband *baseband)
{
  const struct analysis_baseband_settings *settings = &baseband->settings;
  struct sc_injection_settings wanted = {settings->rate_hz, settings->absolute};
  baseband->aim_at = aim_s * settings->rate_hz;
  return settings->composite ? sc_injection_create(&wanted, &baseband->injection) : SC_OK;
}

static enum sc_error create_lines(struct analysis_baseband *baseband)
{
  const struct analysis_baseband_settings *settings = &baseband->settings;
  struct sc_lines_settings wanted = {.sample_rate_hz = settings->rate_hz,
                                     .single_precision = true,
                                     .lower_hz = bottom_hz,
                                     .upper_hz = settings->top_hz,
                                     .record_max = ANALYSIS_RECORD_MAX,
                                     .false_alarm = settings->false_alarm,
                                     .expected_frames = settings->expected_frames};
  enum sc_error error = settings->lines ? sc_lines_create(&wanted, &baseband->lines) : SC_OK;
  if (error == SC_OK && settings->lines)
    measure_lines_apart(baseband->lines, settings->apart);
  return error;
}

enum sc_error analysis_baseband_create(const struct analysis_baseband_settings *settings,
                                       struct analysis_baseband **out)
{
  *out = NULL;
  struct analysis_baseband *baseband = calloc(1, sizeof *baseband);
  if (baseband == NULL)
    return SC_NO_MEMORY;
  baseband->settings = *settings;
  enum sc_error error = create_spectrum(baseband);
  if (error == SC_OK)
    error = create_halved(baseband);
  if (error == SC_OK)
    error = create_pilot(baseband);
  if (error == SC_OK)
    error = create_deviation(baseband);
  if (error == SC_OK)
    error = create_stereo(baseband);
  if (error == SC_OK)
    error = create_rds(baseband);
  if (error == SC_OK)
    error = create_file(baseband);
  if (error == SC_OK)
    error = create_listener(baseband);
  if (error == SC_OK)
    error = create_injection(baseband);
  if (error == SC_OK)
    error = create_lines(baseband);
  if (error != SC_OK) {
    analysis_baseband_destroy(baseband);
    return error;
  }
  *out = baseband;
  return SC_OK;
}

static void feed_stereo(struct analysis_baseband *baseband, const float *samples, size_t frames,
                        bool discontinuity)
{
  while (frames > 0 || discontinuity) {
    size_t run = frames < SC_STEREO_FEED_MAX ? frames : SC_STEREO_FEED_MAX;
    struct sc_stereo_audio audio = sc_stereo_feed(baseband->stereo, samples, run, discontinuity);
    if (baseband->listener != NULL)
      analysis_listener_feed(baseband->listener, audio.sent, audio.frames, discontinuity);
    if (baseband->file != NULL)
      analysis_audiofile_feed(baseband->file, &audio);
    discontinuity = false;
    frames -= run;
    if (frames > 0)
      samples += run;
  }
}

static void feed_injection(struct analysis_baseband *baseband, const float *samples, size_t frames)
{
  struct sc_trace trace;
  sc_injection_feed(baseband->injection, samples, frames);
  baseband->fed += (double)frames;
  if (baseband->fed < baseband->aim_at)
    return;
  sc_spectrum_result(baseband->spectrum, &trace);
  sc_injection_aim(baseband->injection, &trace);
  baseband->aim_at *= 2;
}

/* What reads the composite up to the data subcarrier. */
static void feed_lower(struct analysis_baseband *baseband, const float *samples, size_t frames,
                       bool discontinuity)
{
  if (baseband->pilot != NULL)
    sc_pilot_feed(baseband->pilot, samples, frames, discontinuity);
  if (baseband->stereo != NULL)
    feed_stereo(baseband, samples, frames, discontinuity);
  if (baseband->rds != NULL)
    sc_rds_feed(baseband->rds, samples, frames, discontinuity);
}

static void feed_halved(struct analysis_baseband *baseband, const float *samples, size_t frames,
                        bool discontinuity)
{
  while (frames > 0 || discontinuity) {
    const float *made;
    const size_t run = frames < ANALYSIS_HALVED_FRAMES ? frames : ANALYSIS_HALVED_FRAMES;
    const size_t count = analysis_halved_feed(baseband->halved, samples, run, discontinuity, &made);
    feed_lower(baseband, made, count, discontinuity);
    discontinuity = false;
    frames -= run;
    if (frames > 0)
      samples += run;
  }
}

/* The search for lines is to know where the carrier jumps, which the composite of a channel tells.
 */
static void feed_lines(struct analysis_baseband *baseband, const float *samples, size_t frames,
                       bool discontinuity)
{
  struct sc_lines *lines = baseband->lines;
  if (discontinuity)
    sc_lines_feed(lines, samples, 0, true);
  while (frames > 0) {
    const size_t run = measure_lines_run(lines, frames);
    if (baseband->settings.absolute)
      measure_lines_carrier(lines, samples, run);
    sc_lines_feed(lines, samples, run, false);
    samples += run;
    frames -= run;
  }
}

void analysis_baseband_feed(struct analysis_baseband *baseband, const float *samples, size_t frames,
                            bool discontinuity)
{
  sc_spectrum_feed(baseband->spectrum, samples, frames, discontinuity);
  if (baseband->deviation != NULL)
    sc_deviation_feed(baseband->deviation, samples, frames, discontinuity);
  if (baseband->injection != NULL)
    feed_injection(baseband, samples, frames);
  if (baseband->halved != NULL)
    feed_halved(baseband, samples, frames, discontinuity);
  else
    feed_lower(baseband, samples, frames, discontinuity);
  if (baseband->lines != NULL)
    feed_lines(baseband, samples, frames, discontinuity);
}

void analysis_baseband_leave_out(struct analysis_baseband *baseband, size_t frames)
{
  if (baseband->lines != NULL)
    sc_lines_leave_out(baseband->lines, frames);
}

static enum sc_error take_lines(struct analysis_baseband *baseband, struct sc_result *result)
{
  const struct analysis_baseband_settings *settings = &baseband->settings;
  struct sc_lines_result found;
  sc_lines_result(baseband->lines, &found);
  if (found.records == 0) {
    result->composite_lines = analysis_no_lines("the capture is too short");
    return SC_OK;
  }
  enum sc_error error = analysis_lines_add(&result->composite_lines, &found, 0, NULL);
  analysis_lines_reach(&result->composite_lines, &found, (double)INFINITY);
  if (error == SC_OK)
    analysis_lines_on_composite(&result->composite_lines, settings->absolute,
                                settings->composite ? &result->pilot : NULL,
                                settings->clock_relative_uncertainty);
  return error;
}

static void take_audio(struct analysis_baseband *baseband, struct sc_result *result)
{
  analysis_listener_result(baseband->listener, &result->audio);
  result->audio.basis = "left and right as decoded, before any de-emphasis (--deemphasis does not "
                        "concern it)";
  if (result->audio.sequence == SC_YES)
    result->audio.sequence_start_s =
        sc_not_measured("the decoder's start, which is not counted, comes before it");
}

static void take_separation(const struct sc_quantity *heard, struct sc_quantity *separation,
                            struct sc_quantity *at_least)
{
  if (heard->why != NULL)
    return;
  *separation = *heard;
  *at_least = sc_not_measured("the separation itself was measured, by the test audio");
}

/* With the test audio it is known what was sent in which channel. */
static void take_test_audio(struct sc_result *result)
{
  const struct sc_audio *audio = &result->audio;
  struct sc_stereo *stereo = &result->stereo;
  sc_preemphasis_fit(audio, &result->preemphasis);
  if (audio->sequence != SC_YES)
    return;
  take_separation(&audio->separation_left_to_right_db, &stereo->separation_left_to_right_db,
                  &stereo->separation_left_to_right_at_least_db);
  take_separation(&audio->separation_right_to_left_db, &stereo->separation_right_to_left_db,
                  &stereo->separation_right_to_left_at_least_db);
}

/* A strong tone whose first odd multiples the pilot is one of goes with it, and what both make
 * together may be as flat as what a limiter leaves (measure/limiter.h). */
static bool goes_with_pilot(const struct sc_result *result)
{
  const struct sc_line_list *list = &result->composite_lines;
  for (size_t i = 0; list->why == NULL && i < list->count; i++) {
    const struct sc_line *line = &list->lines[i];
    const double times = result->pilot.frequency_hz.value / line->offset_hz.value;
    const bool strong = line->deviation_khz.why == NULL &&
                        line->deviation_khz.value > result->pilot.deviation_khz.value;
    if (strong && times > together_from && times < together_to &&
        fabs(times - round(times)) * line->offset_hz.value <= list->resolution_hz)
      return true;
  }
  return false;
}

static void take_deviation(struct analysis_baseband *baseband,
                           const struct sc_composite_noise *noise, struct sc_result *result)
{
  const struct sc_quantity *pilot = &result->pilot.deviation_khz;
  sc_deviation_result(baseband->deviation, noise, &result->deviation);
  if (pilot->why == NULL && !goes_with_pilot(result))
    sc_deviation_cut_off(baseband->deviation, pilot->value, &result->deviation);
  else if (result->deviation.offset_khz.why == NULL)
    result->deviation.cut_off_khz = sc_not_measured(
        "it takes a pilot, and no strong tone of which the pilot is a low multiple");
}

static void take_injections(struct analysis_baseband *baseband,
                            const struct sc_composite_noise *noise, struct sc_result *result)
{
  struct sc_trace trace;
  sc_spectrum_result(baseband->spectrum, &trace);
  double pilot = result->pilot.amplitude.why == NULL ? result->pilot.amplitude.value : (double)NAN;
  sc_injection_result(baseband->injection, &trace, noise, pilot, &result->injections);
}

static enum sc_error list_groups(const struct analysis_baseband *baseband,
                                 struct sc_rds_listing *list)
{
  const size_t room = baseband->settings.rds_groups;
  uint64_t made;
  *list = (struct sc_rds_listing){.why = room == 0 ? "it was not asked for (--rds-groups)" : NULL};
  if (room == 0)
    return SC_OK;
  list->groups = malloc(room * sizeof *list->groups);
  if (list->groups == NULL)
    return SC_NO_MEMORY;
  list->count = sc_rds_groups(baseband->rds, list->groups, room, &made);
  list->earlier = made - list->count;
  double start_s = baseband->settings.start_s;
  if (baseband->halved != NULL)
    start_s += analysis_halved_start_s(baseband->halved);
  for (size_t i = 0; i < list->count; i++)
    list->groups[i].time_s += start_s;
  return SC_OK;
}

static void add_clock(double clock_relative, struct sc_quantity *hz)
{
  if (hz->why == NULL)
    hz->uncertainty = analysis_with_clock(hz->uncertainty, hz->value, clock_relative);
}

static void take_stereo(struct analysis_baseband *baseband, const struct sc_stereo_context *context,
                        struct sc_stereo *stereo)
{
  const double clock = baseband->settings.clock_relative_uncertainty;
  sc_stereo_result(baseband->stereo, context, stereo);
  add_clock(clock, &stereo->separation_left_hz);
  add_clock(clock, &stereo->separation_right_hz);
  add_clock(clock, &stereo->interchannel_hz);
}

static enum sc_error take_rds(struct analysis_baseband *baseband, struct sc_result *result)
{
  sc_rds_result(baseband->rds, &result->rds);
  return list_groups(baseband, &result->rds_groups);
}

enum sc_error analysis_baseband_result(struct analysis_baseband *baseband,
                                       const struct sc_composite_noise *noise, double image,
                                       struct sc_result *result)
{
  if (baseband->pilot != NULL)
    sc_pilot_result(baseband->pilot, &result->pilot);
  result->composite_lines = analysis_no_lines("lines were not asked for");
  if (baseband->lines != NULL && take_lines(baseband, result) != SC_OK)
    return SC_NO_MEMORY;
  const bool absolute = baseband->settings.absolute && baseband->settings.composite;
  const double hum = absolute ? analysis_hum_power(&result->composite_lines) : 0.0;
  const struct sc_stereo_context context = {&result->pilot, noise, image, hum};
  if (baseband->stereo != NULL)
    take_stereo(baseband, &context, &result->stereo);
  if (baseband->rds != NULL && take_rds(baseband, result) != SC_OK)
    return SC_NO_MEMORY;
  const struct sc_composite_noise least =
      sc_composite_noise_at_most(noise, result->stereo.noise_per_hz);
  if (baseband->deviation != NULL)
    take_deviation(baseband, &least, result);
  if (baseband->injection != NULL)
    take_injections(baseband, &least, result);
  result->noise.fm_noise_db = result->stereo.hum_db;
  result->noise.fm_noise_limit_db = result->stereo.hum_limit_db;
  result->noise.fm_noise_at_most_db = result->stereo.hum_at_most_db;
  if (baseband->settings.composite)
    result->noise.deemphasis_us = sc_measured(baseband->settings.deemphasis_us, (double)NAN);
  if (baseband->listener != NULL)
    take_audio(baseband, result);
  else if (baseband->settings.composite)
    sc_audio_refuse(&result->audio, "the capture is too slow for a stereo decoder");
  if (baseband->settings.composite)
    take_test_audio(result);
  return SC_OK;
}

enum sc_error analysis_baseband_save_audio(struct analysis_baseband *baseband,
                                           struct sc_message *message)
{
  if (baseband->file != NULL)
    return analysis_audiofile_save(baseband->file, message);
  if (baseband->settings.audio_path == NULL)
    return SC_OK;
  return sc_fail(message, SC_UNSUPPORTED, "%s: not written, the capture holds no stereo composite",
                 baseband->settings.audio_path);
}

void analysis_baseband_trace(struct analysis_baseband *baseband, struct sc_trace *trace)
{
  sc_spectrum_result(baseband->spectrum, trace);
}

void analysis_baseband_destroy(struct analysis_baseband *baseband)
{
  if (baseband == NULL)
    return;
  sc_spectrum_destroy(baseband->spectrum);
  analysis_halved_destroy(baseband->halved);
  sc_pilot_destroy(baseband->pilot);
  sc_deviation_destroy(baseband->deviation);
  sc_injection_destroy(baseband->injection);
  sc_stereo_destroy(baseband->stereo);
  sc_rds_destroy(baseband->rds);
  analysis_audiofile_destroy(baseband->file);
  analysis_listener_destroy(baseband->listener);
  sc_lines_destroy(baseband->lines);
  free(baseband);
}
