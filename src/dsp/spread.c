/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A frame at a time this takes as long as a short filter that comes behind it. With vectors a phase
 * gathers its frames from as many of them as there are phases, two at a time. */
#include "dsp/spread.h"

#include "dsp/simd.h"

#include <string.h>

#ifdef SC_MULTIVERSION
#include <immintrin.h>
#endif

enum { LANES = DSP_SPREAD_LANES, WIDE_MOST = DSP_SPREAD_WIDE_MOST };

/* Float `lane` of what a phase takes together is float `from` of all vectors. It is picked when its
 * vector's turn comes, and kept from then on. */
static void set_picks(struct dsp_spread *s, unsigned phase)
{
  const unsigned components = s->components;
  for (unsigned v = 1; v < s->phases; v++)
    for (unsigned lane = 0; lane < LANES; lane++) {
      const unsigned frame = lane / components * s->phases + phase;
      const unsigned from = frame * components + lane % components, vector = from / LANES;
      const bool comes = vector == v, first = v == 1 && vector == 0;
      s->picks[phase * (s->phases - 1) + v - 1][lane] = (int32_t)(comes   ? LANES + from % LANES
                                                                  : first ? from
                                                                          : lane);
    }
}

void dsp_spread_set(struct dsp_spread *spread, unsigned components, unsigned phases, bool wide)
{
  *spread = (struct dsp_spread){.components = components, .phases = phases};
  spread->wide = wide && phases > 1 && phases <= WIDE_MOST;
  for (unsigned phase = 0; spread->wide && phase < phases; phase++)
    set_picks(spread, phase);
}

#ifdef SC_MULTIVERSION
#define UNROLLED _Pragma("GCC unroll 6")

/* So many whole vectors of each phase. */
__attribute__((target("avx512f"), always_inline)) static inline void
gather(const struct dsp_spread *s, unsigned phases, const float *in, size_t vectors, float *out,
       size_t stride)
{
  const int32_t(*picks)[LANES] = s->picks;
  for (size_t n = 0; n < vectors; n++, in += phases * LANES, out += LANES) {
    __m512 from[WIDE_MOST];
    UNROLLED for (unsigned v = 0; v < phases; v++) from[v] = _mm512_loadu_ps(in + v * LANES);
    UNROLLED for (unsigned d = 0; d < phases; d++)
    {
      __m512 taken = from[0];
      UNROLLED for (unsigned v = 1; v < phases; v++) taken = _mm512_permutex2var_ps(
          taken, _mm512_loadu_si512(picks[d * (phases - 1) + v - 1]), from[v]);
      _mm512_storeu_ps(out + (phases - 1 - d) * stride, taken);
    }
  }
}

#define GATHER(phases)                                                                             \
  __attribute__((target("avx512f"))) static void gather_##phases(                                  \
      const struct dsp_spread *s, const float *in, size_t vectors, float *out, size_t stride)      \
  {                                                                                                \
    gather(s, phases, in, vectors, out, stride);                                                   \
  }
GATHER(2)
GATHER(3)
GATHER(4)
GATHER(5)
GATHER(6)

/* Returns the groups that were dealt out. */
static size_t run_wide(const struct dsp_spread *s, const float *in, size_t groups, float *out,
                       size_t stride)
{
  typedef void gatherer(const struct dsp_spread *, const float *, size_t, float *, size_t);
  static gatherer *const by[] = {NULL, NULL, gather_2, gather_3, gather_4, gather_5, gather_6};
  const size_t vectors = groups * s->components / LANES;
  by[s->phases](s, in, vectors, out, stride);
  return vectors * LANES / s->components;
}
#else
static size_t run_wide(const struct dsp_spread *s, const float *in, size_t groups, float *out,
                       size_t stride)
{
  (void)s, (void)in, (void)groups, (void)out, (void)stride;
  return 0;
}
#endif

/* What is written may be what is read, as far as a compiler knows: it would make vectors of single
 * frames, by way of the stack. */
#define SPREAD(name, type)                                                                         \
  static inline void name(const float *in, size_t groups, size_t phases, float *out,               \
                          size_t stride)                                                           \
  {                                                                                                \
    typedef type __attribute__((aligned(4), may_alias)) frame;                                     \
    for (size_t n = 0; n < groups; n++)                                                            \
      for (size_t d = 0; d < phases; d++)                                                          \
        ((frame *)(out + (phases - 1 - d) * stride))[n] = ((const frame *)in)[n * phases + d];     \
  }
SPREAD(spread_real, uint32_t)
SPREAD(spread_complex, uint64_t)

/* Each decimation that is used much has a loop that is unrolled. */
#define SPREAD_BY(name)                                                                            \
  DSP_HOT static void name##_by(const float *in, size_t groups, size_t phases, float *out,         \
                                size_t stride)                                                     \
  {                                                                                                \
    switch (phases) {                                                                              \
    case 2:                                                                                        \
      name(in, groups, 2, out, stride);                                                            \
      break;                                                                                       \
    case 3:                                                                                        \
      name(in, groups, 3, out, stride);                                                            \
      break;                                                                                       \
    case 5:                                                                                        \
      name(in, groups, 5, out, stride);                                                            \
      break;                                                                                       \
    default:                                                                                       \
      name(in, groups, phases, out, stride);                                                       \
    }                                                                                              \
  }
SPREAD_BY(spread_real)
SPREAD_BY(spread_complex)

void dsp_spread_run(const struct dsp_spread *spread, const float *in, size_t groups, float *out,
                    size_t stride)
{
  const struct dsp_spread *s = spread;
  if (s->phases == 1) {
    memcpy(out, in, groups * s->components * sizeof *in);
    return;
  }
  const size_t done = s->wide ? run_wide(s, in, groups, out, stride) : 0;
  (s->components == 1 ? spread_real_by : spread_complex_by)(in + done * s->phases * s->components,
                                                            groups - done, s->phases,
                                                            out + done * s->components, stride);
}
