/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The phase is the integral of
 *   f(t) = drift t + wander sin(2 pi t / period) + settle exp(-t / time constant), from t = 0 on.
 */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>

#include "signal/motion.h"

static const double two_pi = 6.283185307179586476925286766559;

bool signal_motion_any(const struct sc_motion *motion)
{
  return motion->drift_hz_s != 0 || motion->wander_hz != 0 || motion->settle_hz != 0;
}

double signal_motion_most_hz(const struct sc_motion *motion, double seconds)
{
  return fabs(motion->drift_hz_s) * seconds + fabs(motion->wander_hz) + fabs(motion->settle_hz);
}

static double cycles_at(const struct sc_motion *m, double t)
{
  const double half_turn = sin(two_pi / 2 * t / m->wander_s); /* 1 - cos(2 a) = 2 sin(a)^2 */
  return m->drift_hz_s * t * t / 2 +
         m->wander_hz * m->wander_s / two_pi * 2 * half_turn * half_turn -
         m->settle_hz * m->settle_s * expm1(-t / m->settle_s);
}

void signal_motion_run(const struct sc_motion *motion, int64_t first, double rate_hz,
                       double *radians, size_t n)
{
  for (size_t i = 0; i < n; i++) {
    const double cycles = cycles_at(motion, (double)(first + (int64_t)i) / rate_hz);
    radians[i] = two_pi * (cycles - floor(cycles));
  }
}

void signal_motion_add_turned(const double *from, const double *radians, double *to, size_t n)
{
  for (size_t i = 0; i < n; i++) {
    const double c = cos(radians[i]), s = sin(radians[i]);
    to[2 * i] += from[2 * i] * c - from[2 * i + 1] * s;
    to[2 * i + 1] += from[2 * i] * s + from[2 * i + 1] * c;
  }
}
