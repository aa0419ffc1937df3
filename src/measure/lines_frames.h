/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Samples of a record being gathered, kept in the precision that they came in: a second of a
 * capture is millions of them. */
#ifndef SIDECOMB_MEASURE_LINES_FRAMES_H
#define SIDECOMB_MEASURE_LINES_FRAMES_H

#include <stdbool.h>
#include <stddef.h>

struct lines_frames {
  float *floats; /* one of the two */
  double *doubles;
};

/* Room for `count` numbers; false: no memory. */
bool lines_frames_make(struct lines_frames *frames, size_t count, bool single_precision);
void lines_frames_free(struct lines_frames *frames);
void lines_frames_write(struct lines_frames *frames, size_t at, const float *from, size_t count);
void lines_frames_write_double(struct lines_frames *frames, size_t at, const double *from,
                               size_t count);
void lines_frames_read(const struct lines_frames *frames, size_t at, size_t count, float *to);
void lines_frames_read64(const struct lines_frames *frames, size_t count, double *to);
/* Drops the first `gone` numbers; the next `kept` move to the start. */
void lines_frames_forget(struct lines_frames *frames, size_t gone, size_t kept);

#endif
