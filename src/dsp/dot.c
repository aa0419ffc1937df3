/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Four or eight dot products at a time, so that each tap is loaded once for them. The compilers
 * lower a vector wider than the machine's through memory, at a third of the speed; so the loop is
 * stamped for each width and chosen when a filter is created. */
#include "dsp/dot.h"

#include "dsp/simd.h"

#include <string.h>

#define PICK __builtin_shufflevector

/* The four sums folded to their even and odd lanes: halves, quarters, pairs. */
#define FOLD4(v, a, b, c, d, sums)                                                                 \
  const v ab = PICK(a, b, 0, 1, 4, 5) + PICK(a, b, 2, 3, 6, 7);                                    \
  const v cd = PICK(c, d, 0, 1, 4, 5) + PICK(c, d, 2, 3, 6, 7);                                    \
  memcpy(sums, &ab, sizeof ab);                                                                    \
  memcpy(sums + 4, &cd, sizeof cd)

#define FOLD8(v, a, b, c, d, sums)                                                                 \
  const v ab = PICK(a, b, 0, 1, 2, 3, 8, 9, 10, 11) + PICK(a, b, 4, 5, 6, 7, 12, 13, 14, 15);      \
  const v cd = PICK(c, d, 0, 1, 2, 3, 8, 9, 10, 11) + PICK(c, d, 4, 5, 6, 7, 12, 13, 14, 15);      \
  const v all = PICK(ab, cd, 0, 1, 4, 5, 8, 9, 12, 13) + PICK(ab, cd, 2, 3, 6, 7, 10, 11, 14, 15); \
  memcpy(sums, &all, sizeof all)

#define LOWER16 0, 1, 2, 3, 4, 5, 6, 7, 16, 17, 18, 19, 20, 21, 22, 23
#define UPPER16 8, 9, 10, 11, 12, 13, 14, 15, 24, 25, 26, 27, 28, 29, 30, 31
#define LOWER8 0, 1, 2, 3, 8, 9, 10, 11, 16, 17, 18, 19, 24, 25, 26, 27
#define UPPER8 4, 5, 6, 7, 12, 13, 14, 15, 20, 21, 22, 23, 28, 29, 30, 31
#define FOLD16(v, a, b, c, d, sums)                                                                \
  const v ab = PICK(a, b, LOWER16) + PICK(a, b, UPPER16);                                          \
  const v cd = PICK(c, d, LOWER16) + PICK(c, d, UPPER16);                                          \
  const v all = PICK(ab, cd, LOWER8) + PICK(ab, cd, UPPER8);                                       \
  const v pairs = all + PICK(all, all, 2, 3, 0, 1, 6, 7, 4, 5, 10, 11, 8, 9, 14, 15, 12, 13);      \
  const v first = PICK(pairs, pairs, 0, 1, 4, 5, 8, 9, 12, 13, 0, 1, 4, 5, 8, 9, 12, 13);          \
  memcpy(sums, &first, 8 * sizeof(float))

/* Each output has one sum in the same order here and below, so that its value does not depend on
 * which of the two made it. Samples and taps need no alignment beyond a float's, but are read at
 * half the speed without it. */
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
    FOLD##lanes(name##_lane, a, b, c, d, sums);                                                    \
  }

/* With eight, a tap's load is shared by twice as many, and the sums hide each other's latency. */
#define DOT8(name, lanes, attribute)                                                               \
  typedef float name##_lane __attribute__((vector_size(4 * lanes), aligned(4), may_alias));        \
  DSP_HOT attribute static void name(const float *x, size_t stride, const float *taps,             \
                                     size_t count, float *restrict sums)                           \
  {                                                                                                \
    const float *const x4 = x + 4 * stride;                                                        \
    name##_lane a = {0}, b = {0}, c = {0}, d = {0}, e = {0}, f = {0}, g = {0}, h = {0};            \
    for (size_t k = 0; k < count; k += lanes) {                                                    \
      const name##_lane t = *(const name##_lane *)(taps + k);                                      \
      a += t * *(const name##_lane *)(x + k);                                                      \
      b += t * *(const name##_lane *)(x + stride + k);                                             \
      c += t * *(const name##_lane *)(x + 2 * stride + k);                                         \
      d += t * *(const name##_lane *)(x + 3 * stride + k);                                         \
      e += t * *(const name##_lane *)(x4 + k);                                                     \
      f += t * *(const name##_lane *)(x4 + stride + k);                                            \
      g += t * *(const name##_lane *)(x4 + 2 * stride + k);                                        \
      h += t * *(const name##_lane *)(x4 + 3 * stride + k);                                        \
    }                                                                                              \
    {                                                                                              \
      FOLD##lanes(name##_lane, a, b, c, d, sums);                                                  \
    }                                                                                              \
    FOLD##lanes(name##_lane, e, f, g, h, sums + 8);                                                \
  }

DOT4(dot4_narrow, 4, )
DOT8(dot8_narrow, 4, )

#ifdef SC_MULTIVERSION
#define AVX2 __attribute__((target("avx2,fma")))
#define AVX512 __attribute__((target("avx512f,avx512vl,avx512dq,avx512bw")))
DOT4(dot4_avx2, 8, AVX2)
DOT8(dot8_avx2, 8, AVX2)
DOT4(dot4_avx512, 16, AVX512)
DOT8(dot8_avx512, 16, AVX512)
#endif

struct dsp_dot dsp_dot_kernels(void)
{
#ifdef SC_MULTIVERSION
  __builtin_cpu_init();
  if (__builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512vl") &&
      __builtin_cpu_supports("avx512dq") && __builtin_cpu_supports("avx512bw"))
    return (struct dsp_dot){dot4_avx512, dot8_avx512};
  if (__builtin_cpu_supports("avx2") && __builtin_cpu_supports("fma"))
    return (struct dsp_dot){dot4_avx2, dot8_avx2};
#endif
  return (struct dsp_dot){dot4_narrow, dot8_narrow};
}
