/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Sine and cosine side by side, without branches, so that the compiler can do many at once. The
 * polynomials on a quarter turn are those of fdlibm (k_sin.c and k_cos.c, Sun Microsystems 1993),
 * with an error below 2^-57; quarters are counted in doubles.
 */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "signal/clones.h"
#include "signal/turn.h"

/* A quarter turn in two parts, the first of 33 bits, so that its multiples are exact; fdlibm too
 * (e_rem_pio2.c). */
static const double quarter_high = 1.57079632673412561417, quarter_low = 6.07710050650619224932e-11;
static const double quarters_per_radian = 0.636619772367581343076;

/* Adding and taking it away rounds to the nearest whole number. */
static const double rounder = 0x1.8p52;

static inline double sine(double r)
{
  const double z = r * r;
  const double tail = 8.33333333332248946124e-03 +
                      z * (-1.98412698298579493134e-04 +
                           z * (2.75573137070700676789e-06 + z * (-2.50507602534068634195e-08 +
                                                                  z * 1.58969099521155010221e-10)));
  return r + r * z * (-1.66666666666666324348e-01 + z * tail);
}

static inline double cosine(double r)
{
  const double z = r * r;
  const double tail =
      4.16666666666666019037e-02 +
      z * (-1.38888888888741095749e-03 +
           z * (2.48015872894767294178e-05 +
                z * (-2.75573143513906633035e-07 +
                     z * (2.08757232129817482790e-09 + z * -1.13596475577881948265e-11))));
  return 1 - z / 2 + z * z * tail;
}

SIGNAL_CLONES
void signal_turn_add(double *restrict iq, const double *restrict radians,
                     const double *restrict swell, double first, double step, size_t count)
{
  for (size_t i = 0; i < count; i++) {
    const double angle = radians[i] + first + step * (double)(int)i;
    const double quarters = (angle * quarters_per_radian + rounder) - rounder;
    const double r = (angle - quarters * quarter_high) - quarters * quarter_low;
    const double halves = (quarters / 2 + rounder) - rounder; /* ties go to even ones */
    const double odd = quarters - 2 * halves;                 /* 1 or -1 at odd quarters */
    const double odd_half = halves - 2 * ((halves / 2 + rounder) - rounder);
    const double even = (1 - odd * odd) * (1 - 2 * odd_half * odd_half);
    const double s = sine(r), c = cosine(r);
    iq[2 * i] += swell[i] * (even * c - odd * s);
    iq[2 * i + 1] += swell[i] * (even * s + odd * c);
  }
}
