/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Samples of a record, as floats in rows or as doubles. */
#include "measure/lines_frames.h"

#include <stdlib.h>
#include <string.h>

#include "dsp/fft.h"

bool lines_frames_make(struct lines_frames *frames, const struct dsp_rows *rows, size_t count,
                       size_t channels)
{
  *frames = (struct lines_frames){.channels = channels};
  if (rows == NULL) {
    frames->doubles = malloc(count * channels * sizeof *frames->doubles);
    return frames->doubles != NULL;
  }
  frames->rows = *rows;
  frames->half = dsp_memory_make(count / 2 * channels * sizeof *frames->half);
  return frames->half != NULL;
}

void lines_frames_free(struct lines_frames *frames)
{
  dsp_memory_free(frames->half);
  free(frames->doubles);
}

/* Where number `at` of the floats is, and how many of `count` stand there in a row. */
static float *place_of(const struct lines_frames *frames, size_t at, size_t count, size_t *run)
{
  const size_t numbers = frames->rows.length * frames->channels, row = at / numbers;
  const size_t into = at % numbers, left = numbers - into;
  *run = count < left ? count : left;
  return frames->rows.values + row * frames->rows.stride + into;
}

void lines_frames_write(struct lines_frames *frames, size_t at, const float *from, size_t count)
{
  for (size_t run; frames->doubles == NULL && count > 0; at += run, from += run, count -= run) {
    float *const to = place_of(frames, at, count, &run);
    memcpy(to, from, run * sizeof *to);
  }
  for (size_t i = 0; i < count; i++)
    frames->doubles[at + i] = (double)from[i];
}

void lines_frames_write_double(struct lines_frames *frames, size_t at, const double *from,
                               size_t count)
{
  if (frames->doubles != NULL) {
    memcpy(frames->doubles + at, from, count * sizeof *from);
    return;
  }
  for (size_t run; count > 0; at += run, from += run, count -= run) {
    float *const to = place_of(frames, at, count, &run);
    for (size_t i = 0; i < run; i++)
      to[i] = (float)from[i];
  }
}

void lines_frames_read(const struct lines_frames *frames, size_t at, size_t count, float *to)
{
  for (size_t run; frames->doubles == NULL && count > 0; at += run, to += run, count -= run) {
    const float *const from = place_of(frames, at, count, &run);
    if (from != to)
      memcpy(to, from, run * sizeof *to);
  }
  for (size_t i = 0; i < count; i++)
    to[i] = (float)frames->doubles[at + i];
}

void lines_frames_read64(const struct lines_frames *frames, size_t at, size_t count, double *to)
{
  if (frames->doubles != NULL) {
    memcpy(to, frames->doubles + at, count * sizeof *to);
    return;
  }
  for (size_t run; count > 0; at += run, to += run, count -= run) {
    const float *const from = place_of(frames, at, count, &run);
    for (size_t i = 0; i < run; i++)
      to[i] = (double)from[i];
  }
}

void lines_frames_keep_half(struct lines_frames *frames, size_t count)
{
  if (frames->doubles == NULL)
    lines_frames_read(frames, count / 2, count / 2, frames->half);
}

void lines_frames_halve(struct lines_frames *frames, size_t count)
{
  if (frames->doubles != NULL) {
    memmove(frames->doubles, frames->doubles + count / 2, count / 2 * sizeof *frames->doubles);
    return;
  }
  lines_frames_write(frames, 0, frames->half, count / 2);
  dsp_memory_rest(frames->half, count / 2 * sizeof *frames->half);
}
