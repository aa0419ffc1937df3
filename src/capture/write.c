/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The writer: quantises with our own rounding, also for sound files, since libsndfile scales
 * floats by 2^(n-1) - 1 on the way out and by 2^(n-1) on the way in. */
#include <config.h>

#include "capture/write.h"

#include <errno.h>
#include <limits.h>
#include <math.h>
#include <sndfile.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <sidecomb/file.h>

#include "capture/notice.h"
#include "capture/types.h"
#include "capture/write_sigmf.h"

enum { CHUNK_FLOATS = 4096 };

struct capture_writer {
  struct capture_write_settings settings;
  const struct capture_type *type; /* NULL: sound file */
  unsigned width;                  /* floats in a frame */
  bool stream;                     /* the path is a pipe or a device */
  bool fresh[2];                   /* nothing stood under its names: samples, metadata */
  FILE *file;
  SNDFILE *sound;
  uint64_t random;
  uint64_t frames; /* written */
  bool failed;     /* a write did */
  dev_t device;    /* of a growing file, and ... */
  ino_t inode;     /* ... which one it is there */
  char path[PATH_MAX], part[PATH_MAX], meta[PATH_MAX], meta_part[PATH_MAX];
  double dither[CHUNK_FLOATS];
  int codes[CHUNK_FLOATS];
  unsigned char bytes[CHUNK_FLOATS * sizeof(double)];
};

static const int sound_formats[CAPTURE_WRITE_CONTAINERS] = {
    [CAPTURE_WRITE_WAV] = SF_FORMAT_WAV, [CAPTURE_WRITE_RF64] = SF_FORMAT_RF64,
    [CAPTURE_WRITE_W64] = SF_FORMAT_W64, [CAPTURE_WRITE_FLAC] = SF_FORMAT_FLAC,
    [CAPTURE_WRITE_CAF] = SF_FORMAT_CAF, [CAPTURE_WRITE_AIFF] = SF_FORMAT_AIFF,
};

static int sound_subtype(int major, unsigned bits)
{
  switch (bits) {
  case 0:
    return SF_FORMAT_FLOAT;
  case 8: /* these two know 8 bits only as unsigned */
    return major == SF_FORMAT_WAV || major == SF_FORMAT_RF64 || major == SF_FORMAT_W64
               ? SF_FORMAT_PCM_U8
               : SF_FORMAT_PCM_S8;
  case 16:
    return SF_FORMAT_PCM_16;
  case 24:
    return SF_FORMAT_PCM_24;
  case 32:
    return SF_FORMAT_PCM_32;
  case 64:
    return SF_FORMAT_DOUBLE;
  default:
    return 0;
  }
}

/* Uniform over [-0.5, 0.5): xorshift64* (Marsaglia 2003, Vigna 2016). */
static double uniform(uint64_t *state)
{
  *state ^= *state >> 12;
  *state ^= *state << 25;
  *state ^= *state >> 27;
  return (double)((*state * 0x2545f4914f6cdd1du) >> 11) * 0x1p-53 - 0.5;
}

static const double *draw_dither(struct capture_writer *writer, size_t count)
{
  if (!writer->settings.dither)
    return NULL;
  for (size_t i = 0; i < count; i++)
    writer->dither[i] = uniform(&writer->random) + uniform(&writer->random);
  return writer->dither;
}

/* Codes in the top bits of an int, where libsndfile wants them. */
static void quantise(const double *samples, const double *dither, unsigned bits, int *codes,
                     size_t count)
{
  double scale = ldexp(1, (int)bits - 1);
  for (size_t i = 0; i < count; i++) {
    double code = rint(samples[i] * scale + (dither == NULL ? 0 : dither[i]));
    code = isnan(code) ? 0 : fmax(-scale, fmin(scale - 1, code));
    codes[i] = (int)(code * ldexp(1, 32 - (int)bits));
  }
}

static bool feed_sound(struct capture_writer *writer, const double *samples, size_t count)
{
  unsigned bits = writer->settings.bits;
  sf_count_t items = (sf_count_t)count;
  if (bits == 0 || bits == 64)
    return sf_write_double(writer->sound, samples, items) == items;
  quantise(samples, draw_dither(writer, count), bits, writer->codes, count);
  return sf_write_int(writer->sound, writer->codes, items) == items;
}

static bool feed_raw(struct capture_writer *writer, const double *samples, size_t count)
{
  writer->type->encode(samples, draw_dither(writer, count), writer->bytes, count);
  return fwrite(writer->bytes, writer->type->bytes, count, writer->file) == count;
}

/* What goes to standard output has no other name to wait under. */
static bool to_standard_output(const struct capture_write_settings *settings)
{
  return settings->container == CAPTURE_WRITE_RAW && strcmp(settings->path, "-") == 0;
}

static enum sc_error write_failed(const struct capture_writer *writer, struct sc_message *message)
{
  char shown[CAPTURE_SHOWN_LENGTH];
  return sc_fail(message, SC_WRITE_FAILED, "%s: writing failed: %s",
                 to_standard_output(&writer->settings) ? "standard output"
                                                       : capture_shown(shown, writer->path),
                 strerror(errno));
}

enum sc_error capture_writer_feed(struct capture_writer *writer, const double *samples,
                                  size_t frames, struct sc_message *message)
{
  for (size_t left = frames * writer->width; left > 0;) {
    size_t count = left < CHUNK_FLOATS ? left : CHUNK_FLOATS;
    count -= count % writer->width;
    bool written = writer->type == NULL ? feed_sound(writer, samples, count)
                                        : feed_raw(writer, samples, count);
    writer->failed = writer->failed || !written;
    if (!written)
      return write_failed(writer, message);
    writer->frames += count / writer->width;
    samples += count;
    left -= count;
  }
  return SC_OK;
}

/* Why the library could not open the file: the system's own words without what it puts around
 * them. */
static void sound_trouble(char *out, size_t size)
{
  static const char before[] = "System error : ";
  const char *words = sf_strerror(NULL);
  if (strncmp(words, before, strlen(before)) == 0)
    words += strlen(before);
  size_t length = strlen(words);
  length -= length > 0 && words[length - 1] == '.';
  (void)snprintf(out, size, "%.*s", (int)length, words);
}

static enum sc_error open_sound(struct capture_writer *writer, struct sc_message *message)
{
  const struct capture_write_settings *settings = &writer->settings;
  int major = sound_formats[settings->container];
  SF_INFO info = {.samplerate = (int)lrint(settings->rate_hz), .channels = (int)writer->width};
  info.format = major | sound_subtype(major, settings->bits);
  if (settings->bits == 0 && !sf_format_check(&info))
    return sc_fail(message, SC_BAD_ARGUMENT, "a sound file of this kind has no floats");
  if ((info.format & SF_FORMAT_SUBMASK) == 0 || !sf_format_check(&info))
    return sc_fail(message, SC_BAD_ARGUMENT, "a sound file of this kind has no samples of %u bits",
                   settings->bits);
  writer->sound = sf_open(writer->part, SFM_WRITE, &info);
  if (writer->sound == NULL) {
    char shown[CAPTURE_SHOWN_LENGTH], trouble[256];
    sound_trouble(trouble, sizeof trouble);
    return sc_fail(message, SC_WRITE_FAILED, "%s: cannot be written: %s",
                   capture_shown(shown, writer->path), trouble);
  }
  /* The library notes peaks with the time of day, and files must be reproducible. */
  (void)sf_command(writer->sound, SFC_SET_ADD_PEAK_CHUNK, NULL, SF_FALSE);
  /* Below 4 GB every program reads it then. */
  if (settings->growing && settings->container == CAPTURE_WRITE_RF64)
    (void)sf_command(writer->sound, SFC_RF64_AUTO_DOWNGRADE, NULL, SF_TRUE);
  return SC_OK;
}

void capture_writer_count(struct capture_writer *writer, size_t annotations, size_t marks)
{
  writer->settings.annotation_count = annotations;
  writer->settings.mark_count = marks;
}

/* A recording that could not be begun, or to which nothing came, leaves nothing under its names. */
static void take_back(const struct capture_writer *writer)
{
  if (!writer->settings.growing || writer->stream)
    return;
  if (writer->fresh[0] && (writer->file != NULL || writer->type == NULL))
    (void)remove(writer->path);
  if (writer->fresh[1] && writer->file != NULL)
    (void)remove(writer->meta);
}

/* Whether a growing file still stands under its name: what is written into a file without a name
 * is lost with its end. */
static bool is_there(const struct capture_writer *writer)
{
  struct stat there;
  return stat(writer->path, &there) == 0 && there.st_dev == writer->device &&
         there.st_ino == writer->inode;
}

static enum sc_error gone(const struct capture_writer *writer, struct sc_message *message)
{
  char shown[CAPTURE_SHOWN_LENGTH];
  return sc_fail(message, SC_WRITE_FAILED,
                 "%s: is no longer there: it or its folder was removed or renamed meanwhile",
                 capture_shown(shown, writer->path));
}

enum sc_error capture_writer_settle(struct capture_writer *writer, struct sc_message *message)
{
  if (writer->sound != NULL)
    (void)sf_command(writer->sound, SFC_UPDATE_HEADER_NOW, NULL, 0);
  return is_there(writer) ? SC_OK : gone(writer, message);
}

static bool note_identity(struct capture_writer *writer)
{
  struct stat there;
  bool good = stat(writer->path, &there) == 0;
  if (good) {
    writer->device = there.st_dev;
    writer->inode = there.st_ino;
  }
  return good;
}

static enum sc_error open_raw(struct capture_writer *writer, struct sc_message *message)
{
  if (to_standard_output(&writer->settings)) {
    int copy = dup(STDOUT_FILENO);
    writer->part[0] = '\0';
    writer->file = copy < 0 ? NULL : fdopen(copy, "wb");
    if (writer->file == NULL && copy >= 0)
      (void)close(copy);
    return writer->file == NULL ? write_failed(writer, message) : SC_OK;
  }
  if (writer->stream) {
    writer->file = fopen(writer->path, "wb");
    writer->part[0] = '\0';
    return writer->file == NULL ? write_failed(writer, message) : SC_OK;
  }
  const bool growing = writer->settings.growing;
  writer->file = fopen(writer->part, growing && !writer->settings.keep ? "wb" : "wbx");
  if (writer->file == NULL)
    return write_failed(writer, message);
  if (growing) /* a write that fails is told at once, and what went before is on the disk */
    (void)setvbuf(writer->file, NULL, _IONBF, 0);
  return SC_OK;
}

static bool join(char *out, const char *path, const char *end)
{
  int written = snprintf(out, PATH_MAX, "%s%s", path, end);
  return written > 0 && written < PATH_MAX;
}

static enum sc_error name_files(struct capture_writer *writer, struct sc_message *message)
{
  bool sigmf = writer->settings.container == CAPTURE_WRITE_SIGMF;
  char unique[32];
  (void)snprintf(unique, sizeof unique, ".part%ld", (long)getpid());
  if (writer->settings.growing)
    unique[0] = '\0';
  if (!join(writer->path, writer->settings.path, sigmf ? ".sigmf-data" : "") ||
      !join(writer->meta, writer->settings.path, ".sigmf-meta") ||
      !join(writer->part, writer->path, unique) || !join(writer->meta_part, writer->meta, unique))
    return sc_fail(message, SC_BAD_ARGUMENT, "the path to write to is too long");
  return SC_OK;
}

/* A pipe or a device takes bare samples as they come; it must not be renamed over. */
static enum sc_error look(struct capture_writer *writer, struct sc_message *message)
{
  const struct capture_write_settings *settings = &writer->settings;
  const bool sigmf = settings->container == CAPTURE_WRITE_SIGMF;
  char shown[CAPTURE_SHOWN_LENGTH];
  struct stat there;
  if (to_standard_output(settings))
    return SC_OK;
  for (int half = 0; half <= (sigmf ? 1 : 0); half++) {
    const char *path = half == 0 ? writer->path : writer->meta;
    writer->fresh[half] = !sc_file_exists(path);
    if (stat(path, &there) != 0)
      continue;
    writer->stream = !S_ISREG(there.st_mode);
    if (writer->stream && (S_ISDIR(there.st_mode) || settings->container != CAPTURE_WRITE_RAW))
      return sc_fail(message, SC_WRITE_FAILED, "%s: cannot be written: it is no plain file",
                     capture_shown(shown, path));
    if (settings->read != NULL && capture_reads(settings->read, &there))
      return sc_fail(message, SC_BAD_ARGUMENT, "%s: is the one that is read; give another name",
                     capture_shown(shown, path));
    if (!writer->stream && settings->keep)
      return sc_fail(message, SC_WRITE_FAILED,
                     "%s: is there already; name another file, or say --replace",
                     capture_shown(shown, path));
  }
  return SC_OK;
}

static enum sc_error settle(struct capture_writer *writer, struct sc_message *message)
{
  const struct capture_write_settings *settings = &writer->settings;
  bool raw = settings->container == CAPTURE_WRITE_RAW || settings->container == CAPTURE_WRITE_SIGMF;
  unsigned channels = settings->channels == 0 ? 1 : settings->channels;
  if (raw) {
    writer->type = settings->type == NULL ? NULL : capture_type_find(settings->type);
    if (writer->type == NULL)
      return capture_type_refuse("writing", settings->type == NULL ? "none" : settings->type,
                                 message);
  }
  writer->width = channels * (raw && writer->type->is_complex ? 2 : 1);
  if (writer->width > CHUNK_FLOATS)
    return sc_fail(message, SC_BAD_ARGUMENT, "%u channels are too many to write", channels);
  enum sc_error error = name_files(writer, message);
  if (error == SC_OK)
    error = look(writer, message);
  if (error != SC_OK)
    return error;
  error = raw ? open_raw(writer, message) : open_sound(writer, message);
  if (error == SC_OK && writer->settings.growing &&
      writer->settings.container == CAPTURE_WRITE_SIGMF &&
      capture_reserve_meta(&writer->settings, writer->meta) != 0)
    return write_failed(writer, message);
  if (error == SC_OK && writer->settings.growing && !note_identity(writer))
    return write_failed(writer, message);
  return error;
}

enum sc_error capture_writer_create(const struct capture_write_settings *settings,
                                    struct capture_writer **writer, struct sc_message *message)
{
  *writer = NULL;
  struct capture_writer *fresh = calloc(1, sizeof *fresh);
  if (fresh == NULL)
    return sc_fail(message, SC_NO_MEMORY, "%s", sc_error_text(SC_NO_MEMORY));
  fresh->settings = *settings;
  fresh->random = settings->seed ^ 0x9e3779b97f4a7c15u; /* any constant: 0 would stick */
  fresh->random += fresh->random == 0;
  enum sc_error error = settle(fresh, message);
  if (error != SC_OK) {
    take_back(fresh);
    capture_writer_destroy(fresh);
    return error;
  }
  *writer = fresh;
  return SC_OK;
}

/* A write that failed may have left a part of a frame. */
static bool cut_to_frames(const struct capture_writer *writer)
{
  return ftruncate(fileno(writer->file),
                   (off_t)(writer->frames * writer->width * writer->type->bytes)) == 0;
}

/* Whether everything reached the disk. */
static bool close_files(struct capture_writer *writer)
{
  bool good = true;
  if (writer->file != NULL && writer->settings.growing && !writer->stream)
    good = cut_to_frames(writer);
  if (writer->sound != NULL)
    good = sf_close(writer->sound) == 0;
  if (writer->file != NULL)
    good = fclose(writer->file) == 0 && good;
  writer->sound = NULL;
  writer->file = NULL;
  return good;
}

enum sc_error capture_writer_finish(struct capture_writer *writer, struct sc_message *message)
{
  bool sigmf = writer->settings.container == CAPTURE_WRITE_SIGMF;
  const bool growing = writer->settings.growing;
  const bool empty = writer->frames == 0;
  if (empty)
    take_back(writer);
  bool good = close_files(writer), named = false;
  if (growing && empty && good && !writer->failed) {
    capture_writer_destroy(writer);
    return SC_OK;
  }
  if (growing && !is_there(writer)) {
    enum sc_error error = gone(writer, message);
    capture_writer_destroy(writer);
    return error;
  }
  if (good && sigmf && growing)
    good = capture_complete_meta(&writer->settings, writer->meta) == 0;
  else if (good && sigmf)
    named = good = capture_write_meta(&writer->settings, writer->meta_part) == 0 &&
                   rename(writer->meta_part, writer->meta) == 0;
  if (writer->part[0] != '\0' && !growing)
    good = good && rename(writer->part, writer->path) == 0;
  enum sc_error error = good ? SC_OK : write_failed(writer, message);
  if (!good && named)
    (void)remove(writer->meta); /* no half of a pair alone */
  capture_writer_destroy(writer);
  return error;
}

void capture_writer_destroy(struct capture_writer *writer)
{
  if (writer == NULL)
    return;
  (void)close_files(writer);
  if (writer->part[0] != '\0' && !writer->settings.growing)
    (void)remove(writer->part);
  if (!writer->settings.growing)
    (void)remove(writer->meta_part);
  free(writer);
}
