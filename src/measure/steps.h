/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Where a frequency jumps: an oscillator that is retuned or touched, a PLL that slips.
 *
 * Two tapered windows beside each other (dsp/hops.h) tell by how much the frequency's mean changes
 * from the one to the next. Where it jumps they differ, nowhere else by an eighth of that, and what
 * stands a window farther on either side differs as much: a note that begins, a thump or a lost
 * sample move but one window, a drift, a wander, noise and low notes move all of them. The shortest
 * windows that show it are taken, from four hops on; ten of them are the least. Of a modulation a
 * window of T lets (T f)^-5 through. Derived here; the thresholds are our own. */
#ifndef SIDECOMB_MEASURE_STEPS_H
#define SIDECOMB_MEASURE_STEPS_H

#include <stddef.h>

#include "dsp/hops.h"

enum { MEASURE_STEPS_MAX = 3 };

/* In frames: the jumps, in order, each lies between from and to; rest_hz: the most that the mean
 * changes elsewhere from one window to the next. */
struct measure_steps {
  size_t count;
  double from[MEASURE_STEPS_MAX], to[MEASURE_STEPS_MAX];
  double rest_hz;
};

/* Of all hops, the jumps of least_hz and more; none where there are more of them than
 * MEASURE_STEPS_MAX, or one is so near to an end or another one that it cannot be told. */
struct measure_steps measure_steps_of(const struct dsp_hops *khz, double least_hz);

#endif
