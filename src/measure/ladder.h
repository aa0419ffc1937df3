/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A complex stream kept whole in constant memory: at its own rate while it is short, then at half
 * of that, a quarter and so on, each behind a filter that folds nothing into a seventh of the rate
 * on either side. */
#ifndef SIDECOMB_MEASURE_LADDER_H
#define SIDECOMB_MEASURE_LADDER_H

#include <stddef.h>

#include <sidecomb/error.h>

enum { MEASURE_LADDER_FRAMES = 1024 };

struct measure_ladder;
enum sc_error measure_ladder_create(double rate_hz, struct measure_ladder **ladder);
void measure_ladder_feed(struct measure_ladder *ladder, const float *in, size_t frames);
/* The stream at the highest rate that all of it is kept at: less than MEASURE_LADDER_FRAMES, valid
 * until more is fed. */
const float *measure_ladder_frames(const struct measure_ladder *ladder, size_t *frames,
                                   double *rate_hz);
void measure_ladder_reset(struct measure_ladder *ladder);
void measure_ladder_destroy(struct measure_ladder *ladder);

#endif
