/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Several sums side by side, so that none waits for the one before. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "measure/power.h"

#include "common/kernel.h"

enum { LANES = 32 };

/* frames: a multiple of LANES */
SC_KERNEL
static void add_up(const float *x, size_t frames, double *restrict sums, double *restrict squares)
{
  for (size_t n = 0; n < frames; n += LANES)
    for (size_t l = 0; l < LANES; l++) {
      const double value = (double)x[n + l];
      sums[l] += value;
      squares[l] += value * value;
    }
}

struct measure_power measure_power_of(const float *x, size_t frames)
{
  double sums[LANES] = {0.0}, squares[LANES] = {0.0};
  struct measure_power p = {0.0, 0.0};
  const size_t whole = frames - frames % LANES;
  add_up(x, whole, sums, squares);
  for (size_t n = whole; n < frames; n++) {
    sums[n - whole] += (double)x[n];
    squares[n - whole] += (double)x[n] * (double)x[n];
  }
  for (size_t l = 0; l < LANES; l++) {
    p.sum += sums[l];
    p.squares += squares[l];
  }
  return p;
}
