/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Raw samples by plain read() into one bounce buffer that stays in the cache: mapping the
 * file would be no faster and would count its pages as our memory. */
#include <config.h>

#include "capture/raw.h"

#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "capture/datetime.h"
#include "capture/growth.h"
#include "capture/notice.h"
#include "capture/open.h"

enum { BOUNCE_BYTES = 1 << 17 };

struct raw {
  struct capture base;
  int descriptor;
  const struct capture_type *type;
  size_t frame_bytes;
  size_t bounce_frames;
  unsigned char *bounce;
  uint64_t frames;               /* that the file holds, as far as known */
  struct capture_growth *growth; /* of a file that is still being written; else NULL */
};

/* Bytes at `offset`, fewer only at the end of the file; -1 on failure. */
static ssize_t read_at(int descriptor, unsigned char *bytes, size_t count, uint64_t offset)
{
  size_t filled = 0;
  while (filled < count) {
    ssize_t got = pread(descriptor, bytes + filled, count - filled, (off_t)(offset + filled));
    if (got < 0 && errno == EINTR)
      continue;
    if (got < 0)
      return -1;
    if (got == 0)
      break;
    filled += (size_t)got;
  }
  return (ssize_t)filled;
}

static uint64_t segment_end(const struct raw *raw, size_t segment)
{
  const struct capture *capture = &raw->base;
  return segment + 1 < capture->segment_count ? capture->segments[segment + 1].first : raw->frames;
}

static uint64_t offset_of(const struct capture *capture, const struct raw *raw, size_t segment)
{
  return capture->segments[segment].offset_bytes +
         (capture->position - capture->segments[segment].first) * raw->frame_bytes;
}

/* One bounce buffer full, or less at a segment's end. */
static enum sc_error read_some(struct raw *raw, float *samples, size_t frames, size_t *got,
                               struct sc_message *message)
{
  struct capture *base = &raw->base;
  size_t segment = capture_segment_at(base, base->position);
  uint64_t left = segment_end(raw, segment) - base->position;
  if (frames > raw->bounce_frames)
    frames = raw->bounce_frames;
  if (frames > left)
    frames = (size_t)left;
  uint64_t offset = offset_of(base, raw, segment);
  ssize_t bytes = read_at(raw->descriptor, raw->bounce, frames * raw->frame_bytes, offset);
  if (bytes < 0)
    return sc_fail(message, SC_READ_FAILED, "%s: reading failed at byte %" PRIu64 ": %s",
                   base->name, offset, strerror(errno));
  *got = (size_t)bytes / raw->frame_bytes;
  raw->type->decode(raw->bounce, samples, *got * base->facts.channels);
  base->position += *got;
  return SC_OK;
}

/* That were read. */
static double seconds(const struct capture *capture)
{
  return (double)capture->position / capture->facts.rate_hz;
}

static enum sc_error read_frames(struct capture *capture, float *samples, size_t frames,
                                 size_t *got, struct sc_message *message)
{
  struct raw *raw = (struct raw *)capture;
  *got = 0;
  if (capture->position >= capture->facts.frames)
    return SC_OK;
  enum sc_error error = read_some(raw, samples, frames, got, message);
  if (error == SC_OK && *got == 0) {
    capture_notice(&capture->notices,
                   "the file shrank while it was read: it ends after %.6g s, at frame %" PRIu64,
                   seconds(capture), capture->position);
    capture->facts.frames = raw->frames = capture->position;
  }
  return error;
}

/* ---- a file that is still being written */

/* Bytes that the file must have for one more frame. */
static uint64_t wanted_size(const struct raw *raw)
{
  const struct capture *base = &raw->base;
  return offset_of(base, raw, capture_segment_at(base, base->position)) + raw->frame_bytes;
}

static enum sc_error follow_frames(struct capture *capture, float *samples, size_t frames,
                                   size_t *got, struct sc_message *message)
{
  struct raw *raw = (struct raw *)capture;
  uint64_t wanted = wanted_size(raw), read = wanted - raw->frame_bytes;
  enum capture_growth_end end;
  uint64_t size = capture_growth_wait(raw->growth, read, wanted, &end);
  *got = 0;
  if (size < read)
    return sc_fail(message, SC_READ_FAILED,
                   "%s: the file became shorter while it was followed: the %.6g s that came "
                   "before stay",
                   capture->name, seconds(capture));
  if (end == CAPTURE_GROWTH_REMOVED)
    return sc_fail(message, SC_READ_FAILED,
                   "%s: the file was removed or replaced while it was followed: the %.6g s that "
                   "came before stay",
                   capture->name, seconds(capture));
  if (end == CAPTURE_GROWTH_CLOSED)
    return SC_OK;
  raw->frames = capture->position + (size - read) / raw->frame_bytes;
  enum sc_error error = read_some(raw, samples, frames, got, message);
  capture_growth_read(raw->growth, wanted_size(raw));
  return error;
}

static bool ready(struct capture *capture)
{
  struct raw *raw = (struct raw *)capture;
  uint64_t wanted = wanted_size(raw);
  return capture_growth_ready(raw->growth, wanted - raw->frame_bytes, wanted);
}

static int descriptor(const struct capture *capture)
{
  return capture_growth_descriptor(((const struct raw *)capture)->growth);
}

/* Leaves out all but the last second of what is there; the part it lies in becomes the first. */
static void begin_at_end(struct raw *raw)
{
  struct capture *base = &raw->base;
  struct capture_segment *last = &base->segments[base->segment_count - 1];
  uint64_t second = (uint64_t)base->facts.rate_hz;
  uint64_t held = raw->frames > last->first ? raw->frames - last->first : 0;
  uint64_t left_out = held > second ? held - second : 0;
  char began[SC_DATETIME_LENGTH];
  memcpy(began, last->datetime, sizeof began);
  last->offset_bytes += left_out * raw->frame_bytes;
  last->global_index += last->indexed ? left_out : 0;
  (void)capture_datetime_move(began, (double)left_out / base->facts.rate_hz, last->datetime);
  last->first = 0;
  base->segments[0] = *last;
  base->segment_count = 1;
}

static const struct capture_driver follow_driver;

static enum sc_error follow(struct raw *raw, const struct capture_raw_layout *layout,
                            struct sc_message *message)
{
  struct capture *base = &raw->base;
  base->driver = &follow_driver;
  base->facts.live = true;
  if (layout->newest)
    begin_at_end(raw);
  base->facts.frames = 0;
  return capture_growth_open(layout->path, raw->descriptor, &raw->growth, message);
}

static enum sc_error seek(struct capture *capture, uint64_t frame)
{
  capture->position = frame;
  return SC_OK;
}

static void destroy(struct capture *capture)
{
  struct raw *raw = (struct raw *)capture;
  if (raw->descriptor >= 0)
    (void)close(raw->descriptor);
  capture_growth_close(raw->growth);
  free(raw->bounce);
  free(raw);
}

static const struct capture_driver driver = {read_frames, seek, NULL, destroy, NULL};
static const struct capture_driver follow_driver = {follow_frames, NULL, descriptor, destroy,
                                                    ready};

/* Turns header lengths into offsets and learns how many frames the file holds. */
static enum sc_error place(struct raw *raw, const struct capture_raw_layout *layout, uint64_t start,
                           uint64_t size, struct sc_message *message)
{
  struct capture *base = &raw->base;
  uint64_t headers = 0;
  for (size_t i = 0; i < base->segment_count; i++) {
    headers += base->segments[i].offset_bytes;
    base->segments[i].offset_bytes = start + headers + base->segments[i].first * raw->frame_bytes;
  }
  uint64_t beside = headers + layout->trailing_bytes;
  uint64_t bytes = size > beside ? size - beside : 0;
  base->facts.frames = raw->frames = bytes / raw->frame_bytes;
  if (layout->follow)
    return SC_OK; /* more will come, and parts whose samples do not exist yet may begin */
  if (base->facts.frames == 0)
    return sc_fail(message, SC_BAD_FORMAT,
                   "%s: holds no sample: %" PRIu64 " bytes of data, a frame of %s takes %zu",
                   base->name, bytes, layout->type->name, raw->frame_bytes);
  uint64_t odd = bytes % raw->frame_bytes;
  if (odd > 0)
    capture_notice(&base->notices,
                   "the last %" PRIu64 " of %" PRIu64
                   " bytes make no whole frame of %s and are left out: cut short, or another type",
                   odd, bytes, layout->type->name);
  size_t kept = base->segment_count;
  while (kept > 1 && base->segments[kept - 1].first >= base->facts.frames)
    kept--;
  if (kept < base->segment_count)
    capture_notice(&base->notices,
                   "%zu of %zu captures in the metadata start behind the end of the data",
                   base->segment_count - kept, base->segment_count);
  base->segment_count = kept;
  return SC_OK;
}

static void fill_facts(struct capture_facts *facts, const struct capture_raw_layout *layout)
{
  const struct capture_type *type = layout->type;
  (void)snprintf(facts->format, sizeof facts->format, "raw, %s", type->name);
  facts->rate_hz = layout->rate_hz;
  facts->channels = layout->channels * (type->is_complex ? 2 : 1);
  facts->type = type;
  facts->is_complex = type->is_complex;
  facts->is_real = !type->is_complex;
  facts->bits = type->bits;
  facts->low = type->low;
  facts->high = type->high;
}

static struct raw *allocate(const struct capture_raw_layout *layout)
{
  struct raw *raw = calloc(1, sizeof *raw);
  if (raw == NULL)
    return NULL;
  raw->base.driver = &driver;
  raw->descriptor = -1;
  raw->type = layout->type;
  fill_facts(&raw->base.facts, layout);
  raw->frame_bytes = (size_t)raw->base.facts.channels * layout->type->bytes;
  raw->bounce_frames = BOUNCE_BYTES / raw->frame_bytes;
  raw->bounce = malloc(BOUNCE_BYTES);
  raw->base.segments = layout->segments;
  raw->base.segment_count = layout->segment_count;
  if (layout->segments == NULL) {
    raw->base.segments = calloc(1, sizeof *raw->base.segments);
    raw->base.segment_count = 1;
  }
  if (raw->bounce == NULL || raw->base.segments == NULL) {
    raw->base.segments = layout->segments == NULL ? raw->base.segments : NULL;
    capture_close(&raw->base);
    return NULL;
  }
  return raw;
}

enum sc_error capture_raw_open(const struct capture_raw_layout *layout, struct capture **capture,
                               struct sc_message *message)
{
  struct raw *raw = allocate(layout);
  if (raw == NULL)
    return sc_fail(message, SC_NO_MEMORY, "%s", sc_error_text(SC_NO_MEMORY));
  capture_name(&raw->base, layout->path);
  uint64_t start = 0, size = 0;
  enum sc_error error = capture_open_input(layout->path, &raw->descriptor, &start, &size, message);
  if (error == SC_OK) {
    capture_note_file(&raw->base, NULL, raw->descriptor);
    error = place(raw, layout, start, size, message);
  }
  if (error == SC_OK && layout->follow)
    error = follow(raw, layout, message);
  if (error != SC_OK) {
    if (layout->segments != NULL)
      raw->base.segments = NULL; /* still the caller's */
    capture_close(&raw->base);
    return error;
  }
  *capture = &raw->base;
  return SC_OK;
}
