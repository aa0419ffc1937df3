/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Plays the test audio's schedule, sample by sample, into a file. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <string.h>

#include <sidecomb/sequence.h>

#include "capture/write.h"

#define PI 3.1415926535897932384626433832795

enum { CHUNK = 4096 };
static const double rate_hz = 48e3;
static const double level_usual_dbfs = -6, level_least_dbfs = -40;
/* A part begins and ends within this, so that no click is heard or measured. */
static const double soft_s = 0.01;

static double from_db(double db)
{
  return pow(10, db / 20);
}

static double envelope(const struct sc_sequence_part *part, double part_s)
{
  const double edge = fmin(part_s, part->seconds - part_s);
  return edge >= soft_s ? 1 : 0.5 - 0.5 * cos(PI * fmax(0, edge) / soft_s);
}

/* `lead_rad`: by how much the channel leads. */
static double tone(double hz, double part_s, double lead_rad)
{
  return hz > 0 ? sin(2 * PI * hz * part_s + lead_rad) : 0;
}

/* Phases quadratic in the tone's number: a low peak (M. R. Schroeder, IEEE Trans. Inf. Theory
 * IT-16, 1970). */
static double comb(int channel, double part_s)
{
  const double *hz = sc_sequence_comb_hz(channel);
  double sum = 0;
  for (int i = 0; i < SC_COMB_TONES; i++)
    sum += sc_sequence_comb_gain(hz[i]) * sin(2 * PI * hz[i] * part_s + PI * i * i / SC_COMB_TONES);
  return sum;
}

static double chirps(int rising_first, double part_s)
{
  const double second_s = part_s - SC_CHIRP_SPACING_S;
  if (second_s < 0)
    return sc_chirp_envelope(part_s) * sin(sc_chirp_rad(rising_first, part_s));
  return sc_chirp_envelope(second_s) * sin(sc_chirp_rad(!rising_first, second_s));
}

static int part_at(double time_s)
{
  const struct sc_sequence_part *parts = sc_sequence_parts();
  for (int i = SC_PARTS - 1; i >= 0; i--)
    if (time_s >= parts[i].start_s)
      return i;
  return SC_PART_BEFORE;
}

static void play(int name, const struct sc_sequence_part *part, double part_s, double *left,
                 double *right)
{
  double walk_rad;
  switch (part->kind) {
  case SC_SEQUENCE_CHIRPS:
    *left = *right = chirps(name == SC_PART_LEAD, part_s);
    return;
  case SC_SEQUENCE_TONE:
  case SC_SEQUENCE_WALK:
    walk_rad = part->kind == SC_SEQUENCE_WALK ? sc_sequence_walk_rad(part_s) : 0;
    *left = tone(part->left_hz, part_s, walk_rad / 2);
    *right = tone(part->right_hz, part_s, -walk_rad / 2);
    return;
  case SC_SEQUENCE_COMB:
    *left = part->left_hz > 0 ? comb(0, part_s) : 0;
    *right = part->right_hz > 0 ? comb(1, part_s) : 0;
    return;
  default:
    *left = *right = 0;
  }
}

void sc_sequence_sample(const struct sc_sequence_settings *settings, double time_s, double *left,
                        double *right)
{
  *left = *right = 0;
  if (!(time_s >= 0 && time_s < sc_sequence_seconds()))
    return;
  const int name = part_at(time_s);
  const struct sc_sequence_part *part = &sc_sequence_parts()[name];
  const double part_s = time_s - part->start_s;
  const double top_db = settings->level_dbfs == 0 ? level_usual_dbfs : settings->level_dbfs;
  const int is_null = name == SC_PART_NULL_SECOND || name == SC_PART_NULL_THIRD;
  const double null_db = is_null ? sc_sequence_null_db(part->left_hz, settings->preemphasis_us) : 0;
  const double gain = from_db(top_db + part->level_db + null_db) * envelope(part, part_s);
  play(name, part, part_s, left, right);
  *left *= gain;
  *right *= gain;
}

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
                                  struct sc_message *message)
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
  error = write_frames(writer, settings, message);
  if (error == SC_OK)
    return capture_writer_finish(writer, message);
  capture_writer_destroy(writer);
  return error;
}
