/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Oscillator and mixer: a table of one block's rotation, turned by the exact phase of each block
 * unless a block has whole cycles.
 *
 * The phase advances by a block's 512 steps at once; that product is exact in binary, so what
 * rounding remains is one unit in the last place per block, 1e-12 cycles after hours. Sine and
 * cosine of it take time as well: they are turned on for a few blocks, which costs 1e-15. Rounding
 * of the table to floats leaves lines below -150 dBc. */
#include "dsp/resample.h"

#include "dsp/simd.h"

#include <math.h>

#define TWO_PI 6.283185307179586476925286766559

/* Cycles that are none, after a period: what rounding makes of a step. */
static const double none_cycles = 1e-13;

enum { TURNS = 15 }; /* blocks until the phase is looked up again */

static void look_up(double cycles, double vector[2])
{
  vector[0] = cos(TWO_PI * cycles);
  vector[1] = sin(TWO_PI * cycles);
}

void dsp_mixer_reset(struct dsp_mixer *mixer)
{
  mixer->phase_cycles = 0;
  mixer->into = mixer->turns = 0;
  mixer->now[0] = 1;
  mixer->now[1] = 0;
}

/* Frames after which whole cycles are over, 0 if those are too many. */
static size_t period_of(double step_cycles)
{
  for (size_t period = 1; period <= DSP_MIXER_BLOCK; period++) {
    const double cycles = (double)period * step_cycles;
    if (fabs(cycles - nearbyint(cycles)) < none_cycles)
      return period;
  }
  return 0;
}

double dsp_mixer_near(double frequency_hz, double within_hz, double rate_hz)
{
  const double step = frequency_hz / rate_hz;
  double nearest = INFINITY;
  for (size_t period = 1; period <= DSP_MIXER_BLOCK; period++) {
    const double at = nearbyint(step * (double)period) / (double)period;
    if (fabs(at - step) < fabs(nearest - step))
      nearest = at;
  }
  return fabs(nearest - step) * rate_hz <= within_hz ? nearest * rate_hz : frequency_hz;
}

static void fill_tables(struct dsp_mixer *mixer)
{
  for (size_t k = 0; k < mixer->block; k++) {
    const double cycles = (double)k * mixer->step_cycles;
    const double angle = TWO_PI * (cycles - nearbyint(cycles));
    const float c = (float)cos(angle), s = (float)sin(angle);
    if (mixer->repeats) {
      mixer->own[2 * k] = mixer->own[2 * k + 1] = mixer->both[2 * k] = c;
      mixer->other[2 * k] = -s;
      mixer->other[2 * k + 1] = mixer->both[2 * k + 1] = s;
    } else {
      mixer->cosine[k] = c;
      mixer->sine[k] = s;
    }
  }
}

void dsp_mixer_set(struct dsp_mixer *mixer, double frequency_hz, double rate_hz)
{
  const double step = frequency_hz / rate_hz;
  mixer->step_cycles = step - nearbyint(step);
  const size_t period = period_of(mixer->step_cycles);
  mixer->repeats = period > 0;
  mixer->block = mixer->repeats ? DSP_MIXER_BLOCK / period * period : DSP_MIXER_BLOCK;
  look_up(remainder(DSP_MIXER_BLOCK * mixer->step_cycles, 1), mixer->turn);
  dsp_mixer_reset(mixer);
  fill_tables(mixer);
}

DSP_CLONES
static void turn(const float *in, float *out, const float *restrict cosine,
                 const float *restrict sine, float re, float im, size_t frames)
{
  DSP_ELEMENTWISE
  for (size_t k = 0; k < frames; k++) {
    const float c = re * cosine[k] - im * sine[k];
    const float s = re * sine[k] + im * cosine[k];
    const float x = in[2 * k];
    const float y = in[2 * k + 1];
    out[2 * k] = x * c - y * s;
    out[2 * k + 1] = x * s + y * c;
  }
}

DSP_CLONES
static void turn_real(const float *restrict in, float *restrict out, const float *restrict cosine,
                      const float *restrict sine, float re, float im, size_t frames)
{
  for (size_t k = 0; k < frames; k++) {
    out[2 * k] = in[k] * (re * cosine[k] - im * sine[k]);
    out[2 * k + 1] = in[k] * (re * sine[k] + im * cosine[k]);
  }
}

/* Vectors of so many floats, of which the compilers make what the processor has. */
enum { WIDE = 16 };
typedef float wide __attribute__((vector_size(4 * WIDE), aligned(4), may_alias));

DSP_CLONES
static void turn_same(const float *in, float *out, const float *restrict own,
                      const float *restrict other, size_t frames)
{
  size_t k = 0;
  for (; k + WIDE <= 2 * frames; k += WIDE) {
    const wide x = *(const wide *)(in + k);
    const wide swapped =
        __builtin_shufflevector(x, x, 1, 0, 3, 2, 5, 4, 7, 6, 9, 8, 11, 10, 13, 12, 15, 14);
    *(wide *)(out + k) = x * *(const wide *)(own + k) + swapped * *(const wide *)(other + k);
  }
  for (; k < 2 * frames; k += 2) {
    const float x = in[k], y = in[k + 1];
    out[k] = x * own[k] + y * other[k];
    out[k + 1] = y * own[k + 1] + x * other[k + 1];
  }
}

DSP_CLONES
static void turn_real_same(const float *restrict in, float *restrict out,
                           const float *restrict both, size_t frames)
{
  size_t k = 0;
  for (; k + WIDE <= frames; k += WIDE) {
    const wide x = *(const wide *)(in + k);
    const wide early =
        __builtin_shufflevector(x, x, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 5, 5, 6, 6, 7, 7);
    const wide late =
        __builtin_shufflevector(x, x, 8, 8, 9, 9, 10, 10, 11, 11, 12, 12, 13, 13, 14, 14, 15, 15);
    *(wide *)(out + 2 * k) = early * *(const wide *)(both + 2 * k);
    *(wide *)(out + 2 * k + WIDE) = late * *(const wide *)(both + 2 * k + WIDE);
  }
  for (; k < frames; k++) {
    out[2 * k] = in[k] * both[2 * k];
    out[2 * k + 1] = in[k] * both[2 * k + 1];
  }
}

static void next_block(struct dsp_mixer *m)
{
  m->into = 0;
  if (m->repeats)
    return;
  const double phase = m->phase_cycles + DSP_MIXER_BLOCK * m->step_cycles;
  m->phase_cycles = phase - floor(phase);
  if (m->turns++ == TURNS) {
    m->turns = 0;
    look_up(m->phase_cycles, m->now);
    return;
  }
  const double re = m->now[0] * m->turn[0] - m->now[1] * m->turn[1];
  m->now[1] = m->now[0] * m->turn[1] + m->now[1] * m->turn[0];
  m->now[0] = re;
}

/* A piece that lies in one block. */
static void run_piece(const struct dsp_mixer *m, bool real, const float *in, float *out,
                      size_t frames)
{
  const size_t at = m->into;
  const float re = (float)m->now[0], im = (float)m->now[1];
  if (m->repeats && real)
    turn_real_same(in, out, m->both + 2 * at, frames);
  else if (m->repeats)
    turn_same(in, out, m->own + 2 * at, m->other + 2 * at, frames);
  else
    (real ? turn_real : turn)(in, out, m->cosine + at, m->sine + at, re, im, frames);
}

static void run(struct dsp_mixer *m, bool real, const float *in, float *out, size_t frames)
{
  while (frames > 0) {
    const size_t left = m->block - m->into, n = frames < left ? frames : left;
    run_piece(m, real, in, out, n);
    m->into += n;
    if (m->into == m->block)
      next_block(m);
    in += (real ? 1 : 2) * n;
    out += 2 * n;
    frames -= n;
  }
}

void dsp_mixer_run(struct dsp_mixer *mixer, const float *in, float *out, size_t frames)
{
  run(mixer, false, in, out, frames);
}

void dsp_mixer_run_real(struct dsp_mixer *mixer, const float *in, float *out, size_t frames)
{
  run(mixer, true, in, out, frames);
}
