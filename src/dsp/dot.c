/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Four dot products at a time, so that each tap is loaded once for four outputs and four
 * independent sums hide the latency of the multiply-add. The compilers lower a vector wider than
 * the machine's through memory, at a third of the speed; so the loop is stamped for each width and
 * chosen when a filter is created. */
#include "dsp/dot.h"

#include "dsp/simd.h"

#include <string.h>

/* Interleaved samples need no alignment beyond a float's. */
#define DOT4(name, lanes, attribute)                                                               \
  typedef float name##_lane __attribute__((vector_size(4 * lanes), aligned(4), may_alias));        \
  DSP_HOT attribute static void name(const float *x, size_t stride, const float *taps,             \
                                     size_t count, float *restrict sums)                           \
  {                                                                                                \
    name##_lane a = {0}, b = {0}, c = {0}, d = {0};                                                \
    for (size_t k = 0; k < count; k += lanes) {                                                    \
      const name##_lane t = *(const name##_lane *)(taps + k);                                      \
      a += t * *(const name##_lane *)(x + k);                                                      \
      b += t * *(const name##_lane *)(x + stride + k);                                             \
      c += t * *(const name##_lane *)(x + 2 * stride + k);                                         \
      d += t * *(const name##_lane *)(x + 3 * stride + k);                                         \
    }                                                                                              \
    float lane[DSP_DOT_OUTPUTS][lanes];                                                            \
    memcpy(lane[0], &a, sizeof a);                                                                 \
    memcpy(lane[1], &b, sizeof b);                                                                 \
    memcpy(lane[2], &c, sizeof c);                                                                 \
    memcpy(lane[3], &d, sizeof d);                                                                 \
    for (int o = 0; o < DSP_DOT_OUTPUTS; o++) {                                                    \
      float even = 0.0F, odd = 0.0F;                                                               \
      for (int j = 0; j < lanes; j += 2) {                                                         \
        even += lane[o][j];                                                                        \
        odd += lane[o][j + 1];                                                                     \
      }                                                                                            \
      sums[2 * o] = even;                                                                          \
      sums[2 * o + 1] = odd;                                                                       \
    }                                                                                              \
  }

DOT4(dot4_narrow, 4, )

#ifdef SC_MULTIVERSION
DOT4(dot4_avx2, 8, __attribute__((target("avx2,fma"))))
DOT4(dot4_avx512, 16, __attribute__((target("avx512f,avx512vl,avx512dq,avx512bw"))))
#endif

dsp_dot4 *dsp_dot4_kernel(void)
{
#ifdef SC_MULTIVERSION
  __builtin_cpu_init();
  if (__builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512vl") &&
      __builtin_cpu_supports("avx512dq") && __builtin_cpu_supports("avx512bw"))
    return dot4_avx512;
  if (__builtin_cpu_supports("avx2") && __builtin_cpu_supports("fma"))
    return dot4_avx2;
#endif
  return dot4_narrow;
}
