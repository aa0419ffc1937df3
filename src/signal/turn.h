/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A carrier of moving phase and amplitude, added to IQ. */
#ifndef SIDECOMB_SIGNAL_TURN_H
#define SIDECOMB_SIGNAL_TURN_H

#include <stddef.h>

/* iq[i] += swell[i] exp(j (first + step i + radians[i])) for angles within 10^5 radians, to
 * 1e-15 and the rounding of the angle itself; the same bits on every processor. */
void signal_turn_add(double *restrict iq, const double *restrict radians,
                     const double *restrict swell, double first, double step, size_t count);

#endif
