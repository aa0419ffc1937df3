/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A capture read once more, into one spectrum. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdlib.h>

#include <sidecomb/composite.h>
#include <sidecomb/expected.h>
#include <sidecomb/sight.h>

#include "analysis/dealt.h"

/* So many that two threads have enough of each block. */
enum { SIGHT_FRAMES = SC_DEMODULATOR_FEED_MAX };

struct sc_sight {
  struct analysis_dealt *spectrum;
  struct analysis_worker *worker;     /* for a share of it; NULL: one thread does all */
  struct sc_demodulator *demodulator; /* the composite of IQ is wanted, or needed; else NULL */
  struct sc_expected *expected;       /* NULL: not wanted, or not possible */
  double noise_dbfs_hz;
  float *first; /* one channel of interleaved samples */
};

static enum sc_error demodulate(struct sc_sight *sight, double channel_hz, double *rate_hz)
{
  const struct sc_demodulator_settings settings = {.sample_rate_hz = *rate_hz,
                                                   .channel_hz = channel_hz};
  if (!isfinite(channel_hz))
    return SC_UNSUPPORTED;
  enum sc_error error = sc_demodulator_create(&settings, &sight->demodulator);
  if (error == SC_OK)
    *rate_hz = sc_demodulator_info(sight->demodulator).rate_hz;
  return error;
}

/* The picture does without it where the channel cannot be demodulated or is not in the span. */
static enum sc_error expect(struct sc_sight *sight, const struct sc_spectrum_settings *spectrum,
                            double channel_hz)
{
  double rate = spectrum->sample_rate_hz;
  enum sc_error error = demodulate(sight, channel_hz, &rate);
  if (error == SC_OK) {
    const struct sc_expected_settings settings = {
        *spectrum, sc_demodulator_info(sight->demodulator), channel_hz};
    error = sc_expected_create(&settings, &sight->expected);
  }
  if (error == SC_OK || error == SC_NO_MEMORY)
    return error;
  sc_demodulator_destroy(sight->demodulator);
  sight->demodulator = NULL;
  return SC_OK;
}

static bool is_part(const struct sc_passages *passages)
{
  return passages != NULL && passages->count > 0;
}

/* That will be read; 0: unknown. */
static double frames_of(const struct sc_source_info *info, const struct sc_passages *passages)
{
  double seconds = 0;
  if (!is_part(passages))
    return (double)info->frames;
  for (size_t i = 0; i < passages->count; i++)
    seconds += passages->at[i].to_s - passages->at[i].from_s;
  return floor(seconds * info->sample_rate_hz);
}

static enum sc_error create(struct sc_sight *sight, const struct sc_source_info *info,
                            const struct sc_sight_settings *settings)
{
  double rate = info->sample_rate_hz;
  bool iq = info->kind == SC_KIND_IQ;
  sight->first = malloc(SIGHT_FRAMES * sizeof *sight->first);
  if (sight->first == NULL)
    return SC_NO_MEMORY;
  enum sc_error error = iq && settings->of == SC_SIGHT_COMPOSITE
                            ? demodulate(sight, settings->channel_hz, &rate)
                            : SC_OK;
  if (error != SC_OK)
    return error;
  double frames = frames_of(info, settings->passages) * rate / info->sample_rate_hz;
  const struct sc_spectrum_settings spectrum = {.sample_rate_hz = rate,
                                                .complex_input = settings->of == SC_SIGHT_AIR,
                                                .centre_hz = settings->centre_hz,
                                                .span_hz = settings->span_hz,
                                                .rbw_hz = settings->rbw_hz,
                                                .window = settings->window,
                                                .window_parameter = settings->window_parameter,
                                                .overlap = -1,
                                                .expected_frames = (uint64_t)frames};
  if (analysis_worker_threads(0) > 1)
    sight->worker = analysis_worker_create();
  error = analysis_dealt_create(&spectrum, sight->worker, &sight->spectrum);
  if (error == SC_OK && settings->expected && spectrum.complex_input)
    error = expect(sight, &spectrum, settings->channel_hz);
  sight->noise_dbfs_hz = settings->noise_dbfs_hz;
  return error;
}

static void feed_expected(struct sc_sight *sight, const struct sc_block *block)
{
  const float *deviation_khz, *channel;
  size_t made = sc_demodulator_feed(sight->demodulator, block->samples, block->frames,
                                    block->discontinuity, &deviation_khz, &channel);
  sc_expected_feed(sight->expected, deviation_khz, channel, made, block->discontinuity);
}

static void feed(struct sc_sight *sight, const struct sc_block *block, bool complex_input)
{
  const float *samples = block->samples;
  size_t frames = block->frames;
  if (sight->expected != NULL) {
    feed_expected(sight, block);
  } else if (sight->demodulator != NULL) {
    frames = sc_demodulator_feed(sight->demodulator, block->samples, block->frames,
                                 block->discontinuity, &samples, NULL);
  } else if (!complex_input && block->channels > 1) {
    for (size_t i = 0; i < frames; i++)
      sight->first[i] = block->samples[i * block->channels];
    samples = sight->first;
  }
  analysis_dealt_feed(sight->spectrum, samples, frames, block->discontinuity);
}

struct reading {
  struct sc_sight *sight;
  struct sc_source *source;
  bool complex_input;
  bool (*progress)(void *context, double share);
  void *context;
};

/* From frame `at`, where the source stands, to `end`; `over`: it has ended, or shall. */
static enum sc_error read_to(const struct reading *reading, uint64_t at, uint64_t end, bool *over,
                             struct sc_message *message)
{
  const double total = (double)sc_source_info(reading->source)->frames;
  struct sc_block block;
  while (!*over && at < end) {
    const size_t most = end - at < SIGHT_FRAMES ? (size_t)(end - at) : SIGHT_FRAMES;
    enum sc_error error = sc_source_read(reading->source, most, &block, message);
    if (error != SC_OK)
      return error;
    feed(reading->sight, &block, reading->complex_input);
    at = block.first + block.frames;
    *over = block.frames == 0 ||
            (reading->progress != NULL && !reading->progress(reading->context, (double)at / total));
  }
  return SC_OK;
}

static enum sc_error read_passages(const struct reading *reading,
                                   const struct sc_passages *passages, struct sc_message *message)
{
  const struct sc_source_info *info = sc_source_info(reading->source);
  enum sc_error error = SC_OK;
  bool over = false;
  for (size_t i = 0; error == SC_OK && !over && i < passages->count; i++) {
    const uint64_t from = (uint64_t)ceil(passages->at[i].from_s * info->sample_rate_hz);
    const uint64_t to = (uint64_t)floor(passages->at[i].to_s * info->sample_rate_hz);
    if (from >= to || from >= info->frames)
      continue;
    error = sc_source_seek(reading->source, from);
    if (error == SC_OK)
      error = read_to(reading, from, to, &over, message);
  }
  return error;
}

static enum sc_error read_all(const struct reading *reading, const struct sc_passages *passages,
                              struct sc_message *message)
{
  bool over = false;
  return is_part(passages) ? read_passages(reading, passages, message)
                           : read_to(reading, 0, UINT64_MAX, &over, message);
}

enum sc_error sc_sight_read(struct sc_source *source, const struct sc_sight_settings *settings,
                            bool (*progress)(void *context, double share), void *context,
                            struct sc_sight **out, struct sc_message *message)
{
  const struct sc_source_info *info = sc_source_info(source);
  *out = NULL;
  if (!sc_sight_offered(settings->of, info->kind))
    return sc_fail(message, SC_UNSUPPORTED, "%s: a capture of %s has no spectrum '%s'", info->name,
                   sc_kind_name(info->kind), sc_sight_name(settings->of));
  if (info->live || sc_source_seek(source, 0) != SC_OK)
    return sc_fail(message, SC_UNSUPPORTED,
                   "%s: cannot be read a second time; save it to a file first", info->name);
  struct sc_sight *sight = calloc(1, sizeof *sight);
  if (sight == NULL)
    return sc_fail(message, SC_NO_MEMORY, "%s", sc_error_text(SC_NO_MEMORY));
  enum sc_error error = create(sight, info, settings);
  if (error != SC_OK)
    sc_fail(message, error, "%s: no spectrum '%s' can be made: %s", info->name,
            sc_sight_name(settings->of), sc_error_text(error));
  else
    error =
        read_all(&(struct reading){sight, source, settings->of == SC_SIGHT_AIR, progress, context},
                 settings->passages, message);
  if (error != SC_OK) {
    sc_sight_destroy(sight);
    return error;
  }
  *out = sight;
  return SC_OK;
}

void sc_sight_trace(struct sc_sight *sight, struct sc_trace *trace)
{
  analysis_dealt_result(sight->spectrum, trace);
}

void sc_sight_expected(struct sc_sight *sight, struct sc_trace *expected)
{
  *expected = (struct sc_trace){.points = 0};
  if (sight->expected != NULL)
    sc_expected_result(sight->expected, sight->noise_dbfs_hz, expected);
}

void sc_sight_destroy(struct sc_sight *sight)
{
  if (sight == NULL)
    return;
  analysis_dealt_destroy(sight->spectrum);
  analysis_worker_destroy(sight->worker);
  sc_demodulator_destroy(sight->demodulator);
  sc_expected_destroy(sight->expected);
  free(sight->first);
  free(sight);
}
