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
#include <sys/ioctl.h>
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
  int told;      /* inotify, of a pipe whose writers come and go; else -1 */
  bool parted;   /* a writer left ... */
  size_t unread; /* ... of whose bytes so many are to be read yet */
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

/* Looks whether a writer left. Then what can be read now is what it left unread, unless another
 * one has written since: such a writer came when there was nothing to read, as a reader is never
 * long behind, and all of it is the new one's. That bytes were written is told after they can be
 * read, so what is told of writing before somebody left says nothing. */
static void look_for_parting(struct stream *stream)
{
  _Alignas(struct inotify_event) char bytes[4096];
  bool came = false, wrote = false;
  int unread = 0;
  ssize_t got;
  while ((got = read(stream->told, bytes, sizeof bytes)) > 0)
    for (char *at = bytes; at < bytes + got;) {
      const struct inotify_event *event = (const struct inotify_event *)(void *)at;
      if (event->mask & IN_CLOSE_WRITE) {
        stream->parted = true;
        came = wrote = false;
      }
      came = came || (event->mask & IN_OPEN);
      wrote = wrote || (came && (event->mask & IN_MODIFY));
      at += sizeof *event + event->len;
    }
  if (stream->parted && !wrote && ioctl(stream->descriptor, FIONREAD, &unread) == 0 && unread > 0)
    stream->unread = (size_t)unread;
}

/* Another writer begins with a whole frame, and its samples do not follow on. */
static void pass(struct stream *stream)
{
  if (!stream->parted || stream->unread > 0)
    return;
  stream->parted = false;
  stream->held = 0;
  stream->base.gap = stream->base.gap || stream->base.position > 0;
}

static void pass_writers(struct stream *stream)
{
  if (stream->told < 0)
    return;
  pass(stream);
  if (!stream->parted)
    look_for_parting(stream);
  pass(stream);
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

/* Of what is there, at most up to `most` held bytes. */
static ssize_t fetch(struct stream *stream, size_t most)
{
  size_t reach = stream->held + stream->unread;
  ssize_t bytes = wait_bytes(stream, stream->parted && reach < most ? reach : most);
  if (bytes < 0)
    return bytes;
  if (bytes == 0)
    end(stream);
  stream->held += (size_t)bytes;
  stream->unread -= (size_t)bytes < stream->unread ? (size_t)bytes : stream->unread;
  return bytes;
}

static bool ready(struct capture *capture)
{
  struct stream *stream = (struct stream *)capture;
  int there = 0;
  pass_writers(stream);
  if (ioctl(stream->descriptor, FIONREAD, &there) != 0 || there <= 0)
    return true; /* its end, or what a read will say */
  size_t next = stream->parted ? stream->unread : (size_t)there;
  if (stream->held + next >= stream->frame_bytes)
    return true;
  return fetch(stream, stream->held + next) < 0;
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
    if (fetch(stream, wanted) < 0)
      return sc_fail(message, SC_READ_FAILED, "%s: reading failed at frame %" PRIu64 ": %s",
                     capture->name, capture->position, strerror(errno));
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

static const struct capture_driver driver = {read_frames, NULL, descriptor, destroy, ready};

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
  facts->type = type;
  facts->is_complex = type->is_complex;
  facts->is_real = !type->is_complex;
  facts->bits = type->bits;
  facts->low = type->low;
  facts->high = type->high;
  facts->live = true;
  stream->frame_bytes = (size_t)facts->channels * type->bytes;
  capture_name(&stream->base, path);
  capture_note_file(&stream->base, NULL, from);
  *capture = &stream->base;
  return SC_OK;
}

enum sc_error capture_pipe_follow(struct capture *capture, const char *path,
                                  struct sc_message *message)
{
  struct stream *stream = (struct stream *)capture;
  stream->told = inotify_init1(IN_NONBLOCK | IN_CLOEXEC);
  if (stream->told >= 0 &&
      inotify_add_watch(stream->told, path, IN_OPEN | IN_MODIFY | IN_CLOSE_WRITE) >= 0)
    return SC_OK;
  return sc_fail(message, SC_CANNOT_OPEN, "--follow: the system cannot tell of writers: %s",
                 strerror(errno));
}
