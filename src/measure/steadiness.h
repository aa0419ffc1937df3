/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Whether a line in a slow complex series is one steady tone, from short blocks of it. */
#ifndef SIDECOMB_MEASURE_STEADINESS_H
#define SIDECOMB_MEASURE_STEADINESS_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/error.h>

struct measure_steadiness_settings {
  double rate_hz;
  double search_hz; /* the line is looked for, and power counted, within this of zero */
  double noise_hz;  /* noise is taken from search_hz to noise_hz on both sides */
};

struct measure_steadiness_result {
  size_t blocks;
  double off_ratio;    /* power within search_hz that is not the line, re the line */
  double excess_ratio; /* the same above the noise around, re the line */
  double loss;         /* of coherence within the blocks, as a share of the power */
  double scatter_hz;   /* of the blocks' frequencies */
  double fading;       /* variance of the blocks' powers over their mean squared */
  bool modulated;      /* excess, loss or scatter too large for a steady line, and no chance */
  bool fades;
};

struct measure_steadiness;
enum sc_error measure_steadiness_create(const struct measure_steadiness_settings *settings,
                                        struct measure_steadiness **steadiness);
void measure_steadiness_feed(struct measure_steadiness *steadiness, const float *series,
                             size_t frames);
/* After a gap: the block that was begun is judged as it is, or dropped when it is short. */
void measure_steadiness_break(struct measure_steadiness *steadiness);
/* Takes back the last frames that were fed, fewer than a block, and all of a block that has ended
 * in them. */
void measure_steadiness_drop(struct measure_steadiness *steadiness, size_t frames);
/* When no block is complete, what there is of one is judged. blocks == 0: nothing at all. */
void measure_steadiness_judge(struct measure_steadiness *steadiness,
                              struct measure_steadiness_result *result);
void measure_steadiness_reset(struct measure_steadiness *steadiness);
void measure_steadiness_destroy(struct measure_steadiness *steadiness);

#endif
