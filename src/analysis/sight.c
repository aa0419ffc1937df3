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
  double frames = (double)info->frames * rate / info->sample_rate_hz;
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

static enum sc_error read_all(struct sc_sight *sight, struct sc_source *source,
                              const struct sc_sight_settings *settings,
                              bool (*progress)(void *context, double share), void *context,
                              struct sc_message *message)
{
  const double total = (double)sc_source_info(source)->frames;
  struct sc_block block;
  do {
    enum sc_error error = sc_source_read(source, SIGHT_FRAMES, &block, message);
    if (error != SC_OK)
      return error;
    feed(sight, &block, settings->of == SC_SIGHT_AIR);
    if (progress != NULL && !progress(context, (double)(block.first + block.frames) / total))
      return SC_OK;
  } while (block.frames > 0);
  return SC_OK;
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
    error = read_all(sight, source, settings, progress, context, message);
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
