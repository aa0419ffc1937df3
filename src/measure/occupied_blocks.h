/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Overlapping blocks of a real signal, two at a time: one in the real, one in the imaginary part of
 * a transform. What is done to the bins is done to both alike, so that the two need not be
 * separated.
 */
#ifndef SIDECOMB_MEASURE_OCCUPIED_BLOCKS_H
#define SIDECOMB_MEASURE_OCCUPIED_BLOCKS_H

#include <stddef.h>

#include <sidecomb/error.h>

#include "dsp/quarters.h"

enum {
  OCCUPIED_LENGTH = 1 << 14,
  OCCUPIED_HOP = OCCUPIED_LENGTH / 2,
  OCCUPIED_HALF = OCCUPIED_LENGTH / 2, /* the highest bin */
  OCCUPIED_RISE = 256                  /* frames that `level` needs at each end */
};

struct occupied_blocks {
  struct dsp_quarters *fft;
  float *rows, *bins;            /* of the transform */
  float *values;                 /* OCCUPIED_LENGTH complex ones, before it */
  float window[OCCUPIED_LENGTH]; /* squares add up to one over blocks that overlap by half */
  float level[OCCUPIED_LENGTH];  /* a window for the ends: nearly flat */
  float back[OCCUPIED_LENGTH];   /* weights of the way back */
};

/* Of what was zero; after an error too it is to be destroyed. */
enum sc_error occupied_blocks_make(struct occupied_blocks *blocks);
void occupied_blocks_destroy(struct occupied_blocks *blocks);
/* One block in the real part, one in the imaginary part; the bins are in `bins`. */
void occupied_blocks_there(struct occupied_blocks *blocks, const float *window, const float *a,
                           const float *b);
/* Of these the bins 0 to `last`, each times `kept`, and their mirrors: block a comes out in the
 * imaginary part, block b in the real one. */
const float *occupied_blocks_back(struct occupied_blocks *blocks, const float *kept, size_t last);

#endif
