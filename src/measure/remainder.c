/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* In cells of a millisecond: between the middles of two the mean goes in a straight line. */
#include "measure/remainder.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "dsp/simd.h"

static const double least_rate_hz = 80e3, most_rate_hz = 2e6;
static const double cell_s = 1e-3;

enum { LANES = 16 };

struct measure_remainder {
  size_t cell; /* frames, an even number */
  size_t filled;
  bool begun; /* `before` and the held half are there */
  float before;
  float *frames; /* a cell, and behind it the second half of the one before */
};

static size_t cell_of(double rate_hz)
{
  return 2 * (size_t)(cell_s * rate_hz / 2);
}

double measure_remainder_mean_s(double rate_hz)
{
  return (double)cell_of(rate_hz) / rate_hz;
}

enum sc_error measure_remainder_create(double rate_hz, struct measure_remainder **out)
{
  *out = NULL;
  if (!(rate_hz >= least_rate_hz && rate_hz <= most_rate_hz))
    return SC_BAD_ARGUMENT;
  struct measure_remainder *remainder = calloc(1, sizeof *remainder);
  if (remainder == NULL)
    return SC_NO_MEMORY;
  remainder->cell = cell_of(rate_hz);
  remainder->frames = malloc(3 * remainder->cell * sizeof *remainder->frames);
  if (remainder->frames == NULL) {
    free(remainder);
    return SC_NO_MEMORY;
  }
  *out = remainder;
  return SC_OK;
}

size_t measure_remainder_room(const struct measure_remainder *remainder, size_t frames)
{
  return frames + 2 * remainder->cell;
}

/* Sums of |x| side by side. */
DSP_CLONES
static void add_sizes(const float *restrict channel, size_t frames, float *restrict sums)
{
  for (size_t at = 0; at + LANES <= frames; at += LANES)
    for (size_t lane = 0; lane < LANES; lane++) {
      const float re = channel[2 * (at + lane)], im = channel[2 * (at + lane) + 1];
      sums[lane] += sqrtf(re * re + im * im);
    }
}

static float mean_size(const float *channel, size_t frames)
{
  float sums[LANES] = {0};
  double sum = 0;
  add_sizes(channel, frames, sums);
  for (size_t lane = 0; lane < LANES; lane++)
    sum += (double)sums[lane];
  for (size_t at = frames - frames % LANES; at < frames; at++)
    sum += (double)hypotf(channel[2 * at], channel[2 * at + 1]);
  return (float)(sum / (double)frames);
}

/* The mean rises by `step` a frame from `mean` on. */
DSP_CLONES
static void take_modulation_away(const float *restrict channel, size_t frames, float mean,
                                 float step, float *restrict out)
{
  DSP_ELEMENTWISE
  for (size_t i = 0; i < frames; i++) {
    const float re = channel[2 * i], im = channel[2 * i + 1];
    const float size = sqrtf(re * re + im * im + 1e-30F);
    const float gain = 2 * (size - (mean + step * (float)i)) / size;
    out[2 * i] = gain * re;
    out[2 * i + 1] = gain * im;
  }
}

/* From the middle of the cell before to that of this one. */
static size_t finish_cell(struct measure_remainder *remainder, float *out)
{
  const size_t cell = remainder->cell, half = cell / 2;
  float *held = remainder->frames + 2 * cell;
  const float mean = mean_size(remainder->frames, cell);
  const float step = (mean - remainder->before) / (float)cell;
  const bool begun = remainder->begun;
  if (begun) {
    take_modulation_away(held, half, remainder->before, step, out);
    take_modulation_away(remainder->frames, half, remainder->before + step * (float)half, step,
                         out + 2 * half);
  }
  memcpy(held, remainder->frames + 2 * half, 2 * half * sizeof *held);
  remainder->before = mean;
  remainder->begun = true;
  remainder->filled = 0;
  return begun ? cell : 0;
}

size_t measure_remainder_left(const struct measure_remainder *remainder)
{
  return remainder->cell - remainder->filled;
}

size_t measure_remainder_feed(struct measure_remainder *remainder, const float *channel,
                              size_t frames, bool discontinuity, float *out)
{
  size_t made = 0;
  if (discontinuity) {
    remainder->begun = false;
    remainder->filled = 0;
  }
  while (frames > 0) {
    const size_t left = remainder->cell - remainder->filled, run = frames < left ? frames : left;
    memcpy(remainder->frames + 2 * remainder->filled, channel, 2 * run * sizeof *channel);
    remainder->filled += run;
    channel += 2 * run;
    frames -= run;
    if (remainder->filled == remainder->cell)
      made += finish_cell(remainder, out + 2 * made);
  }
  return made;
}

void measure_remainder_destroy(struct measure_remainder *remainder)
{
  if (remainder == NULL)
    return;
  free(remainder->frames);
  free(remainder);
}
