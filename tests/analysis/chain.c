/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Reference signals sent through the whole chain, in blocks as a source would deliver them. */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "analysis/chain.h"

enum { BLOCK = 1 << 15 };

struct chain chain_usual(void)
{
  struct chain chain = {.seconds = 1, .block = BLOCK};
  sc_signal_settings_init(&chain.signal);
  chain.signal.rate_hz = 500e3;
  chain.signal.carrier_offset_hz = 60e3;
  chain.signal.cnr_db = 60;
  chain.signal.seed = 20240607;
  chain.analysis.channel_hz = (double)NAN;
  chain.analysis.lines = true;
  return chain;
}

void chain_add_pilot(struct chain *chain)
{
  chain->signal.pilot_khz = 6.75;
}

void chain_add_audio(struct chain *chain, double frequency_hz, double left_khz, double right_khz)
{
  struct sc_signal_settings *signal = &chain->signal;
  if (left_khz != 0)
    signal->left[signal->left_count++] =
        (struct sc_signal_tone){.frequency_hz = frequency_hz, .amplitude = left_khz};
  if (right_khz != 0)
    signal->right[signal->right_count++] =
        (struct sc_signal_tone){.frequency_hz = frequency_hz, .amplitude = right_khz};
}

struct sc_source_info chain_info(const struct chain *chain)
{
  double clock = chain->clock_relative_uncertainty;
  struct sc_source_info info = {.kind = chain->kind != SC_KIND_UNDECIDED ? chain->kind : SC_KIND_IQ,
                                .sample_rate_hz = chain->signal.rate_hz,
                                .nominal_rate_hz = chain->signal.rate_hz,
                                .clock_relative_uncertainty = clock > 0 ? clock : (double)NAN,
                                .centre_hz = chain->centre_hz};
  info.channels = info.kind == SC_KIND_IQ ? 2 : 1;
  const double each = (chain->seconds + chain->quiet_s) * chain->signal.rate_hz;
  info.frames = (chain->times > 0 ? chain->times : 1) * (uint64_t)each;
  if (chain->stated_frames > 0)
    info.frames = chain->stated_frames;
  if (chain->unstated)
    info.frames = 0;
  snprintf(info.name, sizeof info.name, "reference");
  return info;
}

struct pump {
  const struct chain *chain;
  struct sc_analysis *analysis;
  struct sc_source_info info;
  double *made;
  float *samples;
  uint64_t position, asked_at;
};

static void ask(struct pump *pump)
{
  struct sc_result result;
  if (pump->chain->asked_every == 0 || pump->position < pump->asked_at)
    return;
  pump->asked_at = pump->position + pump->chain->asked_every;
  ck_assert_int_eq(sc_analysis_result(pump->analysis, &result), SC_OK);
  sc_result_clear(&result);
}

static void feed_block(struct pump *pump, struct sc_signal *signal, size_t frames)
{
  const struct chain *chain = pump->chain;
  if (pump->info.kind == SC_KIND_IQ)
    sc_signal_iq(signal, pump->made, frames);
  else
    sc_signal_composite(signal, pump->made, frames);
  for (size_t i = 0; i < frames * pump->info.channels; i++)
    pump->samples[i] = (float)pump->made[i];
  bool gap = chain->gap_at > 0 && pump->position >= chain->gap_at &&
             pump->position < chain->gap_at + chain->block;
  struct sc_block block = {.first = pump->position,
                           .frames = frames,
                           .channels = pump->info.channels,
                           .samples = pump->samples,
                           .discontinuity = gap,
                           .info = &pump->info};
  ck_assert_int_eq(sc_analysis_feed(pump->analysis, &block), SC_OK);
  pump->position += frames;
  ask(pump);
}

static void feed_signal(struct pump *pump, const struct sc_signal_settings *settings,
                        double seconds)
{
  struct sc_signal *signal;
  ck_assert_int_eq(sc_signal_create(settings, &signal), SC_OK);
  uint64_t left = (uint64_t)(seconds * settings->rate_hz);
  while (left > 0) {
    size_t frames = left < pump->chain->block ? (size_t)left : pump->chain->block;
    feed_block(pump, signal, frames);
    left -= frames;
  }
  sc_signal_destroy(signal);
}

void chain_feed(const struct chain *chain, struct sc_analysis *analysis)
{
  struct pump pump = {chain, analysis, chain_info(chain), NULL, NULL, 0, 0};
  pump.made = malloc(chain->block * 2 * sizeof *pump.made);
  pump.samples = malloc(chain->block * 2 * sizeof *pump.samples);
  struct sc_signal_settings quiet = chain->signal;
  quiet.no_carrier = true;
  quiet.seed++;
  for (unsigned i = 0; i < (chain->times > 0 ? chain->times : 1); i++) {
    feed_signal(&pump, &quiet, chain->quiet_s);
    feed_signal(&pump, &chain->signal, chain->seconds);
  }
  free(pump.made);
  free(pump.samples);
}

struct sc_result chain_measure(const struct chain *chain)
{
  struct sc_source_info info = chain_info(chain);
  struct sc_message message;
  struct sc_analysis *analysis;
  enum sc_error error = sc_analysis_create(&info, &chain->analysis, &analysis, &message);
  ck_assert_msg(error == SC_OK, "%s", message.text);
  chain_feed(chain, analysis);
  struct sc_result result;
  ck_assert_int_eq(sc_analysis_result(analysis, &result), SC_OK);
  sc_analysis_destroy(analysis);
  return result;
}

const struct sc_line *chain_line(const struct sc_line_list *list, double offset_hz)
{
  const struct sc_line *nearest = NULL;
  double least = 5;
  for (size_t i = 0; i < list->count; i++) {
    double distance = fabs(list->lines[i].offset_hz.value - offset_hz);
    if (distance < least) {
      least = distance;
      nearest = &list->lines[i];
    }
  }
  return nearest;
}
