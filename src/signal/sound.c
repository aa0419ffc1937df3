/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Sound files through libsndfile, brought to the audio rate. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <sndfile.h>

#include "dsp/resample.h"
#include "signal/sound.h"

/* The kernel is tabulated at so many places between two samples and interpolated linearly: the
 * error of that is (pi / PHASES)^2 / 8, -118 dB. */
enum { PHASES = 1024, CHUNK = 4096 };

static const double attenuation_db = 120;
/* Edges of the kernel as parts of the file's rate, so that images of what lies below 0.45 go. */
static const double pass = 0.45, stop = 0.55;

struct signal_sound {
  SNDFILE *file;
  unsigned channels;
  double step;    /* samples of the file per sample out */
  double at;      /* place of the next sample out, in samples of the file, from the window's
                     middle on */
  size_t length;  /* of the window, in samples */
  double *kernel; /* PHASES + 1 rows of `length` */
  double *window; /* both channels, twice `length`, so that any stretch is contiguous */
  size_t head;
  double *chunk;
  size_t chunk_used, chunk_held;
};

/* The next frame of the file, from its start again after its end. Damage is silence. */
static void read_frame(struct signal_sound *sound, double frame[2])
{
  frame[0] = frame[1] = 0;
  if (sound->chunk_used == sound->chunk_held) {
    sf_count_t got = sf_readf_double(sound->file, sound->chunk, CHUNK);
    if (got <= 0 && sf_seek(sound->file, 0, SEEK_SET) == 0)
      got = sf_readf_double(sound->file, sound->chunk, CHUNK);
    sound->chunk_held = got > 0 ? (size_t)got : 0;
    sound->chunk_used = 0;
    if (sound->chunk_held == 0)
      return;
  }
  const double *from = sound->chunk + sound->channels * sound->chunk_used++;
  frame[0] = from[0];
  frame[1] = from[sound->channels - 1];
}

static void push(struct signal_sound *sound)
{
  double frame[2];
  read_frame(sound, frame);
  for (size_t c = 0; c < 2; c++) {
    double *window = sound->window + 2 * c * sound->length;
    const double value = isfinite(frame[c]) ? frame[c] : 0;
    window[sound->head] = window[sound->head + sound->length] = value;
  }
  sound->head = (sound->head + 1) % sound->length;
}

static enum sc_error fill_kernel(struct signal_sound *sound)
{
  double *taps = NULL;
  size_t count = 0;
  const enum sc_error error = dsp_lowpass_design(pass, stop, attenuation_db, PHASES, &taps, &count);
  if (error != SC_OK)
    return error;
  const size_t half = ((count - 1) / 2 + PHASES - 1) / PHASES;
  sound->length = 2 * half + 1;
  sound->kernel = calloc((PHASES + 1) * sound->length, sizeof *sound->kernel);
  sound->window = calloc(4 * sound->length, sizeof *sound->window);
  for (size_t p = 0; sound->kernel != NULL && p <= PHASES; p++)
    for (size_t i = 0; i < sound->length; i++) {
      /* sample i of the window lies (i - half) - p / PHASES from the place wanted */
      const ptrdiff_t k =
          ((ptrdiff_t)i - (ptrdiff_t)half) * PHASES - (ptrdiff_t)p + (ptrdiff_t)(count - 1) / 2;
      if (k >= 0 && k < (ptrdiff_t)count)
        sound->kernel[p * sound->length + i] = PHASES * taps[k];
    }
  free(taps);
  return sound->kernel != NULL && sound->window != NULL ? SC_OK : SC_NO_MEMORY;
}

static enum sc_error check(const SF_INFO *info, const char *path, struct sc_message *message)
{
  if (info->channels > 2)
    return sc_fail(message, SC_UNSUPPORTED, "%s: %d channels; a programme has one or two", path,
                   info->channels);
  if (info->frames <= 0 || info->samplerate <= 0)
    return sc_fail(message, SC_BAD_FORMAT, "%s: holds no sound", path);
  if (!info->seekable)
    return sc_fail(message, SC_UNSUPPORTED, "%s: cannot be repeated; give a plain file", path);
  return SC_OK;
}

static enum sc_error prepare(struct signal_sound *sound, double rate_hz)
{
  sound->chunk = calloc(2 * CHUNK, sizeof *sound->chunk);
  const enum sc_error error = fill_kernel(sound);
  if (error != SC_OK || sound->chunk == NULL)
    return error != SC_OK ? error : SC_NO_MEMORY;
  /* the window's middle at the file's first sample */
  for (size_t i = 0; i < sound->length / 2 + 1; i++)
    push(sound);
  return rate_hz > 0 ? SC_OK : SC_BAD_ARGUMENT;
}

enum sc_error signal_sound_open(const char *path, double rate_hz, struct signal_sound **sound,
                                struct sc_message *message)
{
  SF_INFO info = {0};
  *sound = NULL;
  struct signal_sound *s = calloc(1, sizeof *s);
  if (s == NULL)
    return sc_fail(message, SC_NO_MEMORY, "%s: not enough memory", path);
  s->file = sf_open(path, SFM_READ, &info);
  enum sc_error error = SC_OK;
  if (s->file == NULL)
    error = sc_fail(message, SC_CANNOT_OPEN, "%s: %s", path, sf_strerror(NULL));
  else
    error = check(&info, path, message);
  if (error == SC_OK) {
    s->channels = (unsigned)info.channels;
    s->step = info.samplerate / rate_hz;
    error = prepare(s, rate_hz);
  }
  if (error == SC_OK)
    *sound = s;
  else
    signal_sound_close(s);
  return error;
}

unsigned signal_sound_channels(const struct signal_sound *sound)
{
  return sound->channels;
}

static double interpolate(const struct signal_sound *sound, size_t channel, const double *row,
                          double part)
{
  const double *x = sound->window + 2 * channel * sound->length + sound->head;
  const double *next = row + sound->length;
  double sum = 0;
  for (size_t i = 0; i < sound->length; i++)
    sum += x[i] * (row[i] + part * (next[i] - row[i]));
  return sum;
}

void signal_sound_next(struct signal_sound *sound, double *left, double *right)
{
  for (; sound->at >= 1; sound->at -= 1)
    push(sound);
  const double place = sound->at * PHASES;
  const double whole = floor(place);
  const double *row = sound->kernel + (size_t)whole * sound->length;
  *left = interpolate(sound, 0, row, place - whole);
  *right = sound->channels == 2 ? interpolate(sound, 1, row, place - whole) : *left;
  sound->at += sound->step;
}

void signal_sound_close(struct signal_sound *sound)
{
  if (sound == NULL)
    return;
  if (sound->file != NULL)
    sf_close(sound->file);
  free(sound->kernel);
  free(sound->window);
  free(sound->chunk);
  free(sound);
}
