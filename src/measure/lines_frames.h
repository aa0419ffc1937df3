/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Samples of a record being gathered, kept in the precision that they came in: floats in the very
 * rows that they are transformed in, as a second of a capture is millions of them. */
#ifndef SIDECOMB_MEASURE_LINES_FRAMES_H
#define SIDECOMB_MEASURE_LINES_FRAMES_H

#include <stdbool.h>
#include <stddef.h>

#include "dsp/large.h"

struct lines_frames {
  struct dsp_rows rows; /* one of the two: floats, in front of each row if they are real ones ... */
  double *doubles;
  size_t channels; /* of the rows */
  float *half;     /* ... and their second half, which a transform in the rows does not leave */
};

/* Room for `frames` of so many channels, in rows that belong to somebody else (single precision) or
 * its own; false: no memory. */
bool lines_frames_make(struct lines_frames *frames, const struct dsp_rows *rows, size_t count,
                       size_t channels);
void lines_frames_free(struct lines_frames *frames);
/* `count` numbers from number `at` on. */
void lines_frames_write(struct lines_frames *frames, size_t at, const float *from, size_t count);
void lines_frames_write_double(struct lines_frames *frames, size_t at, const double *from,
                               size_t count);
/* `to` may be where they are. */
void lines_frames_read(const struct lines_frames *frames, size_t at, size_t count, float *to);
void lines_frames_read64(const struct lines_frames *frames, size_t at, size_t count, double *to);
/* Before a record is transformed, of `count` numbers, and after: the second half comes first. */
void lines_frames_keep_half(struct lines_frames *frames, size_t count);
void lines_frames_halve(struct lines_frames *frames, size_t count);

#endif
