/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Samples of a record, as floats or as doubles. */
#include "measure/lines_frames.h"

#include <string.h>

#include "dsp/fft.h"

bool lines_frames_make(struct lines_frames *frames, size_t count, bool single_precision)
{
  *frames = (struct lines_frames){0};
  if (single_precision)
    frames->floats = dsp_memory_make(count * sizeof *frames->floats);
  else
    frames->doubles = dsp_memory_make(count * sizeof *frames->doubles);
  return frames->floats != NULL || frames->doubles != NULL;
}

void lines_frames_free(struct lines_frames *frames)
{
  dsp_memory_free(frames->floats);
  dsp_memory_free(frames->doubles);
}

void lines_frames_write(struct lines_frames *frames, size_t at, const float *from, size_t count)
{
  if (frames->floats != NULL) {
    memcpy(frames->floats + at, from, count * sizeof *from);
    return;
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
  for (size_t i = 0; i < count; i++)
    frames->floats[at + i] = (float)from[i];
}

void lines_frames_read(const struct lines_frames *frames, size_t at, size_t count, float *to)
{
  if (frames->floats != NULL) {
    memcpy(to, frames->floats + at, count * sizeof *to);
    return;
  }
  for (size_t i = 0; i < count; i++)
    to[i] = (float)frames->doubles[at + i];
}

void lines_frames_read64(const struct lines_frames *frames, size_t count, double *to)
{
  if (frames->doubles != NULL) {
    memcpy(to, frames->doubles, count * sizeof *to);
    return;
  }
  for (size_t i = 0; i < count; i++)
    to[i] = (double)frames->floats[i];
}

void lines_frames_forget(struct lines_frames *frames, size_t gone, size_t kept)
{
  if (frames->doubles != NULL)
    memmove(frames->doubles, frames->doubles + gone, kept * sizeof *frames->doubles);
  else
    memmove(frames->floats, frames->floats + gone, kept * sizeof *frames->floats);
}
