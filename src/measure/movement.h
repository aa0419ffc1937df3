/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* How a carrier moves over a whole stretch without a gap, about a straight line, in constant
 * memory: slow movements by hops that grow with the stretch, fast ones row by row of fine hops. */
#ifndef SIDECOMB_MEASURE_MOVEMENT_H
#define SIDECOMB_MEASURE_MOVEMENT_H

#include "measure/wander.h"

enum { MEASURE_MOVEMENT_FAST = 3 }; /* windows, each half as long as the one before */

struct measure_mover {
  double blocks_per_s;
  struct dsp_hops all, fine; /* fine: a block each */
  uint64_t blocks;           /* in the rows before the fine hops */
  struct measure_wander seen[MEASURE_MOVEMENT_FAST];
};

struct measure_movement {
  bool known;   /* seen for long enough */
  bool wanders; /* surely */
  double rms_hz, rms_uncertainty_hz, span_hz, span_uncertainty_hz;
  struct measure_sine sine;
};

/* rate_hz: of the frames. */
void measure_mover_reset(struct measure_mover *mover, double rate_hz);
/* Feeds the taper as well (dsp/hops.h). */
void measure_mover_feed(struct measure_mover *mover, struct dsp_taper *taper, const float *khz,
                        size_t frames);
struct measure_movement measure_movement_of(const struct measure_mover *mover);

#endif
