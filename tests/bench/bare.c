/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#include <config.h>

#include "bench/bare.h"

#include <math.h>
#include <pthread.h>
#include <stdlib.h>

#include <fftw3.h>

#include "bench/bench.h"
#include "common/kernel.h"
#include "dsp/window.h"

struct bare {
  size_t length;
  float *window, *sum;
  fftwf_complex *in, *out;
  fftwf_plan plan;
};

static void fill_window(struct bare *bare, double *window)
{
  dsp_window_fill(SC_WINDOW_HANN, 0, bare->length, window);
  for (size_t i = 0; i < bare->length; i++)
    bare->window[i] = (float)(window[i] * 2 / (double)bare->length);
}

struct bare *bare_create(size_t length)
{
  struct bare *bare = calloc(1, sizeof *bare);
  double *window = malloc(length * sizeof *window);
  if (bare != NULL) {
    bare->length = length;
    bare->window = malloc(length * sizeof *bare->window);
    bare->sum = calloc(length, sizeof *bare->sum);
    bare->in = fftwf_malloc(length * sizeof *bare->in);
    bare->out = fftwf_malloc(length * sizeof *bare->out);
    if (bare->in != NULL && bare->out != NULL)
      bare->plan = fftwf_plan_dft_1d((int)length, bare->in, bare->out, FFTW_FORWARD, FFTW_MEASURE);
  }
  if (window == NULL || bare == NULL || bare->window == NULL || bare->sum == NULL ||
      bare->plan == NULL) {
    free(window);
    bare_destroy(bare);
    return NULL;
  }
  fill_window(bare, window);
  free(window);
  return bare;
}

SC_KERNEL
static void weigh_real(const float *restrict x, const float *restrict window, size_t length,
                       float *restrict in)
{
  for (size_t i = 0; i < length; i++) {
    in[2 * i] = x[2 * i] * window[i];
    in[2 * i + 1] = x[2 * i + 1] * window[i];
  }
}

SC_KERNEL
static void weigh_codes(const int16_t *restrict x, const float *restrict window, size_t length,
                        float *restrict in)
{
  for (size_t i = 0; i < length; i++) {
    in[2 * i] = (float)x[2 * i] * window[i];
    in[2 * i + 1] = (float)x[2 * i + 1] * window[i];
  }
}

SC_KERNEL
static void sum_power(const float *restrict out, size_t length, float *restrict sum)
{
  for (size_t k = 0; k < length; k++)
    sum[k] += out[2 * k] * out[2 * k] + out[2 * k + 1] * out[2 * k + 1];
}

static void transform(struct bare *bare)
{
  fftwf_execute(bare->plan);
  sum_power((const float *)bare->out, bare->length, bare->sum);
}

void bare_run_real(struct bare *bare, const float *samples, size_t frames)
{
  for (size_t at = 0; at + bare->length <= frames; at += bare->length / 2) {
    weigh_real(samples + 2 * at, bare->window, bare->length, (float *)bare->in);
    transform(bare);
  }
}

void bare_run_codes(struct bare *bare, const int16_t *samples, size_t frames)
{
  for (size_t at = 0; at + bare->length <= frames; at += bare->length / 2) {
    weigh_codes(samples + 2 * at, bare->window, bare->length, (float *)bare->in);
    transform(bare);
  }
}

struct part {
  struct bare *bare;
  const int16_t *samples;
  size_t frames, times;
};

static void *run_part(void *context)
{
  const struct part *part = context;
  for (size_t i = 0; i < part->times; i++)
    bare_run_codes(part->bare, part->samples, part->frames);
  return NULL;
}

/* Seconds; INFINITY: no thread could be started. */
static double run_two(struct part *part, struct part *other)
{
  pthread_t thread;
  const double start = bench_wall_seconds();
  if (pthread_create(&thread, NULL, run_part, other) != 0)
    return INFINITY;
  run_part(part);
  pthread_join(thread, NULL);
  return bench_wall_seconds() - start;
}

double bare_gain(const int16_t *samples, size_t frames, size_t times, int rounds)
{
  struct part one = {bare_create(4096), samples, frames, times / 2}, two = one;
  two.bare = bare_create(4096);
  double alone = INFINITY, together = INFINITY;
  for (int round = 0; one.bare != NULL && two.bare != NULL && round < rounds; round++) {
    const double start = bench_wall_seconds();
    run_part(&one);
    run_part(&one);
    alone = fmin(alone, bench_wall_seconds() - start);
    together = fmin(together, run_two(&one, &two));
  }
  bare_destroy(one.bare);
  bare_destroy(two.bare);
  return isfinite(alone) ? alone / together : (double)NAN;
}

void bare_destroy(struct bare *bare)
{
  if (bare == NULL)
    return;
  fftwf_destroy_plan(bare->plan);
  fftwf_free(bare->in);
  fftwf_free(bare->out);
  free(bare->window);
  free(bare->sum);
  free(bare);
}
