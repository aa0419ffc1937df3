/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The integral of a band-limited signal over one sample interval after the other.
 *
 * The integral of the polynomial through eight samples over their middle interval, as in the
 * central formulae of Gauss and Adams (coefficients computed). Relative error 2e-5 at a tenth of
 * the sample rate, falling with the eighth power of the frequency.
 */
#ifndef SIDECOMB_SIGNAL_INTEGRAL_H
#define SIDECOMB_SIGNAL_INTEGRAL_H

#include <stddef.h>

enum { SIGNAL_INTEGRAL_POINTS = 8, SIGNAL_INTEGRAL_AHEAD = 3, SIGNAL_INTEGRAL_MAX = 4096 };

struct signal_integral {
  double past[SIGNAL_INTEGRAL_POINTS - 1 + SIGNAL_INTEGRAL_MAX];
};

/* step[i]: the integral, in sample intervals, from sample i - 1 to sample i, both counted
 * SIGNAL_INTEGRAL_AHEAD samples behind the newest of `in`. count <= SIGNAL_INTEGRAL_MAX. */
void signal_integral_run(struct signal_integral *integral, const double *in, double *step,
                         size_t count);

#endif
