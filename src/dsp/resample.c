/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Polyphase rate change by interpolation / decimation.
 *
 * Output m is the sum over q of taps[p + q L] * x[i - q], with m M = i L + p. Outputs whose m
 * differ by the period share their phase p and step through the input evenly, so they are
 * computed four at a time. Taps are stored in the order of the input, once for each component,
 * and padded with zeros at the old end. */
#include "dsp/resample.h"

#include "dsp/dot.h"

#include <assert.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

struct dsp_resampler {
  unsigned components, interpolation, decimation;
  size_t period; /* outputs until the phase repeats */
  size_t step;   /* input frames between two outputs of equal phase */
  size_t tap_count;
  size_t window_frames; /* taps of one phase, padded */
  size_t frames_max;
  uint64_t position; /* of the next output in the interpolated rate, from the next frame fed */
  dsp_dot4 *dot;
  float *taps;   /* interpolation * window_frames * components */
  float *buffer; /* window_frames - 1 old frames, new ones, and slack that dot reads in vain */
};

static unsigned greatest_divisor(unsigned a, unsigned b)
{
  while (b != 0) {
    const unsigned rest = a % b;
    a = b;
    b = rest;
  }
  return a;
}

static void spread_taps(struct dsp_resampler *r, const double *taps)
{
  const size_t window = r->window_frames;
  for (size_t k = 0; k < r->tap_count; k++) {
    const size_t phase = k % r->interpolation;
    const size_t frame = window - 1 - k / r->interpolation;
    for (size_t c = 0; c < r->components; c++)
      r->taps[(phase * window + frame) * r->components + c] = (float)(taps[k] * r->interpolation);
  }
}

static void size_up(struct dsp_resampler *r)
{
  const size_t unit = DSP_DOT_LANES / r->components;
  const size_t per_phase = (r->tap_count + r->interpolation - 1) / r->interpolation;
  const unsigned common = greatest_divisor(r->interpolation, r->decimation);
  r->window_frames = (per_phase + unit - 1) / unit * unit;
  r->period = r->interpolation / common;
  r->step = r->decimation / common;
}

enum sc_error dsp_resampler_create(unsigned components, unsigned interpolation, unsigned decimation,
                                   const double *taps, size_t tap_count, size_t frames_max,
                                   struct dsp_resampler **resampler)
{
  if (components < 1 || components > 2 || interpolation == 0 || decimation == 0 || tap_count == 0 ||
      frames_max == 0)
    return SC_BAD_ARGUMENT;
  struct dsp_resampler *r = calloc(1, sizeof *r);
  if (r == NULL)
    return SC_NO_MEMORY;
  r->components = components;
  r->interpolation = interpolation;
  r->decimation = decimation;
  r->tap_count = tap_count;
  r->frames_max = frames_max;
  r->dot = dsp_dot4_kernel();
  size_up(r);
  const size_t slack = (DSP_DOT_OUTPUTS - 1) * r->step + 1;
  r->taps = calloc(interpolation * r->window_frames * components, sizeof *r->taps);
  r->buffer = calloc((r->window_frames + frames_max + slack) * components, sizeof *r->buffer);
  if (r->taps == NULL || r->buffer == NULL) {
    dsp_resampler_destroy(r);
    return SC_NO_MEMORY;
  }
  spread_taps(r, taps);
  *resampler = r;
  return SC_OK;
}

static void put(const struct dsp_resampler *r, const float *sums, size_t outputs, float *out)
{
  if (r->components == 1) {
    for (size_t o = 0; o < outputs; o++)
      out[o * r->period] = sums[2 * o] + sums[2 * o + 1];
    return;
  }
  for (size_t o = 0; o < outputs; o++) {
    out[2 * o * r->period] = sums[2 * o];
    out[2 * o * r->period + 1] = sums[2 * o + 1];
  }
}

/* All outputs of this block that share the phase of `position`. */
static size_t run_phase(const struct dsp_resampler *r, uint64_t position, size_t frames, float *out)
{
  const size_t frame = (size_t)(position / r->interpolation);
  if (frame >= frames)
    return 0;
  const size_t count = (frames - frame + r->step - 1) / r->step;
  const size_t floats = r->window_frames * r->components;
  const size_t stride = r->step * r->components;
  const float *taps = r->taps + (size_t)(position % r->interpolation) * floats;
  const float *x = r->buffer + frame * r->components;
  float sums[2 * DSP_DOT_OUTPUTS];
  for (size_t m = 0; m < count; m += DSP_DOT_OUTPUTS) {
    const size_t left = count - m;
    r->dot(x, stride, taps, floats, sums);
    put(r, sums, left < DSP_DOT_OUTPUTS ? left : DSP_DOT_OUTPUTS, out);
    x += DSP_DOT_OUTPUTS * stride;
    out += DSP_DOT_OUTPUTS * r->period * r->components;
  }
  return count;
}

size_t dsp_resampler_run(struct dsp_resampler *resampler, const float *in, size_t frames,
                         float *out)
{
  struct dsp_resampler *r = resampler;
  assert(frames <= r->frames_max);
  const size_t old = (r->window_frames - 1) * r->components;
  memcpy(r->buffer + old, in, frames * r->components * sizeof *in);
  size_t count = 0;
  for (size_t c = 0; c < r->period; c++)
    count += run_phase(r, r->position + c * r->decimation, frames, out + c * r->components);
  memmove(r->buffer, r->buffer + frames * r->components, old * sizeof *in);
  r->position += (uint64_t)count * r->decimation - (uint64_t)frames * r->interpolation;
  return count;
}

size_t dsp_resampler_transient(const struct dsp_resampler *resampler)
{
  return (resampler->tap_count - 1 + resampler->decimation - 1) / resampler->decimation;
}

void dsp_resampler_reset(struct dsp_resampler *resampler)
{
  struct dsp_resampler *r = resampler;
  memset(r->buffer, 0, (r->window_frames - 1) * r->components * sizeof *r->buffer);
  r->position = 0;
}

void dsp_resampler_destroy(struct dsp_resampler *resampler)
{
  if (resampler == NULL)
    return;
  free(resampler->taps);
  free(resampler->buffer);
  free(resampler);
}
