/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Which bins of a composite's blocks stand out of the noise of a discriminator, on the average so
 * far or for the moment: see measure/occupied.h. Chosen for two blocks alike.
 */
#ifndef SIDECOMB_MEASURE_OCCUPIED_BINS_H
#define SIDECOMB_MEASURE_OCCUPIED_BINS_H

#include <stddef.h>

#include "measure/occupied_blocks.h"

enum { OCCUPIED_BESIDE = 2 }; /* bins that stay on each side of one that stands out */

/* How far above the noise of a bin, which goes with its number's square. */
struct occupied_thresholds {
  double alone, wide, moment, near;
};

struct occupied_bins {
  double rate_hz, bin_hz;
  size_t top, reach; /* bins: the last that may stand out; the last that is looked at */
  size_t highest;    /* bin that stayed, in any pair */
  float mean[OCCUPIED_HALF + 1], power[OCCUPIED_HALF + 1];
  float mean_sums[OCCUPIED_HALF + 2], power_sums[OCCUPIED_HALF + 2];
  float hit[OCCUPIED_HALF + 1 + 2 * OCCUPIED_BESIDE]; /* hit[OCCUPIED_BESIDE] is of bin 0 */
  float kept[OCCUPIED_HALF + 1];                      /* 1: it stays; 0 */
  struct occupied_thresholds over;
  double pairs, noise;                           /* of a bin: this times its number squared */
  double taken_pairs, taken_squares, taken_bins; /* sums over pairs */
  double most_squares;                           /* of one pair */
};

void occupied_bins_init(struct occupied_bins *bins, double rate_hz);
void occupied_bins_reset(struct occupied_bins *bins);
/* The last bin that may stay. */
size_t occupied_bins_last(const struct occupied_bins *bins);
/* `kept` of the next pair of blocks; z: their bins. */
void occupied_bins_choose(struct occupied_bins *bins, const float *z);

#endif
