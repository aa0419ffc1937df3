/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* From a scenario to a file. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <sidecomb/compose.h>

#include "capture/types.h"
#include "capture/write.h"
#include "common/text.h"

/* Sizes of WAV and AIFF have 32 bits, with some room for their headers. */
static const double short_bytes_max = 4294967296.0 - 65536;

enum { CHUNK = 16384, PATH_ROOM = 4096 };

static const struct ending {
  const char *text;
  enum capture_write_container container;
  const char *words;
} endings[] = {
    {".sigmf", CAPTURE_WRITE_SIGMF, "SigMF"},      {".sigmf-data", CAPTURE_WRITE_SIGMF, "SigMF"},
    {".sigmf-meta", CAPTURE_WRITE_SIGMF, "SigMF"}, {".wav", CAPTURE_WRITE_WAV, "WAV"},
    {".rf64", CAPTURE_WRITE_RF64, "RF64"},         {".w64", CAPTURE_WRITE_W64, "W64"},
    {".flac", CAPTURE_WRITE_FLAC, "FLAC"},         {".caf", CAPTURE_WRITE_CAF, "CAF"},
    {".aiff", CAPTURE_WRITE_AIFF, "AIFF"},         {"", CAPTURE_WRITE_RAW, "bare samples"},
};

/* The last one, the empty ending, fits everything. */
static const struct ending *ending_of(const char *path)
{
  const size_t length = strlen(path);
  const struct ending *ending = endings;
  for (;; ending++) {
    const size_t end = strlen(ending->text);
    if (length >= end && strcmp(path + length - end, ending->text) == 0)
      return ending;
  }
}

struct job {
  const struct sc_scenario *scenario;
  const struct sc_compose_settings *settings;
  struct capture_write_settings write;
  char path[PATH_ROOM]; /* without the ending of a SigMF half */
  char title[4 * SC_SCENARIO_NAME_MAX];
  double low, high; /* what fits the samples */
  struct sc_generator *generator;
  struct capture_writer *writer;
  struct sc_annotation *truth;
  double *frames;
};

static bool is_sound(const struct job *job)
{
  return job->write.container != CAPTURE_WRITE_RAW && job->write.container != CAPTURE_WRITE_SIGMF;
}

/* Codes of `bits` bits; one half step beyond either end is still rounded into the range. */
static void set_range(struct job *job, unsigned bits, double low, double high)
{
  const double half_step = bits > 0 ? ldexp(0.5, 1 - (int)bits) : INFINITY;
  job->low = low - half_step;
  job->high = high + half_step;
}

static enum sc_error choose_type(struct job *job, struct sc_message *message)
{
  const bool complex_frames = job->scenario->what == SC_WHAT_IQ;
  const char *name = job->settings->type;
  if (job->settings->bits != 0 || job->settings->floats)
    return sc_fail(message, SC_BAD_ARGUMENT,
                   "bits and floats are of sound files; of bare samples and SigMF choose the type, "
                   "like %s",
                   complex_frames ? "ci32_le or cf32_le" : "ri32_le or rf32_le");
  if (name == NULL)
    name = complex_frames ? "ci16_le" : "ri16_le";
  const struct capture_type *type = capture_type_find(name);
  if (type == NULL)
    return capture_type_refuse("type", name, message);
  if (type->is_complex != complex_frames)
    return sc_fail(message, SC_BAD_ARGUMENT, "%s holds %s samples, and the scenario makes %s ones",
                   name, type->is_complex ? "complex" : "real",
                   complex_frames ? "complex" : "real");
  job->write.type = type->name;
  job->write.channels = job->scenario->what == SC_WHAT_AUDIO ? 2 : 1;
  set_range(job, type->bits, type->low, type->high);
  return SC_OK;
}

static enum sc_error choose_width(struct job *job, struct sc_message *message)
{
  const struct sc_compose_settings *settings = job->settings;
  if (settings->type != NULL)
    return sc_fail(message, SC_BAD_ARGUMENT,
                   "a sound file has no sample type; choose its width in bits");
  if (job->scenario->rate_hz != rint(job->scenario->rate_hz))
    return sc_fail(message, SC_BAD_ARGUMENT, "a sound file needs a rate of whole hertz, not %.10g",
                   job->scenario->rate_hz);
  const unsigned bits = settings->bits == 0 ? 16 : settings->bits;
  const unsigned channels = job->scenario->what == SC_WHAT_COMPOSITE ? 1 : 2;
  const double frame = channels * (settings->floats ? 4.0 : bits / 8.0);
  if (job->write.container == CAPTURE_WRITE_WAV || job->write.container == CAPTURE_WRITE_AIFF)
    if (job->scenario->seconds * job->scenario->rate_hz * frame > short_bytes_max)
      return sc_fail(message, SC_BAD_ARGUMENT,
                     "WAV and AIFF hold at most 4 GiB; choose .rf64, .w64 or .caf");
  job->write.bits = settings->floats ? 0 : bits;
  job->write.channels = channels;
  set_range(job, job->write.bits, -1, settings->floats ? 1 : 1 - ldexp(1, 1 - (int)bits));
  return SC_OK;
}

static enum sc_error describe(struct job *job, struct sc_compose_result *result,
                              struct sc_message *message)
{
  const struct ending *ending = ending_of(job->settings->path);
  const bool pair = ending->container == CAPTURE_WRITE_SIGMF;
  const size_t length = strlen(job->settings->path) - (pair ? strlen(ending->text) : 0);
  if (length == 0 || length >= PATH_ROOM)
    return sc_fail(message, SC_BAD_ARGUMENT, "the name of the file to write is empty or too long");
  memcpy(job->path, job->settings->path, length);
  job->write.path = job->path;
  job->write.container = ending->container;
  job->write.rate_hz = job->scenario->rate_hz;
  job->write.centre_hz = job->scenario->what == SC_WHAT_IQ ? job->scenario->centre_hz : 0;
  common_clean(job->title, sizeof job->title, job->scenario->title, strlen(job->scenario->title));
  job->write.description = job->title[0] != 0 ? job->title : NULL;
  job->write.keep = job->settings->keep;
  job->write.dither = job->settings->dither;
  job->write.seed = job->scenario->seed;
  enum sc_error error = is_sound(job) ? choose_width(job, message) : choose_type(job, message);
  if (error == SC_OK && job->settings->dither && isinf(job->high))
    error = sc_fail(message, SC_BAD_ARGUMENT, "floats are not rounded: there is nothing to dither");
  if (error != SC_OK)
    return error;
  if (is_sound(job))
    snprintf(result->format, sizeof result->format, "%s, %s%u bit", ending->words,
             job->write.bits == 0 ? "float " : "", job->write.bits == 0 ? 32 : job->write.bits);
  else
    snprintf(result->format, sizeof result->format, "%s, %s", ending->words, job->write.type);
  return SC_OK;
}

static enum sc_error prepare(struct job *job, struct sc_message *message)
{
  job->truth = calloc(SC_TRUTH_MAX, sizeof *job->truth);
  job->frames = calloc(2 * CHUNK, sizeof *job->frames);
  if (job->truth == NULL || job->frames == NULL)
    return sc_fail(message, SC_NO_MEMORY, "%s", sc_error_text(SC_NO_MEMORY));
  job->write.annotations = job->truth;
  job->write.annotation_count = sc_scenario_truth(job->scenario, job->truth);
  const enum sc_error error = sc_generator_create(job->scenario, &job->generator, message);
  return error != SC_OK ? error : capture_writer_create(&job->write, &job->writer, message);
}

static void count_clipped(const struct job *job, size_t count, struct sc_compose_result *result)
{
  for (size_t i = 0; i < count; i++)
    result->clipped += job->frames[i] < job->low || job->frames[i] > job->high;
}

static enum sc_error play(struct job *job, sc_compose_progress *progress, void *context,
                          struct sc_compose_result *result, struct sc_message *message)
{
  const uint64_t total = (uint64_t)llround(job->scenario->seconds * job->scenario->rate_hz);
  const size_t width = sc_generator_channels(job->generator);
  if (total == 0)
    return sc_fail(message, SC_BAD_ARGUMENT, "seconds is %g, which makes no sample",
                   job->scenario->seconds);
  while (result->frames < total) {
    const size_t count = total - result->frames < CHUNK ? (size_t)(total - result->frames) : CHUNK;
    sc_generator_run(job->generator, job->frames, count);
    count_clipped(job, width * count, result);
    const enum sc_error error = capture_writer_feed(job->writer, job->frames, count, message);
    if (error != SC_OK)
      return error;
    result->frames += count;
    if (progress != NULL && !progress(context, (double)result->frames / (double)total))
      return sc_fail(message, SC_UNSUPPORTED, "given up; nothing was written");
  }
  sc_generator_info(job->generator, &result->info);
  struct capture_writer *writer = job->writer;
  job->writer = NULL;
  return capture_writer_finish(writer, message);
}

enum sc_error sc_compose(const struct sc_scenario *scenario,
                         const struct sc_compose_settings *settings, sc_compose_progress *progress,
                         void *context, struct sc_compose_result *result,
                         struct sc_message *message)
{
  *result = (struct sc_compose_result){0};
  struct job *job = calloc(1, sizeof *job);
  if (job == NULL)
    return sc_fail(message, SC_NO_MEMORY, "%s", sc_error_text(SC_NO_MEMORY));
  job->scenario = scenario;
  job->settings = settings;
  enum sc_error error = describe(job, result, message);
  if (error == SC_OK)
    error = prepare(job, message);
  if (error == SC_OK)
    error = play(job, progress, context, result, message);
  capture_writer_destroy(job->writer);
  sc_generator_destroy(job->generator);
  free(job->truth);
  free(job->frames);
  free(job);
  return error;
}
