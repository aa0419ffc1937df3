/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Window, transform there, and back with real and imaginary part exchanged. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "measure/occupied_blocks.h"

#include "common/kernel.h"
#include "dsp/window.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define PI 3.1415926535897932384626433832795

enum { LENGTH = OCCUPIED_LENGTH, HOP = OCCUPIED_HOP, RISE = OCCUPIED_RISE };

static const double window_alpha = 4.0;

/* Kaiser-Bessel-derived: the root of the running sum of a Kaiser window. */
static enum sc_error make_window(float *window)
{
  double *kaiser = malloc((HOP + 1) * sizeof *kaiser);
  if (kaiser == NULL)
    return SC_NO_MEMORY;
  dsp_window_fill(SC_WINDOW_KAISER, PI * window_alpha, HOP, kaiser);
  kaiser[HOP] = kaiser[0];
  double all = 0.0;
  double sum = 0.0;
  for (size_t i = 0; i <= HOP; i++)
    all += kaiser[i];
  for (size_t i = 0; i < HOP; i++) {
    sum += kaiser[i];
    window[i] = window[LENGTH - 1 - i] = (float)sqrt(sum / all);
  }
  free(kaiser);
  return SC_OK;
}

static void make_level(float *level)
{
  for (size_t i = 0; i < LENGTH; i++)
    level[i] = 1.0F;
  for (size_t i = 0; i < RISE; i++) {
    const double share = ((double)i + 0.5) / RISE;
    level[i] = level[LENGTH - 1 - i] = (float)(0.5 - 0.5 * cos(PI * share));
  }
}

static enum sc_error make_transform(struct occupied_blocks *blocks)
{
  enum sc_error error = dsp_quarters_create(LENGTH, DSP_PLAN_ESTIMATE, &blocks->fft);
  if (error != SC_OK)
    return error;
  blocks->rows = dsp_memory_make(dsp_quarters_room(blocks->fft) * sizeof *blocks->rows);
  blocks->bins = dsp_memory_make(2 * LENGTH * sizeof *blocks->bins);
  blocks->values = dsp_memory_make(2 * LENGTH * sizeof *blocks->values);
  for (size_t i = 0; i < LENGTH; i++)
    blocks->back[i] = 1.0F / (float)LENGTH;
  return blocks->rows != NULL && blocks->bins != NULL && blocks->values != NULL ? SC_OK
                                                                                : SC_NO_MEMORY;
}

enum sc_error occupied_blocks_make(struct occupied_blocks *blocks)
{
  make_level(blocks->level);
  const enum sc_error error = make_transform(blocks);
  return error == SC_OK ? make_window(blocks->window) : error;
}

void occupied_blocks_destroy(struct occupied_blocks *blocks)
{
  dsp_quarters_destroy(blocks->fft);
  dsp_memory_free(blocks->rows);
  dsp_memory_free(blocks->bins);
  dsp_memory_free(blocks->values);
}

SC_KERNEL
static void pair_up(const float *restrict a, const float *restrict b, float *restrict z)
{
  for (size_t i = 0; i < LENGTH; i++) {
    z[2 * i] = a[i];
    z[2 * i + 1] = b[i];
  }
}

static void run(struct occupied_blocks *blocks, const float *weights)
{
  dsp_quarters_divide(blocks->fft, blocks->values, weights, blocks->rows);
  dsp_quarters_run(blocks->fft, blocks->rows, blocks->bins);
}

void occupied_blocks_there(struct occupied_blocks *blocks, const float *window, const float *a,
                           const float *b)
{
  pair_up(a, b, blocks->values);
  run(blocks, window);
}

/* Bins 0 to `last` and their mirrors; what is between is nothing. */
SC_KERNEL
static void exchange(const float *restrict z, const float *restrict kept, size_t last,
                     float *restrict to)
{
  const float *const upper = z + 2 * (LENGTH - last);
  float *const to_upper = to + 2 * (LENGTH - last);
  for (size_t k = 0; k <= last; k++) {
    to[2 * k] = kept[k] * z[2 * k + 1];
    to[2 * k + 1] = kept[k] * z[2 * k];
  }
  for (size_t i = 0; i < last; i++) {
    to_upper[2 * i] = kept[last - i] * upper[2 * i + 1];
    to_upper[2 * i + 1] = kept[last - i] * upper[2 * i];
  }
}

/* With real and imaginary part exchanged before and after, a transform goes back: block a comes
 * out in the imaginary part, block b in the real one. */
const float *occupied_blocks_back(struct occupied_blocks *blocks, const float *kept, size_t last)
{
  exchange(blocks->bins, kept, last, blocks->values);
  memset(blocks->values + 2 * (last + 1), 0, 2 * (LENGTH - 2 * last - 1) * sizeof *blocks->values);
  run(blocks, blocks->back);
  return blocks->bins;
}
