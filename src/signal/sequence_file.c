/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The test audio as a sound file. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <string.h>

#include <sidecomb/sequence.h>

#include "capture/write.h"

enum { CHUNK = 4096 };
static const double rate_hz = 48e3, level_least_dbfs = -40;

static int ends_with(const char *path, const char *ending)
{
  const size_t length = strlen(path), end = strlen(ending);
  return length > end && strcmp(path + length - end, ending) == 0;
}

static enum sc_error check(const struct sc_sequence_settings *settings,
                           const struct sc_sequence_file *file, struct sc_message *message)
{
  if (!(settings->level_dbfs >= level_least_dbfs && settings->level_dbfs <= 0))
    return sc_fail(message, SC_BAD_ARGUMENT, "the level of the test audio is %.0f to 0 dBFS",
                   level_least_dbfs);
  if (!(settings->preemphasis_us >= 0 && settings->preemphasis_us <= 100))
    return sc_fail(message, SC_BAD_ARGUMENT, "a pre-emphasis is 0 to 100 microseconds");
  if (file->bits != 0 && file->bits != 16 && file->bits != 24)
    return sc_fail(message, SC_BAD_ARGUMENT, "test audio has 16 or 24 bits, not %u", file->bits);
  if (!ends_with(file->path, ".wav") && !ends_with(file->path, ".flac"))
    return sc_fail(message, SC_BAD_ARGUMENT,
                   "%.200s: test audio is a sound file; give a name that ends in .wav or .flac",
                   file->path);
  return SC_OK;
}

static enum sc_error write_frames(struct capture_writer *writer,
                                  const struct sc_sequence_settings *settings,
                                  const struct sc_sequence_file *file, struct sc_message *message)
{
  double frames[2 * CHUNK];
  const size_t total = (size_t)ceil(sc_sequence_seconds() * rate_hz);
  for (size_t done = 0; done < total;) {
    const size_t count = total - done < CHUNK ? total - done : CHUNK;
    for (size_t i = 0; i < count; i++)
      sc_sequence_sample(settings, (double)(done + i) / rate_hz, &frames[2 * i],
                         &frames[2 * i + 1]);
    const enum sc_error error = capture_writer_feed(writer, frames, count, message);
    if (error != SC_OK)
      return error;
    done += count;
    if (file->progress != NULL && !file->progress(file->context, (double)done / (double)total))
      return sc_fail(message, SC_UNSUPPORTED, "given up; nothing was written");
  }
  return SC_OK;
}

enum sc_error sc_sequence_write(const struct sc_sequence_settings *settings,
                                const struct sc_sequence_file *file, struct sc_message *message)
{
  enum sc_error error = check(settings, file, message);
  if (error != SC_OK)
    return error;
  const struct capture_write_settings write = {
      .path = file->path,
      .container = ends_with(file->path, ".flac") ? CAPTURE_WRITE_FLAC : CAPTURE_WRITE_WAV,
      .bits = file->bits == 0 ? 24 : file->bits,
      .channels = 2,
      .rate_hz = rate_hz,
      .keep = file->keep,
      .dither = true};
  struct capture_writer *writer;
  error = capture_writer_create(&write, &writer, message);
  if (error != SC_OK)
    return error;
  error = write_frames(writer, settings, file, message);
  if (error == SC_OK)
    return capture_writer_finish(writer, message);
  capture_writer_destroy(writer);
  return error;
}
