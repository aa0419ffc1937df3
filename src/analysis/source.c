/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Reading from an open source: frames of the container become blocks in the shape of the
 * capture's kind. Samples move in chunks that stay in the cache while they are converted,
 * picked, and scanned. */
#include <config.h>

#include "analysis/source.h"

#include <assert.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "capture/datetime.h"
#include "capture/live.h"
#include "capture/notice.h"
#include "capture/receiver.h"
#include "capture/types.h"

enum sc_error source_fetch(struct sc_source *source, float *samples, size_t frames, size_t *got,
                           struct sc_message *message)
{
  size_t ahead = source->evidence_frames - source->evidence_used;
  if (ahead == 0)
    return capture_read(source->capture, samples, frames, got, message);
  size_t channels = source->capture->facts.channels;
  *got = frames < ahead ? frames : ahead;
  memcpy(samples, source->evidence + source->evidence_used * channels,
         *got * channels * sizeof *samples);
  source->evidence_used += *got;
  return SC_OK;
}

/* Picks the selected floats of each frame. */
static void pick(const struct sc_source *source, const float *in, size_t frames, float *out)
{
  size_t stride = source->capture->facts.channels;
  in += source->offset;
  if (source->info.channels == 1) {
    for (size_t i = 0; i < frames; i++)
      out[i] = in[i * stride];
    return;
  }
  size_t left = source->swap_iq ? 1 : 0, right = 1 - left;
  for (size_t i = 0; i < frames; i++) {
    out[2 * i] = in[i * stride + left];
    out[2 * i + 1] = in[i * stride + right];
  }
}

static bool picks(const struct sc_source *source)
{
  return source->swap_iq || source->info.channels != source->capture->facts.channels;
}

/* Bare samples of one station, as they were read. */
static void look_at_type(struct sc_source *source, const float *samples, size_t frames)
{
  const struct sampletype_finding found = sampletype_feed(&source->type, samples, frames);
  if (found.like == NULL)
    return;
  (void)snprintf(source->now.likely_type, sizeof source->now.likely_type, "%s", found.like->name);
  source->now.likely_db = found.gain_db;
}

/* Chunks end at the part's edges, where counting begins and stops, and where a window of the
 * watch does. */
static size_t chunk_frames(const struct sc_source *source, size_t frames)
{
  size_t most = SOURCE_CHUNK_FLOATS / source->capture->facts.channels;
  uint64_t edge = source->input < source->start ? source->start
                  : source->input < source->end ? source->end
                                                : UINT64_MAX;
  size_t room = watch_room(&source->watch);
  frames = frames < most ? frames : most;
  frames = frames < room ? frames : room;
  return edge - source->input < frames ? (size_t)(edge - source->input) : frames;
}

enum sc_error source_take(struct sc_source *source, float *out, size_t frames, size_t *got,
                          struct sc_block *tally, struct sc_message *message)
{
  float *landing = picks(source) ? source->chunk : out;
  enum sc_error error = source_fetch(source, landing, chunk_frames(source, frames), got, message);
  if (error != SC_OK || *got == 0)
    return error;
  if (source->capture->gap)
    watch_break(&source->watch);
  if (picks(source))
    pick(source, landing, *got, out);
  look_at_type(source, landing, *got);
  struct capture_scan scan = {0};
  capture_scan(out, *got, source->info.channels, &source->range, &scan);
  if (source->input >= source->start && source->input < source->end) {
    watch_add(&source->watch, source->input - source->start, *got, &scan);
    tally->clipped += scan.clipped;
    tally->invalid += scan.invalid;
  }
  source->input += *got;
  return SC_OK;
}

/* Of the segment's first frame, or of the part's where that begins later. */
static void note_origin(struct sc_source *source, const struct capture_segment *segment)
{
  struct sc_source_info *now = &source->now;
  if (segment == source->segment)
    return;
  source->segment = segment;
  const uint64_t skipped = source->start > segment->first ? source->start - segment->first : 0;
  (void)capture_datetime_move(segment->datetime, (double)skipped / now->sample_rate_hz,
                              now->datetime);
  now->indexed = segment->indexed;
  now->global_index = segment->indexed ? segment->global_index + skipped : 0;
}

void source_enter(struct sc_source *source)
{
  const struct capture *capture = source->capture;
  const struct capture_segment *segment =
      &capture->segments[capture_segment_at(capture, source->position)];
  double centre_hz = source->given_centre_hz;
  if (source->info.kind == SC_KIND_IQ && centre_hz == 0) /* exact: not given */
    centre_hz = segment->centre_hz;
  source->now.nominal_centre_hz = centre_hz;
  source->now.centre_hz = centre_hz * source->clock_factor;
  source->now.tuned = capture->tuned;
  if (segment->tuning > 0) {
    source->now.tuned = capture->tunings[segment->tuning - 1];
    source->now.tuned.tune_hz = segment->centre_hz;
  }
  note_origin(source, segment);
}

/* Settings may change where a segment begins; a block never straddles that. */
static void enter_segment(struct sc_source *source)
{
  const struct capture *capture = source->capture;
  const size_t index = capture_segment_at(capture, source->position);
  const double before_hz = source->now.centre_hz;
  const bool starts = index > 0 && source->position == capture->segments[index].first;
  source_enter(source);
  if (starts && (!capture->segments[index].follows || source->now.centre_hz != before_hz))
    source->broken = true;
}

static uint64_t frames_left(const struct sc_source *source)
{
  const struct capture *capture = source->capture;
  size_t index = capture_segment_at(capture, source->position);
  uint64_t end = source->end;
  if (index + 1 < capture->segment_count && capture->segments[index + 1].first < end)
    end = capture->segments[index + 1].first;
  return end - source->position;
}

static enum sc_error fill(struct sc_source *source, size_t frames, struct sc_block *block,
                          struct sc_message *message)
{
  while (block->frames < frames) {
    size_t got = 0;
    float *out = source->block + block->frames * source->info.channels;
    size_t wanted = frames - block->frames;
    enum sc_error error =
        source->corrector == NULL
            ? source_take(source, out, wanted, &got, block, message)
            : corrector_take(source->corrector, source, out, wanted, &got, block, message);
    if (error != SC_OK)
      return error;
    block->frames += got;
    source->position += got;
    if (got == 0 || source->info.live) /* a live source gives what it has */
      break;
  }
  return SC_OK;
}

/* A device loses frames before what it gave last, and its settings may have changed then. Where
 * the response is corrected, the place is known to a hop. */
static void pass_gap(struct sc_source *source, struct sc_block *block)
{
  struct capture *capture = source->capture;
  if (!source->info.live)
    return;
  enter_segment(source);
  if (!capture->gap || block->frames == 0)
    return;
  block->discontinuity = true;
  block->lost = capture->lost;
  capture->gap = false;
  capture->lost = 0;
}

enum sc_error sc_source_read(struct sc_source *source, size_t max_frames, struct sc_block *block,
                             struct sc_message *message)
{
  assert(max_frames >= 1 && max_frames <= SOURCE_BLOCK_FRAMES_MAX);
  if (max_frames == 0)
    return sc_fail(message, SC_BAD_ARGUMENT, "a block needs at least one frame");
  uint64_t left = frames_left(source);
  size_t frames = max_frames < source->block_frames ? max_frames : source->block_frames;
  frames = left < frames ? (size_t)left : frames;
  enter_segment(source);
  *block = (struct sc_block){
      .first = source->position - source->start,
      .channels = source->info.channels,
      .samples = source->block,
      .discontinuity = source->broken,
      .info = &source->now,
  };
  if (source->broken)
    watch_break(&source->watch);
  enum sc_error error = fill(source, frames, block, message);
  pass_gap(source, block);
  if (block->frames > 0) {
    source->broken = false;
    source->resume = source->position;
  }
  return error;
}

enum sc_error sc_source_seek(struct sc_source *source, uint64_t frame)
{
  if (source->info.live)
    return SC_UNSUPPORTED;
  if (frame > source->end - source->start)
    return SC_BAD_ARGUMENT;
  if (frame == source->position - source->start)
    return SC_OK;
  enum sc_error error = capture_seek(source->capture, source->start + frame);
  if (error != SC_OK)
    return error;
  source->position = source->input = source->start + frame;
  source->broken = source->position != source->resume;
  return SC_OK;
}

const struct sc_source_info *sc_source_info(const struct sc_source *source)
{
  return &source->info;
}

int sc_source_descriptor(const struct sc_source *source)
{
  const struct capture *capture = source->capture;
  return capture->driver->descriptor == NULL ? -1 : capture->driver->descriptor(capture);
}

bool sc_source_ready(struct sc_source *source)
{
  return capture_ready(source->capture);
}

uint64_t sc_source_position(const struct sc_source *source)
{
  return source->position - source->start;
}

static void append(struct sc_notices *notices, const struct sc_notices *more)
{
  for (size_t i = 0; i < more->count; i++)
    capture_notice(notices, "%s", more->text[i]);
}

/* "12.5 ms", "300 s": no power of ten of what a long session lost. */
static void write_length(char *out, size_t size, double seconds)
{
  if (seconds < 1)
    (void)snprintf(out, size, "%.3g ms", 1e3 * seconds);
  else
    (void)snprintf(out, size, "%.*f s", seconds < 100 ? 1 : 0, seconds);
}

static void write_times(char *out, size_t size, uint64_t count)
{
  if (count == 1)
    (void)snprintf(out, size, "once");
  else
    (void)snprintf(out, size, "%" PRIu64 " times", count);
}

static void tell_losses(const struct sc_source *source, struct sc_notices *notices)
{
  struct sc_losses losses;
  double rate_hz = source->info.sample_rate_hz;
  char length[32], times[32];
  capture_live_losses(source->capture, &losses);
  write_times(times, sizeof times, losses.overruns);
  write_length(length, sizeof length, (double)losses.overrun_frames / rate_hz);
  if (losses.overruns > 0)
    capture_notice(notices,
                   "samples were lost in the device %s (overruns), some %s in all: the machine was "
                   "too busy",
                   times, length);
  write_times(times, sizeof times, losses.suspends);
  if (losses.suspends > 0)
    capture_notice(notices, "the device slept %s", times);
  write_times(times, sizeof times, losses.drops);
  write_length(length, sizeof length, (double)losses.dropped_frames / rate_hz);
  if (losses.drops > 0)
    capture_notice(notices,
                   "blocks were dropped %s, %s in all: measuring was slower than the samples came",
                   times, length);
}

void sc_source_losses(const struct sc_source *source, struct sc_losses *losses)
{
  capture_live_losses(source->capture, losses);
}

enum sc_error sc_source_can_tune(const struct sc_source *source, const struct sc_tuning *tuning,
                                 struct sc_message *message)
{
  return capture_receiver_can_tune(source->capture, tuning, message);
}

enum sc_error sc_source_tune(struct sc_source *source, const struct sc_tuning *tuning,
                             struct sc_message *message)
{
  double centre_hz = 0;
  enum sc_error error = capture_receiver_tune(source->capture, tuning, &centre_hz, message);
  if (centre_hz == 0) /* exact: nothing was done */
    return error;
  source->capture->segments[0].centre_hz = centre_hz;
  source->evidence_used = source->evidence_frames;
  enter_segment(source);
  source->info.centre_hz = source->now.centre_hz;
  source->info.nominal_centre_hz = source->now.nominal_centre_hz;
  source->info.tuned = source->now.tuned;
  return error;
}

void sc_source_tuned(const struct sc_source *source, struct sc_tuning *tuned)
{
  *tuned = source->capture->tuned;
}

void sc_source_antennas(const struct sc_source *source, struct sc_device_names *antennas)
{
  *antennas = source->capture->antennas;
}

void sc_source_notices(const struct sc_source *source, struct sc_notices *notices)
{
  notices->count = 0;
  append(notices, &source->capture->notices);
  append(notices, &source->notices);
  tell_losses(source, notices);
  if (source->capture->tuned.automatic_gain)
    capture_notice(notices, "the receiver sets its gain by itself, which moves levels while they "
                            "are measured: --gain ends that");
  watch_notices(&source->watch, &source->info, notices);
}

void sc_source_close(struct sc_source *source)
{
  if (source == NULL)
    return;
  capture_close(source->capture);
  free(source->block);
  free(source->chunk);
  free(source->evidence);
  sampletype_end(&source->type);
  corrector_destroy(source->corrector);
  free(source);
}
