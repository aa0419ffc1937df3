/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Largest and smallest value of a stream, between its samples too. */
#ifndef SIDECOMB_MEASURE_EXTREMES_H
#define SIDECOMB_MEASURE_EXTREMES_H

#include <stddef.h>

struct measure_extremes {
  float high, low; /* -INFINITY and INFINITY: of nothing */
};

struct measure_extremes measure_extremes_none(void);
void measure_extremes_widen(struct measure_extremes *to, const struct measure_extremes *by);
/* Of the samples alone. */
struct measure_extremes measure_extremes_of_samples(const float *x, size_t frames);
/* Of the frames that have a neighbour on both sides. */
struct measure_extremes measure_extremes_of(const float *x, size_t frames);

#endif
