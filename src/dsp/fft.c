/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Complex transforms on aligned buffers of their own, in single and double precision: a thin
 * layer over FFTW that keeps its planner under a lock and its types out of every header. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "dsp/fft.h"

#include <fftw3.h>
#include <limits.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

static pthread_mutex_t planner_lock = PTHREAD_MUTEX_INITIALIZER;

static bool measured_anew; /* under the lock: by trials, and not by what was taken */

static unsigned planner_flags(enum dsp_effort effort)
{
  return effort == DSP_PLAN_MEASURE ? FFTW_MEASURE : FFTW_ESTIMATE;
}

bool dsp_plans_take(const char *text)
{
  pthread_mutex_lock(&planner_lock);
  bool taken = fftwf_import_wisdom_from_string(text) != 0;
  pthread_mutex_unlock(&planner_lock);
  return taken;
}

char *dsp_plans_text(void)
{
  pthread_mutex_lock(&planner_lock);
  char *text = measured_anew ? fftwf_export_wisdom_to_string() : NULL;
  pthread_mutex_unlock(&planner_lock);
  return text;
}

enum layout { IN_PLACE, APART, APART_REAL };

/* The two precisions differ in nothing but FFTW's prefix. Measuring scribbles on the buffers,
 * so they are cleared after planning. */
#define DEFINE_TRANSFORM(name, real, prefix)                                                       \
  struct name {                                                                                    \
    real *input, *output; /* the same in place */                                                  \
    prefix##_plan plan;                                                                            \
  };                                                                                               \
                                                                                                   \
  static prefix##_plan name##_try(const struct name *fft, int n, enum layout layout,               \
                                  unsigned flags)                                                  \
  {                                                                                                \
    prefix##_complex *in = (prefix##_complex *)fft->input;                                         \
    prefix##_complex *out = (prefix##_complex *)fft->output;                                       \
    return layout == APART_REAL ? prefix##_plan_dft_r2c_1d(n, fft->input, out, flags)              \
                                : prefix##_plan_dft_1d(n, in, out, FFTW_FORWARD, flags);           \
  }                                                                                                \
                                                                                                   \
  static prefix##_plan name##_plan(const struct name *fft, int n, enum layout layout,              \
                                   unsigned flags)                                                 \
  {                                                                                                \
    pthread_mutex_lock(&planner_lock);                                                             \
    prefix##_plan plan = NULL;                                                                     \
    if (flags == FFTW_MEASURE) {                                                                   \
      plan = name##_try(fft, n, layout, flags | FFTW_WISDOM_ONLY);                                 \
      measured_anew = measured_anew || plan == NULL;                                               \
    }                                                                                              \
    if (plan == NULL)                                                                              \
      plan = name##_try(fft, n, layout, flags);                                                    \
    pthread_mutex_unlock(&planner_lock);                                                           \
    return plan;                                                                                   \
  }                                                                                                \
                                                                                                   \
  static enum sc_error name##_make(size_t n, enum dsp_effort effort, enum layout layout,           \
                                   struct name **fft)                                              \
  {                                                                                                \
    if (!fft)                                                                                      \
      return SC_BAD_ARGUMENT;                                                                      \
    *fft = NULL;                                                                                   \
    if (n == 0 || n > INT_MAX)                                                                     \
      return SC_BAD_ARGUMENT;                                                                      \
    struct name *made = calloc(1, sizeof *made);                                                   \
    if (!made)                                                                                     \
      return SC_NO_MEMORY;                                                                         \
    size_t bytes = 2 * n * sizeof(real);                                                           \
    made->input = prefix##_malloc(bytes);                                                          \
    made->output = layout == IN_PLACE ? made->input : prefix##_malloc(bytes + 2 * sizeof(real));   \
    if (made->input && made->output)                                                               \
      made->plan = name##_plan(made, (int)n, layout, planner_flags(effort));                       \
    if (!made->plan) {                                                                             \
      name##_destroy(made);                                                                        \
      return SC_NO_MEMORY;                                                                         \
    }                                                                                              \
    memset(made->input, 0, bytes);                                                                 \
    memset(made->output, 0, bytes);                                                                \
    *fft = made;                                                                                   \
    return SC_OK;                                                                                  \
  }                                                                                                \
                                                                                                   \
  enum sc_error name##_create(size_t n, enum dsp_effort effort, struct name **fft)                 \
  {                                                                                                \
    return name##_make(n, effort, IN_PLACE, fft);                                                  \
  }                                                                                                \
                                                                                                   \
  real *name##_buffer(struct name *fft)                                                            \
  {                                                                                                \
    return fft->input;                                                                             \
  }                                                                                                \
                                                                                                   \
  void name##_run(struct name *fft)                                                                \
  {                                                                                                \
    prefix##_execute(fft->plan);                                                                   \
  }                                                                                                \
                                                                                                   \
  void name##_destroy(struct name *fft)                                                            \
  {                                                                                                \
    if (!fft)                                                                                      \
      return;                                                                                      \
    if (fft->plan) {                                                                               \
      pthread_mutex_lock(&planner_lock);                                                           \
      prefix##_destroy_plan(fft->plan);                                                            \
      pthread_mutex_unlock(&planner_lock);                                                         \
    }                                                                                              \
    if (fft->output != fft->input)                                                                 \
      prefix##_free(fft->output);                                                                  \
    prefix##_free(fft->input);                                                                     \
    free(fft);                                                                                     \
  }

DEFINE_TRANSFORM(dsp_fft, float, fftwf)
DEFINE_TRANSFORM(dsp_fft64, double, fftw)

struct dsp_fft_group {
  fftwf_plan plan;
};

static fftwf_plan try_group(const struct dsp_fft_shape *shape, unsigned flags, float *in,
                            float *out)
{
  const int n = (int)shape->length, stride = (int)shape->stride, distance = (int)shape->distance;
  return fftwf_plan_many_dft(1, &n, (int)shape->count, (fftwf_complex *)in, NULL, stride, distance,
                             (fftwf_complex *)out, NULL, stride, distance, FFTW_FORWARD, flags);
}

/* Arrays that begin in the middle of a vector need another plan. */
static fftwf_plan plan_group(const struct dsp_fft_shape *shape, enum dsp_effort effort, float *in,
                             float *out)
{
  enum { ALIGNED = 8 }; /* complex values */
  const bool aligned = shape->count > 1 || shape->length % ALIGNED == 0;
  const unsigned flags = planner_flags(effort) | (aligned ? 0 : FFTW_UNALIGNED);
  pthread_mutex_lock(&planner_lock);
  fftwf_plan plan = NULL;
  if (effort == DSP_PLAN_MEASURE) {
    plan = try_group(shape, flags | FFTW_WISDOM_ONLY, in, out);
    measured_anew = measured_anew || plan == NULL;
  }
  if (plan == NULL)
    plan = try_group(shape, flags, in, out);
  pthread_mutex_unlock(&planner_lock);
  return plan;
}

enum sc_error dsp_fft_group_create(const struct dsp_fft_shape *shape, enum dsp_effort effort,
                                   float *in, float *out, struct dsp_fft_group **group)
{
  if (shape->length == 0 || shape->count == 0 || shape->length > INT_MAX / shape->count)
    return SC_BAD_ARGUMENT;
  struct dsp_fft_group *made = malloc(sizeof *made);
  if (made != NULL)
    made->plan = plan_group(shape, effort, in, out);
  if (made == NULL || made->plan == NULL) {
    free(made);
    return SC_NO_MEMORY;
  }
  *group = made;
  return SC_OK;
}

void dsp_fft_group_run(const struct dsp_fft_group *group, float *in, float *out)
{
  fftwf_execute_dft(group->plan, (fftwf_complex *)in, (fftwf_complex *)out);
}

void dsp_fft_group_destroy(struct dsp_fft_group *group)
{
  if (group == NULL)
    return;
  pthread_mutex_lock(&planner_lock);
  fftwf_destroy_plan(group->plan);
  pthread_mutex_unlock(&planner_lock);
  free(group);
}

void *dsp_memory_make(size_t bytes)
{
  return fftwf_malloc(bytes);
}

void dsp_memory_free(void *memory)
{
  fftwf_free(memory);
}

void dsp_memory_rest(void *memory, size_t bytes)
{
  const size_t page = (size_t)sysconf(_SC_PAGESIZE), rest = (size_t)memory % page;
  const size_t before = rest > 0 ? page - rest : 0;
  if (memory == NULL || bytes < before + page)
    return;
#ifdef MADV_DONTNEED
  /* Where the system does not take them, they stay. */
  (void)madvise((char *)memory + before, (bytes - before) / page * page, MADV_DONTNEED);
#endif
}

enum sc_error dsp_fft_create_apart(size_t n, bool real_input, enum dsp_effort effort,
                                   struct dsp_fft **fft)
{
  return dsp_fft_make(n, effort, real_input ? APART_REAL : APART, fft);
}

float *dsp_fft_output(struct dsp_fft *fft)
{
  return fft->output;
}

static bool is_smooth(size_t n)
{
  static const size_t primes[] = {2, 3, 5, 7};
  for (size_t i = 0; i < sizeof primes / sizeof *primes; i++)
    while (n % primes[i] == 0)
      n /= primes[i];
  return n == 1;
}

size_t dsp_fft_good_length(size_t n)
{
  while (n > 1 && !is_smooth(n))
    n--;
  return n;
}
