/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* One FM channel: the demodulator, and what is fed by it. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <assert.h>
#include <math.h>

#include "analysis/channel_parts.h"
#include "analysis/linelist.h"
#include "analysis/widen.h"

/* The noise around a residual carrier is measured from here on. */
static const double image_apart_hz = 5;

/* Frames that are looked at for holes at once: no more than a run of stretches makes. */
enum { PORTION = 1024 };
/* What is longer is a pause. */
static const double hole_longest_s = 0.1;

/* So the stretches know where a hole is, but for the delay of the channel's filter, which is
 * shorter than the runs beside it. False: there is one. */
static bool feed_stretches(struct analysis_channel *channel, const float *iq, size_t frames,
                           const float *khz, const float *filtered, size_t made)
{
  const double longest = hole_longest_s * channel->settings.sample_rate_hz;
  bool whole = true;
  size_t done = 0;
  for (size_t at = 0; at < frames; at += PORTION) {
    const size_t portion = frames - at < PORTION ? frames - at : PORTION;
    const size_t to = made * (at + portion) / frames;
    uint64_t ended;
    const bool carrier = analysis_stretches_carrier(channel->stretches);
    const bool hole = analysis_holes_feed(&channel->holes, iq + 2 * at, portion, &ended);
    channel->lost += ended > 0 && (double)ended < longest;
    whole = whole && !(carrier && hole);
    analysis_stretches_spoil(channel->stretches, hole);
    analysis_stretches_feed(channel->stretches, khz + done, filtered + 2 * done, to - done, false);
    done = to;
  }
  return whole;
}

bool analysis_channel_feed(struct analysis_channel *channel, const float *iq, size_t frames,
                           bool discontinuity)
{
  const float *khz, *filtered;
  assert(frames <= ANALYSIS_CHANNEL_RUN);
  const size_t made =
      sc_demodulator_feed(channel->demodulator, iq, frames, discontinuity, &khz, &filtered);
  if (discontinuity) {
    analysis_holes_break(&channel->holes);
    analysis_stretches_feed(channel->stretches, khz, filtered, 0, true);
  }
  const bool whole = feed_stretches(channel, iq, frames, khz, filtered, made);
  const bool on = whole && analysis_stretches_on(channel->stretches);
  if (on && channel->outside != NULL) {
    sc_lines_feed(channel->outside, iq, 0, discontinuity || channel->skipped);
    measure_lines_carrier(channel->outside, khz, made);
    sc_lines_feed(channel->outside, iq, frames, false);
  } else if (channel->outside != NULL)
    sc_lines_leave_out(channel->outside, frames);
  channel->skipped = !on;
  return on;
}

bool analysis_channel_begun(const struct analysis_channel *channel)
{
  return analysis_stretches_begun(channel->stretches);
}

double analysis_channel_left_out_s(const struct analysis_channel *channel)
{
  return (double)analysis_stretches_left_out(channel->stretches) / channel->info.rate_hz;
}

void analysis_channel_carried(const struct analysis_channel *channel, double start_s,
                              struct sc_passages *carried)
{
  *carried = channel->carried;
  for (size_t i = 0; i < carried->count; i++) {
    carried->at[i].from_s += start_s;
    carried->at[i].to_s += start_s;
  }
}

uint64_t analysis_channel_holes(const struct analysis_channel *channel)
{
  return channel->lost;
}

/* What is fed by the demodulator is at the last frame; searches that have another thread see to it
 * themselves. */
static void drain(struct analysis_channel *channel)
{
  analysis_stretches_flush(channel->stretches);
  analysis_worker_drain(channel->listener);
}

/* The tuned frequency comes from the same clock as the samples. */
static struct sc_quantity absolute_frequency(const struct analysis_channel_settings *settings,
                                             const struct sc_carrier *carrier)
{
  double relative = settings->clock_relative_uncertainty;
  if (carrier->offset_hz.why != NULL)
    return sc_not_measured(carrier->offset_hz.why);
  if (settings->centre_hz == 0)
    return sc_not_measured("the capture does not state its tuned frequency");
  double frequency = settings->centre_hz + carrier->offset_hz.value;
  double clock = isfinite(relative) ? frequency * relative : 0;
  return sc_measured(frequency, hypot(carrier->offset_hz.uncertainty, clock));
}

/* Lines of one search, which reaches so far from the carrier; `searched` NULL adds nothing. */
static enum sc_error add_lines(struct sc_lines *searched, double shift_hz, double reach_hz,
                               const struct analysis_followed *followed, struct sc_line_list *list)
{
  if (searched == NULL)
    return SC_OK;
  struct sc_lines_result found;
  sc_lines_result(searched, &found);
  if (found.records == 0)
    return SC_OK;
  enum sc_error error = analysis_lines_add(list, &found, shift_hz, followed);
  analysis_lines_reach(list, &found, reach_hz);
  return error;
}

/* A line that stays is told from a wandering carrier's mean, and known no better than that. */
static void doubt_still(struct sc_line_list *list, const struct sc_carrier *carrier)
{
  for (size_t i = 0; i < list->count && carrier->wanders == SC_YES; i++) {
    double *uncertainty = &list->lines[i].offset_hz.uncertainty;
    if (list->lines[i].tone.still)
      *uncertainty = hypot(*uncertainty, carrier->offset_hz.uncertainty);
  }
}

static enum sc_error take_air_lines(struct analysis_channel *channel, struct sc_result *result)
{
  struct sc_carrier own = result->carrier, *carrier = &own;
  const struct analysis_followed followed = {carrier, channel->settings.channel_hz};
  struct sc_line_list *list = &result->air_lines;
  const char *why = carrier->present != SC_YES       ? carrier->why
                    : carrier->offset_hz.why != NULL ? carrier->offset_hz.why
                                                     : carrier->level_dbfs.why;
  if (why != NULL || channel->inside == NULL) {
    *list = analysis_no_lines(why != NULL ? why : "lines were not asked for");
    return SC_OK;
  }
  enum sc_error error = add_lines(channel->inside, channel->settings.channel_hz,
                                  channel->info.half_width_hz, &followed, list);
  if (error == SC_OK)
    error = add_lines(channel->outside, 0, (double)INFINITY, &followed, list);
  if (error != SC_OK)
    return error;
  if (list->lines == NULL)
    *list = analysis_no_lines("the capture is too short");
  list->stretch_hz = carrier->offset_hz;
  analysis_lines_on_air(list, carrier, channel->settings.clock_relative_uncertainty);
  doubt_still(list, &result->carrier);
  return SC_OK;
}

static struct sc_composite_noise composite_noise(const struct analysis_channel *channel,
                                                 const struct sc_carrier *carrier)
{
  const struct sc_quantity *noise = &carrier->noise_density_dbfs_hz, *level = &carrier->level_dbfs;
  return sc_demodulator_noise(&channel->info, noise->value - level->value,
                              hypot(noise->uncertainty, level->uncertainty));
}

/* A receiver's image mirrors the signal about its centre. Where that moves it by a few hertz it
 * stands beside what it is the image of; only at the very centre it hides there. */
static double image_share(const struct sc_carrier *carrier, const struct sc_am *am)
{
  if (!(2 * fabs(carrier->offset_hz.value) < image_apart_hz))
    return 0;
  return am->image.why == NULL ? hypot(am->image.value, am->image.uncertainty) : (double)NAN;
}

static void take_am(const struct sc_am *am, struct sc_result *result)
{
  const enum sc_stereo_mode mode = result->stereo.mode;
  const bool silent = mode == SC_MODE_UNMODULATED || mode == SC_MODE_PILOT_ONLY;
  struct sc_noise *noise = &result->noise;
  noise->am_limit_db = am->limit_db;
  noise->envelope_percent = am->envelope_percent;
  noise->image = am->image;
  noise->am_unmodulated_db = silent ? am->depth_db : sc_not_measured("a programme is sent");
  noise->am_synchronous_db = silent ? sc_not_measured("no programme is sent") : am->depth_db;
  noise->am_unmodulated_at_most_db = silent ? am->at_most_db : noise->am_unmodulated_db;
  noise->am_synchronous_at_most_db = silent ? noise->am_synchronous_db : am->at_most_db;
}

static enum sc_error take_composite(struct analysis_channel *channel, struct sc_result *result)
{
  result->composite_truncated = channel->info.truncated;
  result->composite_half_width_hz = channel->info.half_width_hz;
  result->composite_middle_hz = channel->settings.channel_hz;
  result->composite_edge = channel->info.edge;
  if (result->carrier.above_threshold != SC_YES) {
    result->composite_why = result->carrier.present == SC_YES
                                ? "the carrier is below the FM threshold"
                                : "there is no carrier";
    return SC_OK;
  }
  result->composite_why = NULL;
  result->composite_absolute = true;
  result->composite_rate_hz = sc_measured(channel->info.rate_hz, (double)NAN);
  const struct sc_composite_noise noise = composite_noise(channel, &result->carrier);
  struct sc_am am;
  sc_am_result(channel->am, noise.per_hz, &am);
  const double image = image_share(&result->carrier, &am);
  channel->image = image > 0 ? image : 0;
  const enum sc_error error = analysis_baseband_result(channel->composite, &noise, image, result);
  if (error != SC_OK)
    return error;
  const double least = fmin(noise.per_hz, result->stereo.noise_per_hz);
  sc_am_result(channel->am, least, &am);
  take_am(&am, result);
  analysis_widen_by_image(result, image);
  analysis_widen(result, channel->info.half_width_hz, am.ripple);
  return SC_OK;
}

enum sc_error analysis_channel_result(struct analysis_channel *channel, const struct sc_trace *air,
                                      struct sc_result *result)
{
  drain(channel);
  sc_carrier_result(channel->carrier, air, &result->carrier);
  result->carrier_frequency_hz = absolute_frequency(&channel->settings, &result->carrier);
  enum sc_error error = take_composite(channel, result);
  if (error == SC_OK)
    error = take_air_lines(channel, result);
  /* The others did so with their results: the account that follows needs as much memory. */
  if (channel->beneath != NULL && result->air_lines.why == NULL && result->composite_why == NULL)
    analysis_beneath_rest(channel->beneath);
  return error;
}

struct analysis_beneath *analysis_channel_beneath(struct analysis_channel *channel)
{
  return channel != NULL ? channel->beneath : NULL;
}

double analysis_channel_image(const struct analysis_channel *channel)
{
  return channel != NULL ? channel->image : 0;
}

double analysis_channel_half_width(const struct analysis_channel *channel)
{
  return channel->info.half_width_hz;
}

enum sc_error analysis_channel_save_audio(struct analysis_channel *channel,
                                          struct sc_message *message)
{
  drain(channel);
  return analysis_baseband_save_audio(channel->composite, message);
}

void analysis_channel_trace(struct analysis_channel *channel, struct sc_trace *trace)
{
  drain(channel);
  analysis_baseband_trace(channel->composite, trace);
}
