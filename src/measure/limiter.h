/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Whether a composite was cut off with its pilot.
 *
 * A pilot of the amplitude p that goes its own way takes whatever value the rest has to all places
 * within p of it, as often as a sine is there: within w of either end for acos(1 - w / p) / pi of
 * the time, nowhere for more (arcsine law). So of what stands within 2 p of any stretch of the
 * width w no more than that share is in it. Where both ends of the distribution hold more, at the
 * same deviation above and below, the pilot is missing there: the composite is cut off (our own
 * method). A tone at a third of the pilot's frequency, in phase with it, looks the same. */
#ifndef SIDECOMB_MEASURE_LIMITER_H
#define SIDECOMB_MEASURE_LIMITER_H

#include "measure/amplitudes.h"

/* 0: it is not cut off, or that cannot be seen. `w` to *width_khz. */
double measure_limiter_khz(const struct measure_amplitudes *amplitudes, double mean_khz,
                           double pilot_khz, double *width_khz);

#endif
