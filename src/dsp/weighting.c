/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Weightings of audio as transfer functions, and as filters by fast convolution. */
#include "dsp/weighting.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "dsp/fft.h"

#define PI 3.1415926535897932384626433832795

static const double rate_least_hz = 32e3, rate_most_hz = 192e3;
/* Longest impulse response, and the part of it before time 0, where only the ringing of what the
 * rate cuts off stands. A has decayed by 1e-9 after 0.17 s. */
static const double length_s = 0.25, lead_share = 0.25;
/* Either end of the impulse response is faded out over this share of its lead. */
static const double fade_share = 0.75;

static double complex response_a(double f)
{
  static const double pole1 = 20.598997, pole2 = 107.65265, pole3 = 737.86223, pole4 = 12194.217;
  static const double normal_db = 1.9997; /* at 1 kHz */
  const double complex s = I * f;
  const double complex low = (s + pole1) * (s + pole1) * (s + pole2) * (s + pole3);
  const double complex high = (s + pole4) * (s + pole4);
  return pow(10.0, normal_db / 20.0) * pole4 * pole4 * s * s * s * s / (low * high);
}

static double complex response_468(double f)
{
  static const double gain = 1.246332637532143e-4, normal_db = 18.2;
  const double f2 = f * f;
  const double even =
      ((-4.737338981378384e-24 * f2 + 2.043828333606125e-15) * f2 - 1.363894795463638e-7) * f2 +
      1.0;
  const double odd =
      ((1.306612257412824e-19 * f2 - 2.118150887518656e-11) * f2 + 5.559488023498642e-4) * f;
  return pow(10.0, normal_db / 20.0) * gain * I * f / (even + I * odd);
}

static double complex response_low_pass(double tau_s, double f)
{
  return 1.0 / (1.0 + 2.0 * PI * I * f * tau_s);
}

double complex dsp_weighting_response(enum dsp_weighting weighting, double frequency_hz)
{
  switch (weighting) {
  case DSP_WEIGHTING_A:
    return response_a(frequency_hz);
  case DSP_WEIGHTING_468:
    return response_468(frequency_hz);
  case DSP_WEIGHTING_DEEMPHASIS_50:
    return response_low_pass(50e-6, frequency_hz);
  case DSP_WEIGHTING_DEEMPHASIS_75:
    return response_low_pass(75e-6, frequency_hz);
  default:
    return 1.0;
  }
}

double dsp_weighting_gain(enum dsp_weighting weighting, double frequency_hz)
{
  const double amplitude = cabs(dsp_weighting_response(weighting, frequency_hz));
  return amplitude * amplitude;
}

struct dsp_weighter {
  size_t half; /* length of the impulse response, and frames per transform */
  size_t lead;
  size_t filled;            /* frames of the block being gathered */
  struct dsp_fft64 *fft;    /* 2 * half points */
  double complex *filter;   /* its transform */
  double complex *gathered; /* the last block and the one being gathered; left + j right */
  double complex *ready;    /* filtered frames of the block before */
};

static size_t power_of_two(double least)
{
  size_t n = 1;
  while ((double)n < least)
    n *= 2;
  return n;
}

/* Backward: the forward transform between two conjugations. */
static void transform_back(struct dsp_fft64 *fft, size_t n)
{
  double *x = dsp_fft64_buffer(fft);
  for (size_t i = 0; i < n; i++)
    x[2 * i + 1] = -x[2 * i + 1];
  dsp_fft64_run(fft);
  for (size_t i = 0; i < n; i++) {
    x[2 * i] /= (double)n;
    x[2 * i + 1] /= -(double)n;
  }
}

/* From 0 at either end of the impulse response to 1. */
static double fade(const struct dsp_weighter *w, size_t i)
{
  const double width = fade_share * (double)w->lead;
  const double edge = (double)(i < w->half - i ? i : w->half - i);
  return edge >= width ? 1.0 : 0.5 - 0.5 * cos(PI * edge / width);
}

/* The response over the transform's grid, delayed by `lead`; back, cut and faded; forward. */
static void design(struct dsp_weighter *w, enum dsp_weighting weighting, double rate_hz)
{
  const size_t n = 2 * w->half;
  double *x = dsp_fft64_buffer(w->fft);
  for (size_t k = 0; k <= w->half; k++) {
    const double turns = fmod((double)k * (double)w->lead / (double)n, 1.0);
    const double complex h = dsp_weighting_response(weighting, rate_hz * (double)k / (double)n) *
                             cexp(-2.0 * PI * I * turns);
    const size_t mirror = (n - k) % n;
    x[2 * k] = x[2 * mirror] = creal(h);
    x[2 * k + 1] = cimag(h);
    x[2 * mirror + 1] = -cimag(h);
    if (mirror == k)
      x[2 * k + 1] = 0.0;
  }
  transform_back(w->fft, n);
  for (size_t i = 0; i < n; i++) {
    x[2 * i] *= i < w->half ? fade(w, i) : 0.0;
    x[2 * i + 1] = 0.0;
  }
  dsp_fft64_run(w->fft);
  for (size_t k = 0; k < n; k++)
    w->filter[k] = x[2 * k] + I * x[2 * k + 1];
}

enum sc_error dsp_weighter_create(enum dsp_weighting weighting, double rate_hz,
                                  struct dsp_weighter **weighter)
{
  *weighter = NULL;
  if (!(rate_hz >= rate_least_hz && rate_hz <= rate_most_hz) ||
      (unsigned)weighting >= DSP_WEIGHTINGS)
    return SC_BAD_ARGUMENT;
  struct dsp_weighter *w = calloc(1, sizeof *w);
  if (w == NULL)
    return SC_NO_MEMORY;
  w->half = power_of_two(length_s * rate_hz);
  w->lead = (size_t)(lead_share * (double)w->half);
  w->filter = calloc(2 * w->half, sizeof *w->filter);
  w->gathered = calloc(2 * w->half, sizeof *w->gathered);
  w->ready = calloc(w->half, sizeof *w->ready);
  const enum sc_error error = dsp_fft64_create(2 * w->half, DSP_PLAN_ESTIMATE, &w->fft);
  if (error != SC_OK || w->filter == NULL || w->gathered == NULL || w->ready == NULL) {
    dsp_weighter_destroy(w);
    return SC_NO_MEMORY;
  }
  design(w, weighting, rate_hz);
  *weighter = w;
  return SC_OK;
}

size_t dsp_weighter_delay(const struct dsp_weighter *weighter)
{
  return weighter->half + weighter->lead;
}

/* Overlap and save: of the circular convolution the second half is whole. */
static void filter_block(struct dsp_weighter *w)
{
  const size_t n = 2 * w->half;
  double complex *x = (double complex *)(void *)dsp_fft64_buffer(w->fft);
  memcpy(x, w->gathered, n * sizeof *x);
  dsp_fft64_run(w->fft);
  for (size_t k = 0; k < n; k++)
    x[k] *= w->filter[k];
  transform_back(w->fft, n);
  memcpy(w->ready, x + w->half, w->half * sizeof *x);
  memcpy(w->gathered, w->gathered + w->half, w->half * sizeof *x);
  w->filled = 0;
}

void dsp_weighter_run(struct dsp_weighter *w, const double *in, double *out, size_t frames)
{
  for (size_t i = 0; i < frames; i++) {
    w->gathered[w->half + w->filled] = in[2 * i] + I * in[2 * i + 1];
    out[2 * i] = creal(w->ready[w->filled]);
    out[2 * i + 1] = cimag(w->ready[w->filled]);
    if (++w->filled == w->half)
      filter_block(w);
  }
}

void dsp_weighter_reset(struct dsp_weighter *w)
{
  memset(w->gathered, 0, 2 * w->half * sizeof *w->gathered);
  memset(w->ready, 0, w->half * sizeof *w->ready);
  w->filled = 0;
}

void dsp_weighter_destroy(struct dsp_weighter *w)
{
  if (w == NULL)
    return;
  dsp_fft64_destroy(w->fft);
  free(w->filter);
  free(w->gathered);
  free(w->ready);
  free(w);
}
