/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Makes the parts of a channel, and leads what is demodulated to them. Lines inside the channel are
 * looked for in the filtered channel, whose lower rate gives longer records; lines outside in the
 * capture as it is. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "analysis/channel_parts.h"
#include "analysis/passages.h"
#include "dsp/discriminator.h"

/* Receivers' filters fall at the very edge. */
static const double usable_share = 0.98;
/* Less than this beside the channel is not worth a search of its own. */
static const double outside_least_hz = 5000;
/* From here on, in a capture, the search outside the channel costs its thread less than what is fed
 * by the demodulator costs the other, which the search inside is then taken off (measured; at 2.4
 * MS/s a minute). */
static const uint64_t long_frames = UINT64_C(130000000);

/* Records of the search outside the channel: at 2.4 MS/s they hold 7 of 10 s, so that a line of
 * -70 dBc at 40 dB carrier to noise in 200 kHz is known to 0.17 dB. */
enum { RECORDS_OUTSIDE = 32 };

/* Frames at the demodulator's rate; 0 stays unknown. */
static uint64_t expected_after(const struct analysis_channel *channel)
{
  double ratio = channel->info.rate_hz / channel->settings.sample_rate_hz;
  return (uint64_t)((double)channel->settings.expected_frames * ratio);
}

static enum sc_error create_demodulator(struct analysis_channel *channel)
{
  struct sc_demodulator_settings wanted = {channel->settings.sample_rate_hz,
                                           channel->settings.channel_hz};
  enum sc_error error = sc_demodulator_create(&wanted, &channel->demodulator);
  if (error == SC_OK)
    channel->info = sc_demodulator_info(channel->demodulator);
  return error;
}

static enum sc_error create_carrier(struct analysis_channel *channel)
{
  struct sc_carrier_settings wanted = {.rate_hz = channel->info.rate_hz,
                                       .channel_hz = channel->settings.channel_hz,
                                       .half_width_hz = channel->info.half_width_hz,
                                       .noise_bandwidth_hz = channel->info.noise_bandwidth_hz,
                                       .clock_relative_uncertainty =
                                           channel->settings.clock_relative_uncertainty};
  return sc_carrier_create(&wanted, &channel->carrier);
}

static enum sc_error create_am(struct analysis_channel *channel)
{
  struct sc_am_settings wanted = {channel->info.rate_hz, channel->info.noise_bandwidth_hz};
  return sc_am_create(&wanted, &channel->am);
}

static enum sc_error create_composite(struct analysis_channel *channel)
{
  const struct analysis_channel_settings *settings = &channel->settings;
  struct analysis_baseband_settings wanted = {
      .rate_hz = channel->info.rate_hz,
      .top_hz = channel->info.top_hz,
      .composite = true,
      .absolute = true,
      .lines = settings->lines,
      .deemphasis_us = settings->deemphasis_us,
      .audio_path = settings->audio_path,
      .audio_keep = settings->audio_keep,
      .clock_relative_uncertainty = settings->clock_relative_uncertainty,
      .false_alarm = settings->false_alarm,
      .expected_frames = expected_after(channel),
      .start_s = settings->start_s + channel->info.delay_s,
      .rds_region = settings->rds_region,
      .rds_groups = settings->rds_groups,
      .apart = analysis_worker_apart(channel->inner_searcher)};
  return analysis_baseband_create(&wanted, &channel->composite);
}

static enum sc_error create_search(const struct sc_lines_settings *settings,
                                   const struct analysis_worker *searcher, struct sc_lines **out)
{
  enum sc_error error = sc_lines_create(settings, out);
  if (error == SC_OK)
    measure_lines_apart(*out, analysis_worker_apart(searcher));
  return error;
}

static enum sc_error create_inside(struct analysis_channel *channel)
{
  struct sc_lines_settings wanted = {.sample_rate_hz = channel->info.rate_hz,
                                     .complex_input = true,
                                     .single_precision = true,
                                     .lower_hz = -channel->info.half_width_hz,
                                     .upper_hz = channel->info.half_width_hz,
                                     .record_max = ANALYSIS_RECORD_MAX,
                                     .false_alarm = channel->settings.false_alarm,
                                     .expected_frames = expected_after(channel)};
  return create_search(&wanted, channel->inner_searcher, &channel->inside);
}

static enum sc_error create_beneath(struct analysis_channel *channel)
{
  const struct analysis_beneath_settings wanted = {
      .rate_hz = channel->info.rate_hz,
      .channel_hz = channel->settings.channel_hz,
      .half_width_hz = channel->info.half_width_hz,
      .clock_relative_uncertainty = channel->settings.clock_relative_uncertainty,
      .false_alarm = channel->settings.false_alarm,
      .expected_frames = expected_after(channel),
      .apart = analysis_worker_apart(channel->inner_searcher)};
  return analysis_beneath_create(&wanted, &channel->beneath);
}

static bool has_outside(const struct analysis_channel *channel, double edge_hz)
{
  double reach = channel->info.half_width_hz + outside_least_hz;
  return channel->settings.channel_hz - reach > -edge_hz ||
         channel->settings.channel_hz + reach < edge_hz;
}

static enum sc_error create_outside(struct analysis_channel *channel)
{
  const struct analysis_channel_settings *settings = &channel->settings;
  double edge = usable_share * settings->sample_rate_hz / 2;
  double half_width = channel->info.half_width_hz;
  struct sc_lines_settings wanted = {.sample_rate_hz = settings->sample_rate_hz,
                                     .complex_input = true,
                                     .single_precision = true,
                                     .lower_hz = -edge,
                                     .upper_hz = edge,
                                     .record_max = ANALYSIS_RECORD_MAX,
                                     .records = RECORDS_OUTSIDE,
                                     .without_lower_hz = settings->channel_hz - half_width,
                                     .without_upper_hz = settings->channel_hz + half_width,
                                     .false_alarm = settings->false_alarm,
                                     .expected_frames = settings->expected_frames};
  return has_outside(channel, edge)
             ? create_search(&wanted, channel->outer_searcher, &channel->outside)
             : SC_OK;
}

static void feed_composite(void *composite, const float *khz, size_t frames, bool discontinuity)
{
  analysis_baseband_feed(composite, khz, frames, discontinuity);
}

static void feed_run(struct analysis_channel *channel, const float *filtered, const float *khz,
                     size_t frames)
{
  measure_lines_carrier(channel->inside, khz, frames);
  sc_lines_feed(channel->inside, filtered, frames, false);
  analysis_beneath_feed(channel->beneath, filtered, khz, frames);
}

/* Both searches follow the carrier; between their records nobody asks where it is. */
static void feed_inside(void *context, const float *filtered, size_t frames, bool discontinuity)
{
  enum { RUN = 1024 };
  static const float pi = 3.14159265F;
  struct analysis_channel *channel = context;
  const float scale = (float)channel->info.rate_hz / (2e3F * pi);
  float khz[RUN];
  if (discontinuity) {
    sc_lines_feed(channel->inside, filtered, 0, true);
    analysis_beneath_break(channel->beneath);
  }
  while (frames > 0) {
    const size_t run = measure_lines_run(channel->inside, frames < RUN ? frames : RUN);
    if (measure_lines_idle(channel->inside) == 0 || analysis_beneath_idle(channel->beneath) < run)
      dsp_discriminate(filtered, run, scale, channel->previous, khz);
    memcpy(channel->previous, filtered + 2 * (run - 1), sizeof channel->previous);
    feed_run(channel, filtered, khz, run);
    filtered += 2 * run;
    frames -= run;
  }
}

static void feed_stretch(void *context, const float *khz, const float *filtered, size_t frames,
                         bool discontinuity)
{
  struct analysis_channel *channel = context;
  const struct analysis_fed composite = {feed_composite, channel->composite, 1};
  const struct analysis_fed inside = {feed_inside, channel, 2};
  const double from_s = (double)channel->passed / channel->info.rate_hz;
  channel->passed += frames;
  analysis_passages_add(&channel->carried, from_s, (double)channel->passed / channel->info.rate_hz);
  sc_carrier_feed(channel->carrier, filtered, khz, frames, discontinuity);
  sc_am_feed(channel->am, filtered, frames);
  analysis_worker_feed(channel->listener, &composite, khz, frames, discontinuity);
  if (channel->inside != NULL)
    analysis_worker_feed(channel->inner_feeder, &inside, filtered, frames, discontinuity);
}

static void leave_composite_out(void *composite, const float *none, size_t frames, bool gap)
{
  (void)none, (void)gap;
  analysis_baseband_leave_out(composite, frames);
}

static void leave_inside_out(void *context, const float *none, size_t frames, bool gap)
{
  struct analysis_channel *channel = context;
  (void)none, (void)gap;
  sc_lines_leave_out(channel->inside, frames);
  analysis_beneath_leave_out(channel->beneath, frames);
}

static void leave_out(void *context, size_t frames)
{
  struct analysis_channel *channel = context;
  const struct analysis_fed composite = {leave_composite_out, channel->composite, 0};
  const struct analysis_fed inside = {leave_inside_out, channel, 0};
  channel->passed += frames;
  analysis_worker_pass(channel->listener, &composite, frames);
  if (channel->inside != NULL)
    analysis_worker_pass(channel->inner_feeder, &inside, frames);
}

static enum sc_error create_parts(struct analysis_channel *channel)
{
  enum sc_error error = create_demodulator(channel);
  if (error == SC_OK)
    error = create_carrier(channel);
  if (error == SC_OK)
    error = create_am(channel);
  if (error == SC_OK)
    error = analysis_stretches_create(-1e-3 * channel->settings.channel_hz, feed_stretch, leave_out,
                                      channel, &channel->stretches);
  if (error == SC_OK)
    error = create_composite(channel);
  if (error == SC_OK && channel->settings.lines)
    error = create_inside(channel);
  if (error == SC_OK && channel->settings.lines)
    error = create_beneath(channel);
  if (error == SC_OK && channel->settings.lines)
    error = create_outside(channel);
  return error;
}

/* Without the first there are no others. */
static void create_threads(struct analysis_channel *channel)
{
  const unsigned threads = channel->settings.threads;
  const bool lines = channel->settings.lines;
  channel->listener = threads > 1 ? analysis_worker_create() : NULL;
  if (channel->listener == NULL)
    return;
  const bool lighter = threads > 2 || channel->settings.expected_frames < long_frames;
  channel->inner_feeder = lighter ? channel->listener : NULL;
  channel->outer_searcher = threads > 2 && lines ? analysis_worker_create() : NULL;
  channel->inner_searcher = threads > 3 && lines ? analysis_worker_create() : NULL;
}

enum sc_error analysis_channel_create(const struct analysis_channel_settings *settings,
                                      struct analysis_channel **out)
{
  *out = NULL;
  struct analysis_channel *channel = calloc(1, sizeof *channel);
  if (channel == NULL)
    return SC_NO_MEMORY;
  channel->settings = *settings;
  create_threads(channel);
  enum sc_error error = create_parts(channel);
  if (error != SC_OK) {
    analysis_channel_destroy(channel);
    return error;
  }
  *out = channel;
  return SC_OK;
}

void analysis_channel_destroy(struct analysis_channel *channel)
{
  if (channel == NULL)
    return;
  analysis_worker_destroy(channel->listener);
  sc_demodulator_destroy(channel->demodulator);
  sc_carrier_destroy(channel->carrier);
  sc_am_destroy(channel->am);
  analysis_stretches_destroy(channel->stretches);
  analysis_baseband_destroy(channel->composite);
  sc_lines_destroy(channel->inside);
  analysis_beneath_destroy(channel->beneath);
  sc_lines_destroy(channel->outside);
  analysis_worker_destroy(channel->outer_searcher); /* behind those who may wait for them */
  analysis_worker_destroy(channel->inner_searcher);
  free(channel);
}
