/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Low-pass and pre-emphasis in one filter. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "dsp/resample.h"
#include "signal/bank.h"
#include "signal/clones.h"
#include "signal/lanes.h"
#include "signal/shape.h"

static const double attenuation_db = 120;
static const double two_pi = 6.283185307179586476925286766559;

/* Terms of the maximally flat differentiator on each side. */
enum { TERMS = 24, CHUNK = 64 };

/* Central differences of order 2 TERMS (Fornberg, Mathematics of Computation 51, 1988):
 * d_k = (-1)^(k+1) m!^2 / (k (m-k)! (m+k)!). */
static void differentiator(double *half)
{
  double ratio = 1; /* m!^2 / ((m-k)! (m+k)!) */
  for (int k = 1; k <= TERMS; k++) {
    ratio *= (double)(TERMS - k + 1) / (double)(TERMS + k);
    half[k] = (k % 2 ? ratio : -ratio) / k;
  }
}

/* taps[i] of `low`, shifted into the middle of the longer filter, plus tau times its slope. */
static void combine(const double *low, size_t count, double tau_samples, struct signal_shape *shape)
{
  double half[TERMS + 1];
  differentiator(half);
  for (size_t i = 0; i < count; i++) {
    double *at = shape->taps + TERMS + i;
    at[0] += low[i];
    for (ptrdiff_t k = 1; tau_samples > 0 && k <= TERMS; k++) {
      at[-k] += tau_samples * half[k] * low[i];
      at[k] -= tau_samples * half[k] * low[i];
    }
  }
}

enum sc_error signal_shape_create(double limit_hz, double stop_hz, double tau_s, double rate_hz,
                                  struct signal_shape **shape)
{
  double *low = NULL;
  size_t count = 0;
  *shape = NULL;
  struct signal_shape *s = calloc(1, sizeof *s);
  if (s == NULL)
    return SC_NO_MEMORY;
  enum sc_error error =
      dsp_lowpass_design(limit_hz, stop_hz, attenuation_db, rate_hz, &low, &count);
  if (error == SC_OK) {
    s->rate_hz = rate_hz;
    s->count = count + 2 * TERMS;
    s->taps = calloc(s->count, sizeof *s->taps);
    if (s->taps == NULL)
      error = SC_NO_MEMORY;
    else
      combine(low, count, tau_s * rate_hz, s);
  }
  free(low);
  if (error == SC_OK)
    *shape = s;
  else
    signal_shape_destroy(s);
  return error;
}

double complex signal_shape_response(const struct signal_shape *shape, double frequency_hz)
{
  const double step = two_pi * frequency_hz / shape->rate_hz;
  const double middle = (double)(shape->count - 1) / 2;
  double re = 0, im = 0;
  for (size_t i = 0; i < shape->count; i++) {
    const double angle = step * ((double)i - middle);
    re += shape->taps[i] * cos(angle);
    im -= shape->taps[i] * sin(angle);
  }
  return signal_complex(re, im);
}

size_t signal_shape_ahead(const struct signal_shape *shape)
{
  return (shape->count - 1) / 2;
}

void signal_shape_destroy(struct signal_shape *shape)
{
  if (shape == NULL)
    return;
  free(shape->taps);
  free(shape);
}

struct signal_shaped {
  size_t old;    /* samples of the past in the buffer */
  size_t padded; /* multiple of SIGNAL_LANES */
  double *taps;  /* reversed, zeros behind */
  double *buffer;
};

enum sc_error signal_shaped_create(const struct signal_shape *shape, struct signal_shaped **shaped)
{
  *shaped = NULL;
  struct signal_shaped *s = calloc(1, sizeof *s);
  if (s == NULL)
    return SC_NO_MEMORY;
  s->old = shape->count - 1;
  s->padded = (shape->count + SIGNAL_LANES - 1) / SIGNAL_LANES * SIGNAL_LANES;
  s->taps = calloc(s->padded, sizeof *s->taps);
  s->buffer = calloc(s->padded + CHUNK, sizeof *s->buffer);
  if (s->taps == NULL || s->buffer == NULL) {
    signal_shaped_destroy(s);
    return SC_NO_MEMORY;
  }
  for (size_t i = 0; i < shape->count; i++)
    s->taps[i] = shape->taps[shape->count - 1 - i];
  *shaped = s;
  return SC_OK;
}

SIGNAL_CLONES
static double dot(const double *restrict taps, const double *restrict x, size_t count)
{
  double sum[SIGNAL_LANES], total = 0;
  signal_lanes_dot(taps, x, count, sum);
  for (size_t i = 0; i < SIGNAL_LANES; i++)
    total += sum[i];
  return total;
}

void signal_shaped_run(struct signal_shaped *shaped, const double *in, double *out, size_t count)
{
  while (count > 0) {
    const size_t n = count < CHUNK ? count : CHUNK;
    memcpy(shaped->buffer + shaped->old, in, n * sizeof *in);
    for (size_t i = 0; i < n; i++)
      out[i] = dot(shaped->taps, shaped->buffer + i, shaped->padded);
    memmove(shaped->buffer, shaped->buffer + n, shaped->old * sizeof *shaped->buffer);
    in += n;
    out += n;
    count -= n;
  }
}

void signal_shaped_destroy(struct signal_shaped *shaped)
{
  if (shaped == NULL)
    return;
  free(shaped->taps);
  free(shaped->buffer);
  free(shaped);
}
