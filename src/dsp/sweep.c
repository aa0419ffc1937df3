/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Vectors of neighbouring outputs, eight or twelve of them at a time. Where the samples are read
 * from moves by a frame from tap to tap, so most vectors straddle two lines of the cache, and these
 * loads are what the time goes into. But vector m of the samples under tap k is vector m - 1 under
 * the tap that is one vector's frames later: the taps that lie whole vectors apart are worked on
 * together, and share their loads. */
#include "dsp/sweep.h"

#include "dsp/fft.h"
#include "dsp/simd.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

/* Vectors of outputs, and vectors of taps in a group at most: with the samples they find room in
 * 16 or in 32 registers. */
enum { OUTPUTS_IN_16 = 8, GROUP_IN_16 = 7, OUTPUTS_IN_32 = 12, GROUP_IN_32 = 12, WIDEST = 16 };

/* Floats that stay in the nearest cache: whole tiles of every kernel. */
enum { CHUNK_FLOATS = 4032 };
static_assert(CHUNK_FLOATS % (OUTPUTS_IN_16 * 8) == 0 &&
                  CHUNK_FLOATS % (OUTPUTS_IN_32 * WIDEST) == 0,
              "a chunk that is full leaves no part of a tile");

/* For `shifts` times, each `step` floats on: to output vector b the products of tap i
 * of this group with vector b + i of the samples. */
typedef void kernel(const float *restrict x, size_t shifts, size_t step, const float *restrict taps,
                    bool more, float *restrict sums);

/* The compilers would load a vector once more for each tap that it is under. */
#if defined(__x86_64__) || defined(__i386__)
#define KEEP(vector) __asm__("" : "+v"(vector))
#else
#define KEEP(vector) (void)(vector)
#endif

#define UNROLLED _Pragma("GCC unroll 24")

#define SWEEP(lanes, name, outputs, group, attribute)                                              \
  DSP_HOT attribute static void name##_##group(const float *restrict x, size_t shifts,             \
                                               size_t step, const float *restrict taps, bool more, \
                                               float *restrict sums)                               \
  {                                                                                                \
    typedef float vector __attribute__((vector_size(4 * lanes), aligned(4), may_alias));           \
    vector sum[outputs] = {{0}}, tap[group];                                                       \
    for (size_t b = 0; more && b < outputs; b++)                                                   \
      sum[b] = *(const vector *)(sums + b * lanes);                                                \
    for (size_t s = 0; s < shifts; s++, x += step, taps += group) {                                \
      UNROLLED for (size_t i = 0; i < group; i++) tap[i] = taps[i] - (vector){0};                  \
      UNROLLED for (size_t m = 0; m < outputs + group - 1; m++)                                    \
      {                                                                                            \
        vector samples = *(const vector *)(x + m * lanes);                                         \
        KEEP(samples);                                                                             \
        UNROLLED for (size_t i = 0; i < group; i++) if (m >= i && m - i < outputs) sum[m - i] +=   \
            tap[i] * samples;                                                                      \
      }                                                                                            \
    }                                                                                              \
    for (size_t b = 0; b < outputs; b++)                                                           \
      *(vector *)(sums + b * lanes) = sum[b];                                                      \
  }

#define SWEEPS_TO_7(lanes, name, outputs, attribute)                                               \
  SWEEP(lanes, name, outputs, 1, attribute)                                                        \
  SWEEP(lanes, name, outputs, 2, attribute)                                                        \
  SWEEP(lanes, name, outputs, 3, attribute)                                                        \
  SWEEP(lanes, name, outputs, 4, attribute)                                                        \
  SWEEP(lanes, name, outputs, 5, attribute)                                                        \
  SWEEP(lanes, name, outputs, 6, attribute)                                                        \
  SWEEP(lanes, name, outputs, 7, attribute)

#define NAMES_TO_7(name) name##_1, name##_2, name##_3, name##_4, name##_5, name##_6, name##_7

struct kernels {
  size_t lanes, outputs, group_most;
  kernel *of[GROUP_IN_32 + 1]; /* by the taps in a group */
};

SWEEPS_TO_7(4, narrow, OUTPUTS_IN_16, )
static const struct kernels narrow = {4, OUTPUTS_IN_16, GROUP_IN_16, {NULL, NAMES_TO_7(narrow)}};

#ifdef SC_MULTIVERSION
#define AVX2 __attribute__((target("avx2,fma")))
#define AVX512 __attribute__((target("avx512f,avx512vl,avx512dq,avx512bw")))

SWEEPS_TO_7(8, avx2, OUTPUTS_IN_16, AVX2)
static const struct kernels avx2 = {8, OUTPUTS_IN_16, GROUP_IN_16, {NULL, NAMES_TO_7(avx2)}};

SWEEPS_TO_7(16, avx512, OUTPUTS_IN_32, AVX512)
SWEEP(16, avx512, OUTPUTS_IN_32, 8, AVX512)
SWEEP(16, avx512, OUTPUTS_IN_32, 9, AVX512)
SWEEP(16, avx512, OUTPUTS_IN_32, 10, AVX512)
SWEEP(16, avx512, OUTPUTS_IN_32, 11, AVX512)
SWEEP(16, avx512, OUTPUTS_IN_32, 12, AVX512)
static const struct kernels avx512 = {
    16,
    OUTPUTS_IN_32,
    GROUP_IN_32,
    {NULL, NAMES_TO_7(avx512), avx512_8, avx512_9, avx512_10, avx512_11, avx512_12}};
#endif

static const struct kernels *choose_kernels(void)
{
#ifdef SC_MULTIVERSION
  __builtin_cpu_init();
  if (__builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512vl") &&
      __builtin_cpu_supports("avx512dq") && __builtin_cpu_supports("avx512bw"))
    return &avx512;
  if (__builtin_cpu_supports("avx2") && __builtin_cpu_supports("fma"))
    return &avx2;
#endif
  return &narrow;
}

struct dsp_sweep {
  unsigned components;
  const struct kernels *kernels;
  size_t shifts; /* frames of a vector */
  size_t tile;   /* floats of all output vectors */
  size_t groups, group;
  size_t old;  /* floats in front of the new ones */
  float *taps; /* by group, shift and vector; the oldest frame's first */
  float *buffer;
};

bool dsp_sweep_pays(unsigned components, size_t frames_max)
{
  enum { TILES = 16 }; /* the last one is done in part in vain */
  const struct kernels *k = choose_kernels();
  return frames_max * components >= TILES * k->outputs * k->lanes;
}

static void spread_taps(struct dsp_sweep *s, const double *taps, size_t count)
{
  for (size_t k = 0; k < count; k++) {
    const size_t frame = count - 1 - k, block = frame / s->shifts;
    const size_t at = block / s->group * s->shifts + frame % s->shifts;
    s->taps[at * s->group + block % s->group] = (float)taps[k];
  }
}

enum sc_error dsp_sweep_create(unsigned components, const double *taps, size_t count,
                               struct dsp_sweep **sweep)
{
  if (components < 1 || components > 2 || count == 0)
    return SC_BAD_ARGUMENT;
  struct dsp_sweep *s = calloc(1, sizeof *s);
  if (s == NULL)
    return SC_NO_MEMORY;
  s->components = components;
  s->kernels = choose_kernels();
  s->shifts = s->kernels->lanes / components;
  s->tile = s->kernels->outputs * s->kernels->lanes;
  const size_t blocks = (count + s->shifts - 1) / s->shifts;
  s->groups = (blocks + s->kernels->group_most - 1) / s->kernels->group_most;
  s->group = (blocks + s->groups - 1) / s->groups;
  s->old = (count - 1) * components;
  const size_t spread = s->groups * s->group * s->shifts;
  const size_t floats = s->old + CHUNK_FLOATS + s->tile + (spread + s->shifts) * components;
  s->taps = calloc(spread, sizeof *s->taps);
  s->buffer = dsp_memory_make(floats * sizeof *s->buffer);
  if (s->taps == NULL || s->buffer == NULL) {
    dsp_sweep_destroy(s);
    return SC_NO_MEMORY;
  }
  memset(s->buffer, 0, floats * sizeof *s->buffer);
  spread_taps(s, taps, count);
  *sweep = s;
  return SC_OK;
}

static void run_tile(const struct dsp_sweep *s, const float *x, float *sums)
{
  kernel *const run = s->kernels->of[s->group];
  const size_t vectors = s->group * s->kernels->lanes, taps = s->group * s->shifts;
  for (size_t g = 0; g < s->groups; g++)
    run(x + g * vectors, s->shifts, s->components, s->taps + g * taps, g > 0, sums);
}

static void run_chunk(struct dsp_sweep *s, const float *in, size_t floats, float *out)
{
  memcpy(s->buffer + s->old, in, floats * sizeof *in);
  const size_t whole = floats - floats % s->tile;
  for (size_t n = 0; n < whole; n += s->tile)
    run_tile(s, s->buffer + n, out + n);
  if (whole < floats) {
    float last[OUTPUTS_IN_32 * WIDEST];
    run_tile(s, s->buffer + whole, last);
    memcpy(out + whole, last, (floats - whole) * sizeof *out);
  }
  memmove(s->buffer, s->buffer + floats, s->old * sizeof *s->buffer);
}

void dsp_sweep_run(struct dsp_sweep *sweep, const float *in, size_t frames, float *out)
{
  const size_t floats = frames * sweep->components;
  for (size_t done = 0; done < floats; done += CHUNK_FLOATS) {
    const size_t left = floats - done;
    run_chunk(sweep, in + done, left < CHUNK_FLOATS ? left : CHUNK_FLOATS, out + done);
  }
}

void dsp_sweep_reset(struct dsp_sweep *sweep)
{
  memset(sweep->buffer, 0, sweep->old * sizeof *sweep->buffer);
}

void dsp_sweep_destroy(struct dsp_sweep *sweep)
{
  if (sweep == NULL)
    return;
  free(sweep->taps);
  dsp_memory_free(sweep->buffer);
  free(sweep);
}
