/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Several sums side by side, so that none waits for the one before; their order does not depend on
 * the processor. */
#include "measure/power.h"

enum { LANES = 8 };
typedef double lanes __attribute__((vector_size(16)));

/* frames: a multiple of LANES */
static void add_up(const float *x, size_t frames, double *sums, double *squares)
{
  lanes sum[LANES / 2] = {{0.0}}, square[LANES / 2] = {{0.0}};
  for (size_t n = 0; n < frames; n += LANES)
    for (size_t l = 0; l < LANES / 2; l++) {
      const lanes value = {x[n + 2 * l], x[n + 2 * l + 1]};
      sum[l] += value;
      square[l] += value * value;
    }
  for (size_t l = 0; l < LANES; l++) {
    sums[l] = sum[l / 2][l % 2];
    squares[l] = square[l / 2][l % 2];
  }
}

struct measure_power measure_power_of(const float *x, size_t frames)
{
  double sums[LANES], squares[LANES];
  struct measure_power p = {0.0, 0.0};
  const size_t whole = frames - frames % LANES;
  add_up(x, whole, sums, squares);
  for (size_t l = 0; l < LANES; l++) {
    p.sum += sums[l];
    p.squares += squares[l];
  }
  for (size_t n = whole; n < frames; n++) {
    p.sum += x[n];
    p.squares += (double)x[n] * x[n];
  }
  return p;
}
