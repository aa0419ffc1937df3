/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Raw samples from a pipe: standard input, a FIFO, a device. Takes what is there and keeps
 * the bytes of a frame that has not come whole yet. */
#include <config.h>

#include <errno.h>
#include <inttypes.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/inotify.h>
#include <unistd.h>

#include "capture/notice.h"
#include "capture/open.h"

/* As much as a pipe holds by default, and a little more. */
enum { BOUNCE_BYTES = 1 << 17 };

struct stream {
  struct capture base;
  int descriptor;
  const struct capture_type *type;
  size_t frame_bytes;
  size_t held; /* bytes of an unfinished frame at the start of `bounce` */
  bool ended;
  int told;         /* inotify, of a pipe whose writers come and go; else -1 */
  bool writer_left; /* behind what was read last */
  unsigned char bounce[BOUNCE_BYTES];
};

bool capture_wait(int descriptor, int timeout_ms)
{
  struct pollfd wait = {.fd = descriptor, .events = POLLIN};
  return poll(&wait, 1, timeout_ms) > 0;
}

/* Waits for at least one byte; 0 at the end, -1 on failure. */
static ssize_t wait_bytes(struct stream *stream, size_t wanted)
{
  ssize_t got;
  do
    got = read(stream->descriptor, stream->bounce + stream->held, wanted - stream->held);
  while (got < 0 && errno == EINTR);
  return got;
}

static void end(struct stream *stream)
{
  stream->ended = true;
  if (stream->held > 0)
    capture_notice(&stream->base.notices,
                   "the stream ended amid a frame: its last %zu bytes are left out", stream->held);
}

/* ---- a named pipe whose writers come and go (inotify(7)) */

/* Whether a writer left before what can be read now was written: told before any write. One that
 * left after a write ends what can be read now. */
static bool left_before(struct stream *stream)
{
  _Alignas(struct inotify_event) char bytes[4096];
  bool before = stream->writer_left, written = false;
  ssize_t got;
  stream->writer_left = false;
  while ((got = read(stream->told, bytes, sizeof bytes)) > 0)
    for (char *at = bytes; at < bytes + got;) {
      const struct inotify_event *event = (const struct inotify_event *)(void *)at;
      written = written || (event->mask & IN_MODIFY);
      if (event->mask & IN_CLOSE_WRITE)
        *(written ? &stream->writer_left : &before) = true;
      at += sizeof *event + event->len;
    }
  return before;
}

/* Another writer begins with a whole frame, and its samples do not follow on. */
static void pass_writers(struct stream *stream)
{
  if (stream->told < 0 || !left_before(stream))
    return;
  stream->held = 0;
  stream->base.gap = stream->base.gap || stream->base.position > 0;
}

static size_t take(struct stream *stream, float *samples)
{
  size_t frames = stream->held / stream->frame_bytes;
  size_t used = frames * stream->frame_bytes;
  stream->type->decode(stream->bounce, samples, frames * stream->base.facts.channels);
  stream->held -= used;
  memmove(stream->bounce, stream->bounce + used, stream->held);
  stream->base.position += frames;
  return frames;
}

static enum sc_error read_frames(struct capture *capture, float *samples, size_t frames,
                                 size_t *got, struct sc_message *message)
{
  struct stream *stream = (struct stream *)capture;
  size_t most = BOUNCE_BYTES / stream->frame_bytes;
  size_t wanted = (frames < most ? frames : most) * stream->frame_bytes;
  *got = 0;
  while (!stream->ended && *got == 0) {
    if (stream->told >= 0)
      (void)capture_wait(stream->descriptor, -1);
    pass_writers(stream);
    ssize_t bytes = wait_bytes(stream, wanted);
    if (bytes < 0)
      return sc_fail(message, SC_READ_FAILED, "%s: reading failed at frame %" PRIu64 ": %s",
                     capture->name, capture->position, strerror(errno));
    if (bytes == 0)
      end(stream);
    stream->held += (size_t)bytes;
    if (!stream->ended)
      *got = take(stream, samples);
  }
  return SC_OK;
}

static int descriptor(const struct capture *capture)
{
  return ((const struct stream *)capture)->descriptor;
}

static void destroy(struct capture *capture)
{
  struct stream *stream = (struct stream *)capture;
  if (stream->descriptor > STDIN_FILENO)
    (void)close(stream->descriptor);
  if (stream->told >= 0)
    (void)close(stream->told);
  free(stream);
}

static const struct capture_driver driver = {read_frames, NULL, descriptor, destroy};

enum sc_error capture_pipe_open(int from, const char *path, const struct capture_type *type,
                                double rate_hz, struct capture **capture,
                                struct sc_message *message)
{
  struct stream *stream = calloc(1, sizeof *stream);
  struct capture_segment *segment = calloc(1, sizeof *segment);
  if (stream == NULL || segment == NULL) {
    free(stream);
    free(segment);
    if (from > STDIN_FILENO)
      (void)close(from);
    return sc_fail(message, SC_NO_MEMORY, "%s", sc_error_text(SC_NO_MEMORY));
  }
  stream->base = (struct capture){.driver = &driver, .segments = segment, .segment_count = 1};
  stream->descriptor = from;
  stream->told = -1;
  stream->type = type;
  struct capture_facts *facts = &stream->base.facts;
  (void)snprintf(facts->format, sizeof facts->format, "raw stream, %s", type->name);
  facts->rate_hz = rate_hz;
  facts->channels = type->is_complex ? 2 : 1;
  facts->is_complex = type->is_complex;
  facts->is_real = !type->is_complex;
  facts->bits = type->bits;
  facts->low = type->low;
  facts->high = type->high;
  facts->live = true;
  stream->frame_bytes = (size_t)facts->channels * type->bytes;
  capture_name(&stream->base, path);
  *capture = &stream->base;
  return SC_OK;
}

enum sc_error capture_pipe_follow(struct capture *capture, const char *path,
                                  struct sc_message *message)
{
  struct stream *stream = (struct stream *)capture;
  stream->told = inotify_init1(IN_NONBLOCK | IN_CLOEXEC);
  if (stream->told >= 0 && inotify_add_watch(stream->told, path, IN_MODIFY | IN_CLOSE_WRITE) >= 0)
    return SC_OK;
  return sc_fail(message, SC_CANNOT_OPEN, "--follow: the system cannot tell of writers: %s",
                 strerror(errno));
}
