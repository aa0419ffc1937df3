/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Blocks of a source into a file that grows. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <limits.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <sidecomb/record.h>

#include "capture/datetime.h"
#include "capture/notice.h"
#include "capture/record.h"
#include "capture/sigmf_tuning.h"
#include "capture/write.h"

/* More are only counted. */
enum { CHUNK_FLOATS = 4096, RECORD_GAPS = 128 };

struct sc_recorder {
  struct capture_write_settings write;
  struct capture_writer *writer;
  double rate_hz;
  unsigned channels;
  bool sigmf, live;
  struct sc_record_summary summary;
  uint64_t settled; /* frames when the header was brought up to date last */
  char path[PATH_MAX], hardware[256];
  struct sc_annotation *notes; /* a file's own; of a live source its gaps */
  size_t note_count;
  struct capture_mark marks[SC_RECORD_CAPTURES], last; /* as the source says of its capture */
  size_t mark_count;
  double frames[CHUNK_FLOATS];
};

static bool ends_in(const char *path, const char *end)
{
  size_t length = strlen(path), tail = strlen(end);
  return length > tail && strcmp(path + length - tail, end) == 0;
}

/* What the name says: the container, and for SigMF the name without its ending. */
static enum sc_error read_name(struct sc_recorder *recorder, const char *path,
                               struct sc_message *message)
{
  static const char *const halves[] = {".sigmf", ".sigmf-meta", ".sigmf-data"};
  char shown[CAPTURE_SHOWN_LENGTH];
  int length = snprintf(recorder->path, sizeof recorder->path, "%s", path);
  if (length < 0 || (size_t)length >= sizeof recorder->path)
    return sc_fail(message, SC_BAD_ARGUMENT, "the path to write to is too long");
  recorder->write.container = CAPTURE_WRITE_RF64;
  recorder->write.path = recorder->path;
  if (ends_in(path, ".wav"))
    return SC_OK;
  for (size_t i = 0; i < sizeof halves / sizeof halves[0]; i++)
    if (ends_in(path, halves[i])) {
      recorder->path[(size_t)length - strlen(halves[i])] = '\0';
      recorder->write.container = CAPTURE_WRITE_SIGMF;
      recorder->sigmf = true;
      return SC_OK;
    }
  return sc_fail(message, SC_BAD_ARGUMENT,
                 "%s: a recording is a SigMF pair or WAV: give a name that ends in .sigmf-meta or "
                 ".wav",
                 capture_shown(shown, path));
}

static void choose_bits(struct sc_recorder *recorder, const struct sc_source_info *info)
{
  static const char *const types[2][3] = {{"rf32_le", "ri16_le", "ri32_le"},
                                          {"cf32_le", "ci16_le", "ci32_le"}};
  const bool is_complex = info->kind == SC_KIND_IQ;
  recorder->write.type = types[is_complex][info->bits == 0 ? 0 : info->bits <= 16 ? 1 : 2];
  recorder->write.bits = info->bits == 0 ? 0 : info->bits <= 16 ? 16 : info->bits <= 24 ? 24 : 32;
  recorder->write.channels = recorder->sigmf && is_complex ? 1 : info->channels;
}

static void note_time(struct capture_mark *mark, double before_s)
{
  struct timespec now;
  if (clock_gettime(CLOCK_REALTIME, &now) != 0)
    return;
  double at_s = (double)now.tv_sec + 1e-9 * (double)now.tv_nsec - before_s;
  now.tv_sec = (time_t)floor(at_s);
  now.tv_nsec = (long)(1e9 * (at_s - floor(at_s)));
  (void)capture_datetime_write(&now, 3, mark->datetime);
}

/* A live source's time and place are those of its start, and a recording may begin later: the clock
 * tells its time. */
static struct capture_mark mark_of(const struct sc_source_info *info)
{
  struct capture_mark mark = {.centre_hz = info->kind == SC_KIND_IQ ? info->nominal_centre_hz : 0,
                              .tuned = info->tuned};
  if (info->live)
    return mark;
  mark.indexed = info->indexed;
  mark.global_index = info->global_index;
  memcpy(mark.datetime, info->datetime, sizeof mark.datetime);
  return mark;
}

/* What the file has no place for is counted. */
static void put_mark(struct sc_recorder *recorder, const struct capture_mark *mark)
{
  if (recorder->sigmf && recorder->mark_count < SC_RECORD_CAPTURES)
    recorder->marks[recorder->mark_count++] = *mark;
  else if (mark->centre_hz != 0 || mark->datetime[0] != '\0' || /* exact: not given */
           capture_tuning_known(&mark->tuned))
    recorder->summary.untold++;
}

static void begin_marks(struct sc_recorder *recorder, const struct sc_source_info *info,
                        double before_s)
{
  recorder->live = info->live;
  recorder->last = mark_of(info);
  put_mark(recorder, &recorder->last);
  if (info->live)
    note_time(&recorder->marks[0], before_s);
  recorder->write.marks = recorder->marks;
  recorder->write.mark_count = recorder->mark_count;
  if (!info->live || !capture_tuning_known(&info->tuned))
    return;
  memcpy(recorder->hardware, info->name, sizeof recorder->hardware);
  recorder->write.hardware = recorder->hardware;
}

static enum sc_error begin_notes(struct sc_recorder *recorder, const struct sc_source_info *info,
                                 struct sc_message *message)
{
  const size_t own = info->live ? 0 : info->annotation_count;
  recorder->notes = calloc(own > 0 ? own : RECORD_GAPS, sizeof *recorder->notes);
  if (recorder->notes == NULL)
    return sc_fail(message, SC_NO_MEMORY, "%s", sc_error_text(SC_NO_MEMORY));
  if (own > 0)
    memcpy(recorder->notes, info->annotations, own * sizeof *recorder->notes);
  recorder->note_count = own;
  recorder->write.annotations = recorder->notes;
  recorder->write.annotation_count = own;
  return SC_OK;
}

static enum sc_error prepare(struct sc_recorder *recorder, const struct sc_source_info *info,
                             const struct sc_record_settings *settings, struct sc_message *message)
{
  enum sc_error error = read_name(recorder, settings->path, message);
  if (error != SC_OK)
    return error;
  double rate_hz = info->nominal_rate_hz;
  if (!recorder->sigmf && (rate_hz != rint(rate_hz) || rate_hz > INT_MAX))
    return sc_fail(message, SC_BAD_ARGUMENT,
                   "%.10g samples a second: WAV knows whole rates only; record SigMF", rate_hz);
  choose_bits(recorder, info);
  recorder->rate_hz = recorder->write.rate_hz = rate_hz;
  recorder->channels = info->channels;
  recorder->write.growing = true;
  recorder->write.keep = !settings->replace;
  begin_marks(recorder, info, settings->before_s);
  error = begin_notes(recorder, info, message);
  return error == SC_OK ? capture_writer_create(&recorder->write, &recorder->writer, message)
                        : error;
}

static void destroy(struct sc_recorder *recorder)
{
  free(recorder->notes);
  free(recorder);
}

enum sc_error capture_record_create(const struct sc_source_info *info,
                                    const struct sc_record_settings *settings,
                                    const struct capture *read, struct sc_recorder **recorder,
                                    struct sc_message *message)
{
  *recorder = NULL;
  struct sc_recorder *fresh = calloc(1, sizeof *fresh);
  if (fresh == NULL)
    return sc_fail(message, SC_NO_MEMORY, "%s", sc_error_text(SC_NO_MEMORY));
  fresh->write.read = read;
  enum sc_error error = prepare(fresh, info, settings, message);
  if (error != SC_OK) {
    destroy(fresh);
    return error;
  }
  *recorder = fresh;
  return SC_OK;
}

enum sc_error sc_record_create(const struct sc_source_info *info,
                               const struct sc_record_settings *settings,
                               struct sc_recorder **recorder, struct sc_message *message)
{
  return capture_record_create(info, settings, NULL, recorder, message);
}

static void note_gap(struct sc_recorder *recorder, uint64_t lost, bool changed)
{
  uint64_t n = recorder->summary.gaps++;
  if (n >= RECORD_GAPS)
    return;
  struct sc_annotation *gap = &recorder->notes[recorder->note_count++];
  *gap = (struct sc_annotation){.first = recorder->summary.frames,
                                .frames = 1,
                                .lower_hz = (double)NAN,
                                .upper_hz = (double)NAN};
  const char *why = changed ? ": the receiver's settings were changed" : "";
  if (n == RECORD_GAPS - 1)
    (void)snprintf(gap->text, sizeof gap->text, "samples are missing here and later");
  else if (lost > 0)
    (void)snprintf(gap->text, sizeof gap->text, "some %llu samples are missing before this one%s",
                   (unsigned long long)lost, why);
  else
    (void)snprintf(gap->text, sizeof gap->text, "samples are missing before this one%s", why);
}

static bool same(const struct capture_mark *a, const struct capture_mark *b)
{
  return a->centre_hz == b->centre_hz && a->indexed == b->indexed &&
         a->global_index == b->global_index && strcmp(a->datetime, b->datetime) == 0 &&
         capture_tuning_same(&a->tuned, &b->tuned);
}

/* Where a capture of the source begins, or a device lost frames. */
static void note_capture(struct sc_recorder *recorder, const struct sc_block *block)
{
  struct capture_mark mark = mark_of(block->info);
  const bool another = !same(&mark, &recorder->last);
  if (block->discontinuity && recorder->live)
    note_gap(recorder, block->lost, another);
  if (!another && !block->discontinuity)
    return;
  recorder->last = mark;
  if (!another) { /* its time and place are those of its start */
    mark.indexed = false;
    mark.datetime[0] = '\0';
  }
  mark.first = recorder->summary.frames;
  put_mark(recorder, &mark);
}

static enum sc_error put(struct sc_recorder *recorder, const float *samples, size_t frames,
                         struct sc_message *message)
{
  size_t most = CHUNK_FLOATS / recorder->channels;
  while (frames > 0) {
    size_t part = frames < most ? frames : most, floats = part * recorder->channels;
    for (size_t i = 0; i < floats; i++)
      recorder->frames[i] = (double)samples[i];
    enum sc_error error = capture_writer_feed(recorder->writer, recorder->frames, part, message);
    if (error != SC_OK)
      return error;
    recorder->summary.frames += part;
    samples += floats;
    frames -= part;
  }
  return SC_OK;
}

enum sc_error sc_record_feed(struct sc_recorder *recorder, const struct sc_block *block,
                             struct sc_message *message)
{
  if (block->channels != recorder->channels)
    return SC_BAD_ARGUMENT;
  if (recorder->summary.frames > 0)
    note_capture(recorder, block);
  enum sc_error error = put(recorder, block->samples, block->frames, message);
  if (error != SC_OK)
    return error;
  if ((double)(recorder->summary.frames - recorder->settled) > recorder->rate_hz) {
    recorder->settled = recorder->summary.frames;
    return capture_writer_settle(recorder->writer, message);
  }
  return SC_OK;
}

/* Of a recording that was ended early, what its source says of frames that are not in it. */
static void drop_behind(struct sc_recorder *recorder)
{
  size_t kept = 0;
  for (size_t i = 0; i < recorder->note_count; i++)
    if (recorder->notes[i].first < recorder->summary.frames)
      recorder->notes[kept++] = recorder->notes[i];
  recorder->note_count = kept;
}

enum sc_error sc_record_finish(struct sc_recorder *recorder, struct sc_record_summary *summary,
                               struct sc_message *message)
{
  drop_behind(recorder);
  recorder->summary.seconds = (double)recorder->summary.frames / recorder->rate_hz;
  if (summary != NULL)
    *summary = recorder->summary;
  capture_writer_count(recorder->writer, recorder->note_count, recorder->mark_count);
  enum sc_error error = capture_writer_finish(recorder->writer, message);
  destroy(recorder);
  return error;
}
