/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Polyphase rate change by interpolation / decimation.
 *
 * Output m is the sum over q of taps[p + q L] * x[i - q], with m M = i L + p. Outputs whose m
 * differ by the period share their phase p and step through the input evenly, so they are
 * computed eight or four at a time. Taps are stored in the order of the input, once for each
 * component.
 *
 * A vector that straddles two lines of the cache takes two loads, and loads are what the time
 * goes into. So a frame stands at the same place of a vector whatever the blocks are cut to, the
 * taps are stored once for each place that an output's oldest frame may have, with zeros around
 * them, and the period is extended until places repeat.
 *
 * Where nothing is interpolated and blocks are long, a sweep does it all. */
#include "dsp/resample.h"

#include "dsp/dot.h"
#include "dsp/simd.h"
#include "dsp/sweep.h"

#include <assert.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* With fewer outputs of one place in a block the last ones, computed in part in vain, count. */
enum { OUTPUTS_OF_A_PLACE = 32 };

/* Floats at a time: each place goes over them once more, so they are to stay in the nearest cache.
 */
enum { CHUNK_FLOATS = 4096 };

enum { FEW = 4, MANY = 8 }; /* outputs at a time */

struct dsp_resampler {
  unsigned components, interpolation, decimation;
  size_t period; /* outputs until phase and place repeat */
  size_t step;   /* input frames between two outputs of equal phase and place */
  size_t tap_count;
  size_t phase_taps;    /* of one phase, at most */
  size_t unit;          /* frames of a vector */
  size_t places;        /* where the oldest frame may stand in it: unit, a power of two, or 1 */
  size_t window_frames; /* taps of one phase and place, padded */
  size_t frames_max;
  size_t chunk;      /* frames at a time */
  size_t old;        /* frames, whole vectors, in front of the new ones */
  size_t lead;       /* place of the next frame fed */
  uint64_t position; /* of the next output in the interpolated rate, from the next frame fed */
  struct dsp_sweep *sweep; /* instead of all below; or NULL */
  struct dsp_dot dot;
  float *taps;   /* interpolation * places * window_frames * components */
  float *memory; /* holds taps and buffer; with a sweep, frames that are mixed before it */
  float *buffer; /* old frames, new ones, and slack that dot reads in vain */
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

static size_t round_up(size_t n, size_t unit)
{
  return (n + unit - 1) / unit * unit;
}

static void spread_taps(struct dsp_resampler *r, const double *taps)
{
  for (size_t k = 0; k < r->tap_count; k++)
    for (size_t place = 0; place < r->places; place++) {
      const size_t row = k % r->interpolation * r->places + place;
      const size_t frame = place + r->phase_taps - 1 - k / r->interpolation;
      for (size_t c = 0; c < r->components; c++)
        r->taps[(row * r->window_frames + frame) * r->components + c] =
            (float)(taps[k] * r->interpolation);
    }
}

static void size_up(struct dsp_resampler *r)
{
  const unsigned common = greatest_divisor(r->interpolation, r->decimation);
  r->unit = DSP_DOT_LANES / r->components;
  r->phase_taps = (r->tap_count + r->interpolation - 1) / r->interpolation;
  r->period = r->interpolation / common;
  r->step = r->decimation / common;
  const size_t repeats = r->unit / greatest_divisor((unsigned)r->unit, (unsigned)r->step);
  const size_t outputs = r->frames_max * r->interpolation / r->decimation;
  r->places = outputs >= OUTPUTS_OF_A_PLACE * repeats * r->period ? r->unit : 1;
  if (r->places > 1) {
    r->period *= repeats;
    r->step *= repeats;
  }
  r->chunk = CHUNK_FLOATS / r->components;
  if (r->places > 1 && r->chunk < OUTPUTS_OF_A_PLACE * r->step)
    r->chunk = OUTPUTS_OF_A_PLACE * r->step;
  if (r->chunk > r->frames_max)
    r->chunk = r->frames_max;
  r->window_frames = round_up(r->phase_taps + r->places - 1, r->unit);
  r->old = round_up(r->phase_taps - 1, r->unit);
}

/* Taps and buffer in one piece, which begins at a line of the cache. */
static enum sc_error create_buffers(struct dsp_resampler *r)
{
  enum { LINE = 64 };
  const size_t slack = (MANY - 1) * r->step + r->window_frames + 1;
  const size_t frames = r->old + r->unit + r->chunk + slack;
  const size_t taps = r->interpolation * r->places * r->window_frames * r->components;
  r->memory = calloc(taps + frames * r->components + LINE / sizeof *r->memory, sizeof *r->memory);
  if (r->memory == NULL)
    return SC_NO_MEMORY;
  r->taps = r->memory + (LINE - (uintptr_t)r->memory % LINE) % LINE / sizeof *r->memory;
  r->buffer = r->taps + taps;
  return SC_OK;
}

static enum sc_error create_sweep(struct dsp_resampler *r, const double *taps)
{
  const enum sc_error error =
      dsp_sweep_create(r->components, r->decimation, taps, r->tap_count, &r->sweep);
  if (error != SC_OK)
    return error;
  r->chunk = dsp_sweep_chunk(r->sweep);
  r->memory = malloc(r->chunk * r->components * sizeof *r->memory);
  return r->memory != NULL ? SC_OK : SC_NO_MEMORY;
}

static enum sc_error create_filter(struct dsp_resampler *r, const double *taps)
{
  if (r->interpolation == 1 &&
      dsp_sweep_pays(r->components, r->decimation, r->tap_count, r->frames_max))
    return create_sweep(r, taps);
  r->dot = dsp_dot_kernels();
  size_up(r);
  const enum sc_error error = create_buffers(r);
  if (error == SC_OK)
    spread_taps(r, taps);
  return error;
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
  const enum sc_error error = create_filter(r, taps);
  if (error != SC_OK) {
    dsp_resampler_destroy(r);
    return error;
  }
  *resampler = r;
  return SC_OK;
}

static inline void put(const struct dsp_resampler *r, const float *sums, size_t outputs, float *out)
{
  const size_t step = r->period * r->components;
  if (r->components == 1)
    for (size_t o = 0; o < outputs; o++, out += step)
      *out = sums[2 * o] + sums[2 * o + 1];
  else
    for (size_t o = 0; o < outputs; o++, out += step)
      memcpy(out, sums + 2 * o, 2 * sizeof *out);
}

/* All outputs of this block that share the phase and place of `position`. */
DSP_HOT static size_t run_phase(const struct dsp_resampler *r, uint64_t position, size_t frames,
                                float *out)
{
  const size_t frame = (size_t)(position / r->interpolation);
  if (frame >= frames)
    return 0;
  const size_t count = (frames - frame + r->step - 1) / r->step;
  const size_t oldest = r->old + r->lead + frame - (r->phase_taps - 1);
  const size_t place = oldest & (r->places - 1);
  const size_t row = (size_t)(position % r->interpolation) * r->places + place;
  const size_t floats = round_up(place + r->phase_taps, r->unit) * r->components;
  const size_t stride = r->step * r->components;
  const float *taps = r->taps + row * r->window_frames * r->components;
  const float *x = r->buffer + (oldest - place) * r->components;
  float sums[2 * MANY];
  for (size_t left = count; left > 0;) {
    const bool many = left > FEW;
    const size_t outputs = many ? MANY : FEW, good = left < outputs ? left : outputs;
    (many ? r->dot.eight : r->dot.four)(x, stride, taps, floats, sums);
    if (good == MANY)
      put(r, sums, MANY, out);
    else
      put(r, sums, good, out);
    x += outputs * stride;
    out += outputs * r->period * r->components;
    left -= good;
  }
  return count;
}

/* For the next chunk. */
static float *place_of(const struct dsp_resampler *r)
{
  return r->buffer + (r->old + r->lead) * r->components;
}

/* Of frames that stand at their place. */
static size_t run_chunk(struct dsp_resampler *r, size_t frames, float *out)
{
  const size_t frame = r->components * sizeof *out;
  size_t count = 0;
  for (size_t c = 0; c < r->period; c++)
    count += run_phase(r, r->position + c * r->decimation, frames, out + c * r->components);
  const float *const end = place_of(r) + frames * r->components;
  const size_t kept = r->phase_taps - 1;
  r->lead = (r->lead + frames) % r->places;
  memmove(r->buffer + (r->old + r->lead - kept) * r->components, end - kept * r->components,
          kept * frame);
  r->position += (uint64_t)count * r->decimation - (uint64_t)frames * r->interpolation;
  return count;
}

size_t dsp_resampler_run(struct dsp_resampler *resampler, const float *in, size_t frames,
                         float *out)
{
  struct dsp_resampler *r = resampler;
  assert(frames <= r->frames_max);
  if (r->sweep != NULL)
    return dsp_sweep_run(r->sweep, in, frames, out);
  size_t count = 0;
  for (size_t done = 0; done < frames; done += r->chunk) {
    const size_t left = frames - done, run = left < r->chunk ? left : r->chunk;
    memcpy(place_of(r), in + done * r->components, run * r->components * sizeof *in);
    count += run_chunk(r, run, out + count * r->components);
  }
  return count;
}

static void mix(struct dsp_mixer *mixer, const float *in, bool real, size_t from, size_t frames,
                float *out)
{
  if (real)
    dsp_mixer_run_real(mixer, in + from, out, frames);
  else
    dsp_mixer_run(mixer, in + 2 * from, out, frames);
}

static size_t sweep_mixed(const struct dsp_resampler *r, struct dsp_mixer *mixer, const float *in,
                          bool real, size_t frames, float *out)
{
  const size_t chunk = r->chunk;
  size_t count = 0;
  for (size_t done = 0; done < frames; done += chunk) {
    const size_t left = frames - done, run = left < chunk ? left : chunk;
    mix(mixer, in, real, done, run, r->memory);
    count += dsp_sweep_run(r->sweep, r->memory, run, out + 2 * count);
  }
  return count;
}

size_t dsp_resampler_run_mixed(struct dsp_resampler *resampler, struct dsp_mixer *mixer,
                               const float *in, bool real, size_t frames, float *out)
{
  struct dsp_resampler *r = resampler;
  assert(frames <= r->frames_max && r->components == 2);
  if (r->sweep != NULL)
    return sweep_mixed(r, mixer, in, real, frames, out);
  size_t count = 0;
  for (size_t done = 0; done < frames; done += r->chunk) {
    const size_t left = frames - done, run = left < r->chunk ? left : r->chunk;
    mix(mixer, in, real, done, run, place_of(r));
    count += run_chunk(r, run, out + 2 * count);
  }
  return count;
}

size_t dsp_resampler_transient(const struct dsp_resampler *resampler)
{
  return (resampler->tap_count - 1 + resampler->decimation - 1) / resampler->decimation;
}

void dsp_resampler_reset(struct dsp_resampler *resampler)
{
  struct dsp_resampler *r = resampler;
  if (r->sweep != NULL) {
    dsp_sweep_reset(r->sweep);
    return;
  }
  memset(r->buffer, 0, r->old * r->components * sizeof *r->buffer);
  r->lead = 0;
  r->position = 0;
}

void dsp_resampler_destroy(struct dsp_resampler *resampler)
{
  if (resampler == NULL)
    return;
  dsp_sweep_destroy(resampler->sweep);
  free(resampler->memory);
  free(resampler);
}
