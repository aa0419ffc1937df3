/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Oscillator and mixer: a table of one block's rotation, turned by the exact phase of each block.
 *
 * The phase advances by a block's 512 steps at once; that product is exact in binary, so what
 * rounding remains is one unit in the last place per block, 1e-12 cycles after hours. Sine and
 * cosine of it take time as well: they are turned on for a few blocks, which costs 1e-15. Rounding
 * of the table to floats leaves lines below -150 dBc. */
#include "dsp/resample.h"

#include "dsp/simd.h"

#include <math.h>

#define TWO_PI 6.283185307179586476925286766559

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

void dsp_mixer_set(struct dsp_mixer *mixer, double frequency_hz, double rate_hz)
{
  const double step = frequency_hz / rate_hz;
  mixer->step_cycles = step - nearbyint(step);
  look_up(remainder(DSP_MIXER_BLOCK * mixer->step_cycles, 1), mixer->turn);
  dsp_mixer_reset(mixer);
  for (size_t k = 0; k < DSP_MIXER_BLOCK; k++) {
    const double cycles = (double)k * mixer->step_cycles;
    const double angle = TWO_PI * (cycles - nearbyint(cycles));
    mixer->cosine[k] = (float)cos(angle);
    mixer->sine[k] = (float)sin(angle);
  }
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

static void next_block(struct dsp_mixer *m)
{
  const double phase = m->phase_cycles + DSP_MIXER_BLOCK * m->step_cycles;
  m->phase_cycles = phase - floor(phase);
  m->into = 0;
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
typedef void turner(const float *in, float *out, const float *cosine, const float *sine, float re,
                    float im, size_t frames);

static void run(struct dsp_mixer *m, turner *piece, const float *in, size_t components, float *out,
                size_t frames)
{
  while (frames > 0) {
    const size_t left = DSP_MIXER_BLOCK - m->into, n = frames < left ? frames : left;
    piece(in, out, m->cosine + m->into, m->sine + m->into, (float)m->now[0], (float)m->now[1], n);
    m->into += n;
    if (m->into == DSP_MIXER_BLOCK)
      next_block(m);
    in += components * n;
    out += 2 * n;
    frames -= n;
  }
}

void dsp_mixer_run(struct dsp_mixer *mixer, const float *in, float *out, size_t frames)
{
  run(mixer, turn, in, 2, out, frames);
}

void dsp_mixer_run_real(struct dsp_mixer *mixer, const float *in, float *out, size_t frames)
{
  run(mixer, turn_real, in, 1, out, frames);
}
