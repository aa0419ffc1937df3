/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Complex transforms on aligned buffers of their own, in single and double precision: a thin
 * layer over FFTW that keeps its planner under a lock and its types out of every header. */
#include "dsp/fft.h"

#include <fftw3.h>
#include <limits.h>
#include <pthread.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

static pthread_mutex_t planner_lock = PTHREAD_MUTEX_INITIALIZER;

static unsigned planner_flags(enum dsp_effort effort)
{
  return effort == DSP_PLAN_MEASURE ? FFTW_MEASURE : FFTW_ESTIMATE;
}

/* The two precisions differ in nothing but FFTW's prefix. Measuring scribbles on the buffer,
 * so it is cleared after planning. */
#define DEFINE_TRANSFORM(name, real, prefix)                                                       \
  struct name {                                                                                    \
    size_t n;                                                                                      \
    prefix##_complex *buffer;                                                                      \
    prefix##_plan plan;                                                                            \
  };                                                                                               \
                                                                                                   \
  enum sc_error name##_create(size_t n, enum dsp_effort effort, struct name **fft)                 \
  {                                                                                                \
    if (!fft)                                                                                      \
      return SC_BAD_ARGUMENT;                                                                      \
    *fft = NULL;                                                                                   \
    if (n == 0 || n > INT_MAX)                                                                     \
      return SC_BAD_ARGUMENT;                                                                      \
    struct name *made = calloc(1, sizeof *made);                                                   \
    if (!made)                                                                                     \
      return SC_NO_MEMORY;                                                                         \
    made->n = n;                                                                                   \
    made->buffer = prefix##_malloc(n * sizeof *made->buffer);                                      \
    if (made->buffer) {                                                                            \
      pthread_mutex_lock(&planner_lock);                                                           \
      made->plan = prefix##_plan_dft_1d((int)n, made->buffer, made->buffer, FFTW_FORWARD,          \
                                        planner_flags(effort));                                    \
      pthread_mutex_unlock(&planner_lock);                                                         \
    }                                                                                              \
    if (!made->plan) {                                                                             \
      name##_destroy(made);                                                                        \
      return SC_NO_MEMORY;                                                                         \
    }                                                                                              \
    memset(made->buffer, 0, n * sizeof *made->buffer);                                             \
    *fft = made;                                                                                   \
    return SC_OK;                                                                                  \
  }                                                                                                \
                                                                                                   \
  real *name##_buffer(struct name *fft)                                                            \
  {                                                                                                \
    return (real *)fft->buffer;                                                                    \
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
    prefix##_free(fft->buffer);                                                                    \
    free(fft);                                                                                     \
  }

DEFINE_TRANSFORM(dsp_fft, float, fftwf)
DEFINE_TRANSFORM(dsp_fft64, double, fftw)

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
