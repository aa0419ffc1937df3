/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Vectors of neighbouring outputs, eight or twelve of them at a time. Where the samples are read
 * from moves by a frame from tap to tap, so most vectors straddle two lines of the cache, and these
 * loads are what the time goes into. But vector m of the samples under tap k is vector m - 1 under
 * the tap that is one vector's frames later: the taps that lie whole vectors apart are worked on
 * together, and share their loads. */
#include "dsp/sweep.h"

#include "dsp/fft.h"
#include "dsp/simd.h"
#include "dsp/spread.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Vectors of outputs, and vectors of taps in a group at most: with the samples they find room in
 * 16 or in 32 registers. */
enum { OUTPUTS_IN_16 = 8, GROUP_IN_16 = 7, OUTPUTS_IN_32 = 12, GROUP_IN_32 = 12, WIDEST = 16 };

/* Floats that stay in the nearest cache. */
enum { CHUNK_FLOATS = 4032 };

enum { LINE = 16 }; /* floats of a line of the cache */

#define ROUNDED 1e-12F /* of the largest tap: as good as zero */

/* Rows of so many taps that lie whole vectors apart. A row is for one phase and one of neighbouring
 * frames. Rows of zeros are left out: a filter that lowers a rate to 1 / n, and is down by half at
 * half the rate that it makes, has but one tap in one of its n phases. */
struct part {
  size_t group, rows;
  const size_t *at;  /* floats before what a row's oldest tap is over, for the first outputs */
  const float *taps; /* by row and vector; the oldest frame's first */
};

/* For each row: to output vector b the products of tap i of the group with vector b + i of the
 * samples. */
typedef void kernel(const float *restrict x, const struct part *part, bool more,
                    float *restrict sums);

/* The compilers would load a vector once more for each tap that it is under. */
#if defined(__x86_64__) || defined(__i386__)
#define KEEP(vector) __asm__("" : "+v"(vector))
#else
#define KEEP(vector) (void)(vector)
#endif

#define UNROLLED _Pragma("GCC unroll 24")

#define SWEEP(lanes, name, outputs, group, attribute)                                              \
  DSP_HOT attribute static void name##_##group(const float *restrict x, const struct part *part,   \
                                               bool more, float *restrict sums)                    \
  {                                                                                                \
    typedef float vector __attribute__((vector_size(4 * lanes), aligned(4), may_alias));           \
    const size_t rows = part->rows, *const before = part->at;                                      \
    const float *restrict taps = part->taps;                                                       \
    vector sum[outputs] = {{0}}, tap[group];                                                       \
    for (size_t b = 0; more && b < outputs; b++)                                                   \
      sum[b] = *(const vector *)(sums + b * lanes);                                                \
    for (size_t r = 0; r < rows; r++, taps += group) {                                             \
      const float *at = x + before[r];                                                             \
      UNROLLED for (size_t i = 0; i < group; i++) tap[i] = taps[i] - (vector){0};                  \
      UNROLLED for (size_t m = 0; m < outputs + group - 1; m++)                                    \
      {                                                                                            \
        vector samples = *(const vector *)(at + m * lanes);                                        \
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

/* Of every `decimation` frames one goes to each phase, which has every so-manieth tap: what is made
 * is the sum of the phases' filters. */
struct dsp_sweep {
  unsigned components, decimation;
  const struct kernels *kernels;
  size_t shifts; /* frames of a vector */
  size_t tile;   /* floats of all output vectors */
  size_t phase_taps;
  size_t old;    /* floats of a phase in front of the new ones */
  size_t stride; /* floats from phase to phase */
  size_t chunk;  /* frames at a time: they fill whole tiles */
  size_t into;   /* phases that have a frame of the next output already */
  size_t part_count;
  struct part *parts;
  float *taps;
  size_t *at;
  float *memory;
  float *phases; /* in it; phase r has the frames that are r before an output's */
  struct dsp_spread spread;
};

static size_t least_chunk(const struct kernels *k, unsigned decimation)
{
  return decimation * k->outputs * k->lanes;
}

bool dsp_sweep_pays(unsigned components, unsigned decimation, size_t count, size_t frames_max)
{
  enum { TILES = 10 }; /* the last one is done in part in vain */
  const struct kernels *k = choose_kernels();
  /* Vectors of taps of a phase: with few no load is shared, and it takes long to deal out frames
   * one by one. */
  const size_t vectors = k->lanes == WIDEST ? 1 : 2;
  const bool decimates = decimation > 1;
  return frames_max * components >= TILES * least_chunk(k, decimation) &&
         (!decimates || count * components >= vectors * decimation * k->lanes);
}

struct taps {
  const double *values;
  size_t count;
  float least; /* that counts */
};

/* What rows are written to. */
struct room {
  float *taps;
  size_t *at;
};

/* Unless it is of zeros, or of what the rounding of a design leaves of them. */
static void add_row(struct part *part, const float *taps, float least, size_t at, struct room *room)
{
  float most = 0;
  for (size_t v = 0; v < part->group; v++)
    most = fmaxf(most, fabsf(taps[v]));
  if (!(most > least))
    return;
  memcpy(room->taps, taps, part->group * sizeof *taps);
  *room->at = at;
  room->taps += part->group;
  room->at++;
  part->rows++;
}

/* Of each phase the taps from its frame `first` on, `group` vectors of them under each of `shifts`.
 */
static void add_part(struct dsp_sweep *s, const struct taps *taps, size_t first, size_t shifts,
                     size_t group, struct room *room)
{
  struct part part = {group, 0, room->at, room->taps};
  for (size_t phase = 0; phase < s->decimation; phase++)
    for (size_t shift = 0; shift < shifts; shift++) {
      float row[GROUP_IN_32];
      for (size_t v = 0; v < group; v++) {
        const size_t frame = first + shift + v * s->shifts;
        const size_t k = (s->phase_taps - 1 - frame) * s->decimation + phase;
        row[v] = k < taps->count ? (float)taps->values[k] : 0.0F;
      }
      add_row(&part, row, taps->least, phase * s->stride + (first + shift) * s->components, room);
    }
  if (part.rows > 0)
    s->parts[s->part_count++] = part;
}

/* `vectors` of taps under so many shifts, in groups of about one size. */
static void add_parts(struct dsp_sweep *s, const struct taps *taps, size_t first, size_t shifts,
                      size_t vectors, struct room *room)
{
  const size_t most = s->kernels->group_most, groups = (vectors + most - 1) / most;
  for (size_t g = 0; g < groups && shifts > 0; g++) {
    const size_t from = g * vectors / groups, to = (g + 1) * vectors / groups;
    add_part(s, taps, first + from * s->shifts, shifts, to - from, room);
  }
}

/* The first shifts have a tap more than the others where no whole vectors of taps are. */
static void spread_taps(struct dsp_sweep *s, const double *values, size_t count)
{
  const size_t whole = s->phase_taps / s->shifts, longer = s->phase_taps % s->shifts;
  struct taps taps = {values, count, 0};
  struct room room = {s->taps, s->at};
  for (size_t k = 0; k < count; k++)
    taps.least = fmaxf(taps.least, ROUNDED * (float)fabs(values[k]));
  add_parts(s, &taps, 0, longer, whole + 1, &room);
  add_parts(s, &taps, longer, s->shifts - longer, whole, &room);
}

static void size_up(struct dsp_sweep *s, size_t count)
{
  const size_t least = least_chunk(s->kernels, s->decimation);
  const size_t times = CHUNK_FLOATS > least ? CHUNK_FLOATS / least : 1;
  s->shifts = s->kernels->lanes / s->components;
  s->tile = s->kernels->outputs * s->kernels->lanes;
  s->phase_taps = (count + s->decimation - 1) / s->decimation;
  s->old = (s->phase_taps - 1) * s->components;
  s->chunk = times * least / s->components;
  const size_t reach = s->old + times * s->tile + s->tile + s->components;
  s->stride = (reach / LINE + 2) * LINE;
}

/* New frames begin with a line of the cache. */
static enum sc_error create_memory(struct dsp_sweep *s)
{
  const size_t groups = s->phase_taps / s->shifts / s->kernels->group_most + 1;
  const size_t before = (LINE - s->old % LINE) % LINE;
  const size_t floats = before + s->decimation * s->stride + WIDEST;
  s->parts = calloc(2 * (groups + 1), sizeof *s->parts);
  s->taps = calloc(s->decimation * s->phase_taps, sizeof *s->taps);
  s->at = calloc(s->decimation * s->phase_taps, sizeof *s->at);
  s->memory = dsp_memory_make(floats * sizeof *s->memory);
  if (s->parts == NULL || s->taps == NULL || s->at == NULL || s->memory == NULL)
    return SC_NO_MEMORY;
  memset(s->memory, 0, floats * sizeof *s->memory);
  s->phases = s->memory + before;
  return SC_OK;
}

enum sc_error dsp_sweep_create(unsigned components, unsigned decimation, const double *taps,
                               size_t count, struct dsp_sweep **sweep)
{
  if (components < 1 || components > 2 || decimation == 0 || count == 0)
    return SC_BAD_ARGUMENT;
  struct dsp_sweep *s = calloc(1, sizeof *s);
  if (s == NULL)
    return SC_NO_MEMORY;
  s->components = components;
  s->decimation = decimation;
  s->kernels = choose_kernels();
  size_up(s, count);
  const enum sc_error error = create_memory(s);
  if (error != SC_OK) {
    dsp_sweep_destroy(s);
    return error;
  }
  spread_taps(s, taps, count);
  dsp_spread_set(&s->spread, components, decimation, s->kernels->lanes == WIDEST);
  dsp_sweep_reset(s);
  *sweep = s;
  return SC_OK;
}

size_t dsp_sweep_chunk(const struct dsp_sweep *sweep)
{
  return sweep->chunk;
}

static void run_tile(const struct dsp_sweep *s, size_t at, float *sums)
{
  if (s->part_count == 0) /* all taps are zero */
    memset(sums, 0, s->tile * sizeof *sums);
  for (size_t p = 0; p < s->part_count; p++) {
    const struct part *part = &s->parts[p];
    s->kernels->of[part->group](s->phases + at, part, p > 0, sums);
  }
}

/* A frame of a group that is not whole. */
static void put_frame(struct dsp_sweep *s, const float *in, size_t group)
{
  const size_t phase = s->decimation - 1 - s->into;
  float *const to = s->phases + phase * s->stride + s->old + group * s->components;
  memcpy(to, in, s->components * sizeof *in);
  s->into++;
}

/* Puts frames to their phases, behind the old ones; returns the groups that are whole then. */
static size_t take_in(struct dsp_sweep *s, const float *in, size_t frames)
{
  size_t groups = 0;
  for (; frames > 0 && s->into > 0; frames--, in += s->components) {
    put_frame(s, in, 0);
    if (s->into == s->decimation) {
      s->into = 0;
      groups++;
    }
  }
  const size_t whole = frames / s->decimation, used = whole * s->decimation;
  dsp_spread_run(&s->spread, in, whole, s->phases + s->old + groups * s->components, s->stride);
  groups += whole;
  in += used * s->components;
  for (frames -= used; frames > 0; frames--, in += s->components)
    put_frame(s, in, groups);
  return groups;
}

static size_t run_chunk(struct dsp_sweep *s, const float *in, size_t frames, float *out)
{
  const size_t groups = take_in(s, in, frames), floats = groups * s->components;
  const size_t whole = floats - floats % s->tile;
  for (size_t n = 0; n < whole; n += s->tile)
    run_tile(s, n, out + n);
  if (whole < floats) {
    float last[OUTPUTS_IN_32 * WIDEST];
    run_tile(s, whole, last);
    memcpy(out + whole, last, (floats - whole) * sizeof *out);
  }
  const size_t kept = s->old + (s->into > 0 ? s->components : 0);
  for (size_t r = 0; r < s->decimation && groups > 0; r++) {
    float *const phase = s->phases + r * s->stride;
    memmove(phase, phase + floats, kept * sizeof *phase);
  }
  return groups;
}

size_t dsp_sweep_run(struct dsp_sweep *sweep, const float *in, size_t frames, float *out)
{
  size_t made = 0;
  for (size_t done = 0; done < frames; done += sweep->chunk) {
    const size_t left = frames - done, run = left < sweep->chunk ? left : sweep->chunk;
    made += run_chunk(sweep, in + done * sweep->components, run, out + made * sweep->components);
  }
  return made;
}

void dsp_sweep_reset(struct dsp_sweep *sweep)
{
  memset(sweep->phases, 0, sweep->decimation * sweep->stride * sizeof *sweep->phases);
  sweep->into = sweep->decimation - 1;
}

void dsp_sweep_destroy(struct dsp_sweep *sweep)
{
  if (sweep == NULL)
    return;
  free(sweep->parts);
  free(sweep->taps);
  free(sweep->at);
  dsp_memory_free(sweep->memory);
  free(sweep);
}
