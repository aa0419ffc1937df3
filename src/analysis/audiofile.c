/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Decoded audio to a file. A failure to write is kept until the file is to be completed: the
 * measurement goes on. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "analysis/audiofile.h"
#include "capture/write.h"

enum { RUN = 4096, BITS = 24 };

struct analysis_audiofile {
  struct analysis_audiofile_settings settings;
  struct capture_writer *writer; /* made when there is something to write */
  enum sc_error error;           /* of writing */
  struct sc_message message;
  double frames[2 * RUN];
};

enum sc_error analysis_audiofile_create(const struct analysis_audiofile_settings *settings,
                                        struct analysis_audiofile **out)
{
  struct analysis_audiofile *file = calloc(1, sizeof *file);
  if (file == NULL)
    return SC_NO_MEMORY;
  file->settings = *settings;
  *out = file;
  return SC_OK;
}

static bool ends_with(const char *text, const char *ending)
{
  const size_t length = strlen(text), end = strlen(ending);
  return length > end && strcmp(text + length - end, ending) == 0;
}

static void open_file(struct analysis_audiofile *file)
{
  const struct capture_write_settings wanted = {
      .path = file->settings.path,
      .container = ends_with(file->settings.path, ".flac") ? CAPTURE_WRITE_FLAC : CAPTURE_WRITE_WAV,
      .bits = BITS,
      .channels = 2,
      .rate_hz = round(file->settings.rate_hz),
      .keep = file->settings.keep};
  file->error = capture_writer_create(&wanted, &file->writer, &file->message);
}

static void convert(struct analysis_audiofile *file, const float *samples, size_t frames)
{
  for (size_t i = 0; i < 2 * frames; i++)
    file->frames[i] = file->settings.scale * samples[i];
}

static void write_run(struct analysis_audiofile *file, const float *samples, size_t frames)
{
  if (file->error != SC_OK)
    return;
  if (file->writer == NULL)
    open_file(file);
  convert(file, samples, frames);
  if (file->error == SC_OK)
    file->error = capture_writer_feed(file->writer, file->frames, frames, &file->message);
}

void analysis_audiofile_feed(struct analysis_audiofile *file, const struct sc_stereo_audio *audio)
{
  for (size_t at = 0; at < audio->frames; at += RUN) {
    const size_t left = audio->frames - at;
    write_run(file, audio->heard + 2 * at, left < RUN ? left : RUN);
  }
}

enum sc_error analysis_audiofile_save(struct analysis_audiofile *file, struct sc_message *message)
{
  if (file->error == SC_OK && file->writer == NULL)
    return sc_fail(message, SC_UNSUPPORTED, "%s: not written, no audio could be decoded",
                   file->settings.path);
  if (file->error != SC_OK) {
    *message = file->message;
    return file->error;
  }
  struct capture_writer *writer = file->writer;
  file->writer = NULL;
  return capture_writer_finish(writer, message);
}

void analysis_audiofile_destroy(struct analysis_audiofile *file)
{
  if (file == NULL)
    return;
  capture_writer_destroy(file->writer);
  free(file);
}
