/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Kernels over lanes that are added up last, so that every compiler makes the same bits.
 *
 * For clang a step is one value: a sanitized build then checks each access once and not sixteen
 * times, which takes a fifth of the time. gcc lowers such a wide value through memory, at a third
 * of the speed, and makes vectors of the plain loops by itself. */
#ifndef SIDECOMB_SIGNAL_LANES_H
#define SIDECOMB_SIGNAL_LANES_H

#include <stddef.h>
#include <string.h>

enum { SIGNAL_LANES = 16 };

#ifdef __clang__
typedef double signal_lanes __attribute__((vector_size(8 * SIGNAL_LANES), aligned(8), may_alias));
#endif

/* Lane i of `sum` is that of all products i, i + SIGNAL_LANES and so on; `count` is a multiple. */
static inline void signal_lanes_dot(const double *restrict a, const double *restrict b,
                                    size_t count, double sum[restrict SIGNAL_LANES])
{
#ifdef __clang__
  signal_lanes all = {0};
  for (size_t k = 0; k < count; k += SIGNAL_LANES)
    all += *(const signal_lanes *)(a + k) * *(const signal_lanes *)(b + k);
  memcpy(sum, &all, sizeof all);
#else
  memset(sum, 0, SIGNAL_LANES * sizeof *sum);
  for (size_t k = 0; k < count; k += SIGNAL_LANES)
    for (size_t i = 0; i < SIGNAL_LANES; i++)
      sum[i] += a[k + i] * b[k + i];
#endif
}

/* Adds the real parts of sixteen turning pointers, and turns each by (c, s), round by round:
 * independent recurrences, which a processor runs side by side. */
static inline void signal_lanes_turn(double *restrict re, double *restrict im, double c, double s,
                                     double *restrict out, size_t rounds)
{
#ifdef __clang__
  signal_lanes x, y;
  memcpy(&x, re, sizeof x);
  memcpy(&y, im, sizeof y);
  for (size_t r = 0; r < rounds; r++) {
    *(signal_lanes *)(out + r * SIGNAL_LANES) += x;
    const signal_lanes before = x;
    x = c * before - s * y;
    y = c * y + s * before;
  }
  memcpy(re, &x, sizeof x);
  memcpy(im, &y, sizeof y);
#else
  for (size_t r = 0; r < rounds; r++, out += SIGNAL_LANES)
    for (int i = 0; i < SIGNAL_LANES; i++) {
      const double x = re[i], y = im[i];
      out[i] += x;
      re[i] = c * x - s * y;
      im[i] = c * y + s * x;
    }
#endif
}

#endif
