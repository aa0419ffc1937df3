/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A source read to its end through one analysis, or through one for each interval. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>

#include <sidecomb/analysis.h>
#include <sidecomb/record.h>

#include "analysis/source.h"
#include "capture/notice.h"
#include "capture/open.h"
#include "capture/record.h"

enum { READ_FRAMES = 1 << 15 }; /* stays in the second cache on its way through the chain */
/* A live source that stalls is left this often, so that the reading can be stopped. */
enum { WAIT_MS = 200 };

struct reading {
  struct sc_source *source;
  struct sc_analysis *analysis;
  uint64_t frames; /* of this analysis at most; 0: all */
  uint64_t taken;
  bool (*progress)(void *context, double share);
  void *context;
  bool stopped, ended;
  struct sc_message trouble; /* not empty: what ended it */
};

static bool goes_on(const struct reading *reading, const struct sc_block *block)
{
  uint64_t total = sc_source_info(reading->source)->frames;
  if (reading->progress == NULL)
    return true;
  double share = total > 0 ? (double)(block->first + block->frames) / (double)total : (double)NAN;
  return reading->progress(reading->context, share);
}

/* False: nothing came until the reading was stopped. */
static bool wait_for_samples(const struct reading *reading)
{
  int descriptor = sc_source_descriptor(reading->source);
  if (descriptor < 0 || reading->progress == NULL)
    return true;
  while (!capture_wait(descriptor, WAIT_MS) || !sc_source_ready(reading->source))
    if (!reading->progress(reading->context, SC_NOTHING_CAME))
      return false;
  return true;
}

static size_t frames_wanted(const struct reading *reading)
{
  uint64_t left = reading->frames - reading->taken;
  return reading->frames == 0 || left > READ_FRAMES ? READ_FRAMES : (size_t)left;
}

static enum sc_error feed(struct reading *reading, const struct sc_block *block,
                          struct sc_message *message)
{
  enum sc_error error = sc_analysis_feed(reading->analysis, block);
  if (error == SC_NO_MEMORY)
    sc_fail(message, error, "%s: %s", sc_source_info(reading->source)->name, sc_error_text(error));
  return error;
}

/* A device that vanishes, or a broken pipe, ends the capture; what came before is measured. */
static bool ends_with(struct reading *reading, enum sc_error error,
                      const struct sc_message *message)
{
  if (error != SC_READ_FAILED || !sc_source_info(reading->source)->live || reading->taken == 0)
    return false;
  reading->ended = true;
  if (message != NULL)
    reading->trouble = *message;
  return true;
}

static enum sc_error read_all(struct reading *reading, struct sc_message *message)
{
  reading->taken = 0;
  while (frames_wanted(reading) > 0 && !reading->stopped && !reading->ended) {
    struct sc_block block;
    reading->stopped = !wait_for_samples(reading);
    if (reading->stopped)
      break;
    enum sc_error error = sc_source_read(reading->source, frames_wanted(reading), &block, message);
    if (error != SC_OK && ends_with(reading, error, message))
      break;
    if (error == SC_OK && block.frames > 0)
      error = feed(reading, &block, message);
    if (error != SC_OK)
      return error;
    reading->taken += block.frames;
    reading->ended = block.frames == 0;
    reading->stopped = !goes_on(reading, &block);
  }
  return SC_OK;
}

enum sc_error sc_analyse_source(struct sc_source *source,
                                const struct sc_analysis_settings *settings,
                                bool (*progress)(void *context, double share), void *context,
                                struct sc_result *result, struct sc_message *message)
{
  *result = (struct sc_result){0};
  struct reading reading = {.source = source, .progress = progress, .context = context};
  enum sc_error error =
      sc_analysis_create(sc_source_info(source), settings, &reading.analysis, message);
  if (error == SC_OK)
    error = read_all(&reading, message);
  if (error == SC_OK)
    error = sc_analysis_result(reading.analysis, result);
  if (error == SC_OK && (!reading.stopped || sc_source_info(source)->live)) {
    error = sc_analysis_save_audio(reading.analysis, message);
    if (error != SC_OK)
      sc_result_clear(result);
  }
  if (error == SC_OK) {
    sc_source_notices(source, &result->capture.notices);
    if (reading.trouble.text[0] != 0)
      capture_notice(&result->capture.notices, "%s", reading.trouble.text);
  }
  sc_analysis_destroy(reading.analysis);
  return error;
}

/* One interval; nothing is taken when no sample came. */
static enum sc_error measure_interval(struct reading *reading,
                                      const struct sc_analysis_settings *settings,
                                      const struct sc_intervals *intervals, double start_s,
                                      struct sc_message *message)
{
  struct sc_result result = {.unmeasured = NULL};
  enum sc_error error =
      sc_analysis_create(sc_source_info(reading->source), settings, &reading->analysis, message);
  if (error == SC_OK)
    error = read_all(reading, message);
  if (error == SC_OK && reading->taken > 0) {
    error = sc_analysis_result(reading->analysis, &result);
    if (error == SC_OK && !intervals->take(intervals->context, start_s, &result))
      reading->stopped = true;
    sc_result_clear(&result);
  }
  sc_analysis_destroy(reading->analysis);
  return error;
}

enum sc_error sc_analyse_intervals(struct sc_source *source,
                                   const struct sc_analysis_settings *settings,
                                   const struct sc_intervals *intervals, struct sc_message *message)
{
  double rate_hz = sc_source_info(source)->sample_rate_hz;
  double frames = floor(intervals->length_s * rate_hz + 0.5);
  if (!(frames >= 1 && frames < 1e15) || settings->audio_path != NULL)
    return sc_fail(message, SC_BAD_ARGUMENT, "an interval of %g s cannot be measured",
                   intervals->length_s);
  struct reading reading = {.source = source,
                            .frames = (uint64_t)frames,
                            .progress = intervals->progress,
                            .context = intervals->context};
  uint64_t done = 0;
  enum sc_error error = SC_OK;
  while (error == SC_OK && !reading.stopped && !reading.ended) {
    error = measure_interval(&reading, settings, intervals, (double)done / rate_hz, message);
    done += reading.taken;
  }
  if (error == SC_OK && reading.trouble.text[0] != 0)
    return sc_fail(message, SC_READ_FAILED, "%s", reading.trouble.text);
  return error;
}

/* ---- into a recording */

/* The file is made when there is something to put into it, so that a source that gives nothing
 * leaves what stood under that name. */
static enum sc_error record_block(const struct reading *reading,
                                  const struct sc_record_settings *settings,
                                  const struct sc_block *block, struct sc_recorder **recorder,
                                  struct sc_message *message)
{
  const struct sc_source_info *info = sc_source_info(reading->source);
  struct sc_record_settings now = *settings;
  now.before_s += (double)block->frames / info->nominal_rate_hz;
  enum sc_error error = SC_OK;
  if (*recorder == NULL)
    error = capture_record_create(info, &now, reading->source->capture, recorder, message);
  return error == SC_OK ? sc_record_feed(*recorder, block, message) : error;
}

/* Frames that were read are on the disk, or the disk is full. */
static enum sc_error record_all(struct reading *reading, const struct sc_record_settings *settings,
                                struct sc_recorder **recorder, struct sc_message *message)
{
  while (!reading->stopped && !reading->ended) {
    struct sc_block block;
    reading->stopped = !wait_for_samples(reading);
    if (reading->stopped)
      break;
    enum sc_error error = sc_source_read(reading->source, READ_FRAMES, &block, message);
    if (error == SC_OK && block.frames > 0)
      error = record_block(reading, settings, &block, recorder, message);
    if (error != SC_OK)
      return error;
    reading->ended = block.frames == 0;
    reading->stopped = !goes_on(reading, &block);
  }
  return SC_OK;
}

enum sc_error sc_record_source(struct sc_source *source, const struct sc_record_settings *settings,
                               bool (*progress)(void *context, double share), void *context,
                               struct sc_record_summary *summary, struct sc_message *message)
{
  struct reading reading = {.source = source, .progress = progress, .context = context};
  struct sc_recorder *recorder = NULL;
  *summary = (struct sc_record_summary){0};
  enum sc_error error = record_all(&reading, settings, &recorder, message);
  if (recorder == NULL)
    return error;
  enum sc_error closed = sc_record_finish(recorder, summary, error == SC_OK ? message : NULL);
  return error == SC_OK ? closed : error;
}
