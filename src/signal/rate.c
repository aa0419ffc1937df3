/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Polyphase interpolation and decimation with Kaiser low-passes, double precision. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <stdlib.h>
#include <string.h>

#include "dsp/resample.h"
#include "signal/clones.h"
#include "signal/lanes.h"
#include "signal/rate.h"

static const double attenuation_db = 130;

/* Edges of the decimator as parts of the slow rate. */
static const double lower_pass = 0.44, lower_stop = 0.5;

enum { TILE_SLOW = 4, TILE_FAST = 8 };

/* ---- raising */

/* The taps are shifted so that their delay is a whole number of slow samples. */
static enum sc_error spread(struct signal_raise *raise, const double *taps, size_t count)
{
  const size_t middle = (count - 1) / 2, factor = raise->factor;
  raise->ahead = (middle + factor - 1) / factor;
  const size_t lead = raise->ahead * factor - middle;
  raise->length = (lead + count + factor - 1) / factor;
  raise->stride = (factor + TILE_FAST - 1) / TILE_FAST * TILE_FAST;
  raise->table = calloc(raise->length * raise->stride, sizeof *raise->table);
  if (raise->table == NULL)
    return SC_NO_MEMORY;
  for (size_t i = 0; i < count; i++)
    raise->table[(lead + i) / factor * raise->stride + (lead + i) % factor] =
        taps[i] * (double)factor;
  return SC_OK;
}

enum sc_error signal_raise_create(size_t factor, double pass_hz, double slow_rate_hz,
                                  struct signal_raise **raise)
{
  double *taps = NULL;
  size_t count = 0;
  *raise = calloc(1, sizeof **raise);
  if (*raise == NULL)
    return SC_NO_MEMORY;
  (*raise)->factor = factor;
  enum sc_error error = dsp_lowpass_design(pass_hz, slow_rate_hz - pass_hz, attenuation_db,
                                           slow_rate_hz * (double)factor, &taps, &count);
  if (error == SC_OK)
    error = spread(*raise, taps, count);
  free(taps);
  if (error == SC_OK)
    return SC_OK;
  signal_raise_destroy(*raise);
  *raise = NULL;
  return error;
}

void signal_raise_destroy(struct signal_raise *raise)
{
  if (raise == NULL)
    return;
  free(raise->table);
  free(raise);
}

struct signal_stream {
  const struct signal_raise *raise;
  double *past; /* length - 1 old samples, then room for the new ones */
};

enum sc_error signal_stream_create(const struct signal_raise *raise, struct signal_stream **stream)
{
  *stream = calloc(1, sizeof **stream);
  if (*stream == NULL)
    return SC_NO_MEMORY;
  (*stream)->raise = raise;
  (*stream)->past = calloc(raise->length - 1 + SIGNAL_SLOW, sizeof *(*stream)->past);
  if ((*stream)->past != NULL)
    return SC_OK;
  signal_stream_destroy(*stream);
  *stream = NULL;
  return SC_NO_MEMORY;
}

void signal_stream_prime(struct signal_stream *stream, double value)
{
  const size_t old = stream->raise->length - 1;
  memmove(stream->past, stream->past + 1, (old - 1) * sizeof *stream->past);
  stream->past[old - 1] = value;
}

/* A tile of outputs stays in registers while the taps go by: tile[k][d] is output d of the slow
 * sample k, whose newest input is x[k]. */
SIGNAL_CLONES
static void fill_tile(const double *restrict taps, size_t stride, size_t length,
                      const double *restrict x, double tile[restrict TILE_SLOW][TILE_FAST])
{
#ifdef __clang__ /* one access a row: see lanes.h */
  typedef double row __attribute__((vector_size(8 * TILE_FAST), aligned(8), may_alias));
  row sum[TILE_SLOW] = {{0}};
  for (size_t t = 0; t < length; t++, taps += stride, x--)
    for (size_t k = 0; k < TILE_SLOW; k++)
      sum[k] += *(const row *)taps * x[k];
#else
  double sum[TILE_SLOW][TILE_FAST] = {{0}};
  for (size_t t = 0; t < length; t++, taps += stride, x--)
    for (size_t k = 0; k < TILE_SLOW; k++)
      for (size_t d = 0; d < TILE_FAST; d++)
        sum[k][d] += taps[d] * x[k];
#endif
  memcpy(tile, sum, sizeof sum);
}

void signal_stream_run(struct signal_stream *stream, const double *slow, double *fast)
{
  const struct signal_raise *raise = stream->raise;
  const size_t old = raise->length - 1, factor = raise->factor;
  double tile[TILE_SLOW][TILE_FAST];
  memcpy(stream->past + old, slow, SIGNAL_SLOW * sizeof *slow);
  for (size_t k = 0; k < SIGNAL_SLOW; k += TILE_SLOW)
    for (size_t d = 0; d < factor; d += TILE_FAST) {
      const size_t wide = factor - d < TILE_FAST ? factor - d : TILE_FAST;
      fill_tile(raise->table + d, raise->stride, raise->length, stream->past + old + k, tile);
      for (size_t i = 0; i < TILE_SLOW; i++)
        memcpy(fast + (k + i) * factor + d, tile[i], wide * sizeof *fast);
    }
  memmove(stream->past, stream->past + SIGNAL_SLOW, old * sizeof *stream->past);
}

void signal_stream_destroy(struct signal_stream *stream)
{
  if (stream == NULL)
    return;
  free(stream->past);
  free(stream);
}

/* ---- lowering */

struct signal_lower {
  size_t factor;
  size_t count;   /* of taps */
  size_t padded;  /* doubles in `taps`, a multiple of SIGNAL_LANES */
  size_t held;    /* frames in `buffer` */
  size_t skip;    /* frames to leave out before the next one counts */
  double *taps;   /* each twice, for I and Q; zeros behind */
  double *buffer; /* room for `count` and one run's frames, and zeros behind */
};

static enum sc_error design(struct signal_lower *lower)
{
  double *taps = NULL;
  const double factor = (double)lower->factor;
  const enum sc_error error =
      dsp_lowpass_design(lower_pass, lower_stop, attenuation_db, factor, &taps, &lower->count);
  if (error != SC_OK)
    return error;
  lower->padded = (2 * lower->count + SIGNAL_LANES - 1) / SIGNAL_LANES * SIGNAL_LANES;
  lower->taps = calloc(lower->padded, sizeof *lower->taps);
  lower->buffer = calloc(2 * SIGNAL_LOWER_MAX + 2 * lower->padded, sizeof *lower->buffer);
  for (size_t i = 0; lower->taps != NULL && i < 2 * lower->count; i++)
    lower->taps[i] = taps[i / 2];
  free(taps);
  return lower->taps != NULL && lower->buffer != NULL ? SC_OK : SC_NO_MEMORY;
}

enum sc_error signal_lower_create(size_t factor, struct signal_lower **lower)
{
  *lower = calloc(1, sizeof **lower);
  if (*lower == NULL)
    return SC_NO_MEMORY;
  (*lower)->factor = factor;
  (*lower)->count = 1;
  const enum sc_error error = factor > 1 ? design(*lower) : SC_OK;
  if (error == SC_OK)
    return SC_OK;
  signal_lower_destroy(*lower);
  *lower = NULL;
  return error;
}

size_t signal_lower_ahead(const struct signal_lower *lower)
{
  return (lower->count - 1) / 2;
}

void signal_lower_skip(struct signal_lower *lower, size_t frames)
{
  lower->skip += frames;
}

SIGNAL_CLONES
static void dot(const double *restrict taps, const double *restrict x, size_t count,
                double *restrict frame)
{
  double sum[SIGNAL_LANES];
  signal_lanes_dot(taps, x, count, sum);
  frame[0] = frame[1] = 0;
  for (size_t i = 0; i < SIGNAL_LANES; i++)
    frame[i % 2] += sum[i];
}

/* Frames to be left out, taken from the start of what came. */
static size_t skipped(struct signal_lower *lower, size_t frames)
{
  const size_t n = lower->skip < frames ? lower->skip : frames;
  lower->skip -= n;
  return n;
}

size_t signal_lower_run(struct signal_lower *lower, const double *fast, size_t frames, double *slow)
{
  const size_t gone = skipped(lower, frames);
  fast += 2 * gone;
  frames -= gone;
  if (lower->factor == 1) {
    memcpy(slow, fast, 2 * frames * sizeof *slow);
    return frames;
  }
  memcpy(lower->buffer + 2 * lower->held, fast, 2 * frames * sizeof *fast);
  lower->held += frames;
  size_t used = 0, made = 0;
  for (; used + lower->count <= lower->held; used += lower->factor, made++)
    dot(lower->taps, lower->buffer + 2 * used, lower->padded, slow + 2 * made);
  if (used > lower->held) { /* a filter shorter than the step */
    lower->skip = used - lower->held;
    used = lower->held;
  }
  lower->held -= used;
  memmove(lower->buffer, lower->buffer + 2 * used, 2 * lower->held * sizeof *lower->buffer);
  return made;
}

void signal_lower_destroy(struct signal_lower *lower)
{
  if (lower == NULL)
    return;
  free(lower->taps);
  free(lower->buffer);
  free(lower);
}
