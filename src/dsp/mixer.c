/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Oscillator and mixer: a table of one block's rotation, turned by the exact phase of each block.
 *
 * The phase advances by a block's 512 steps at once; that product is exact in binary, so what
 * rounding remains is one unit in the last place per block, 1e-12 cycles after hours. Rounding of
 * the table to floats leaves lines below -150 dBc. */
#include "dsp/resample.h"

#include "dsp/simd.h"

#include <math.h>

#define TWO_PI 6.283185307179586476925286766559

void dsp_mixer_set(struct dsp_mixer *mixer, double frequency_hz, double rate_hz)
{
  const double step = frequency_hz / rate_hz;
  mixer->phase_cycles = 0.0;
  mixer->step_cycles = step - nearbyint(step);
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

static void advance(struct dsp_mixer *mixer, size_t frames)
{
  const double phase = mixer->phase_cycles + (double)frames * mixer->step_cycles;
  mixer->phase_cycles = phase - floor(phase);
}

void dsp_mixer_run(struct dsp_mixer *mixer, const float *in, float *out, size_t frames)
{
  while (frames > 0) {
    const size_t n = frames < DSP_MIXER_BLOCK ? frames : DSP_MIXER_BLOCK;
    const double angle = TWO_PI * mixer->phase_cycles;
    turn(in, out, mixer->cosine, mixer->sine, (float)cos(angle), (float)sin(angle), n);
    advance(mixer, n);
    in += 2 * n;
    out += 2 * n;
    frames -= n;
  }
}

void dsp_mixer_run_real(struct dsp_mixer *mixer, const float *in, float *out, size_t frames)
{
  while (frames > 0) {
    const size_t n = frames < DSP_MIXER_BLOCK ? frames : DSP_MIXER_BLOCK;
    const double angle = TWO_PI * mixer->phase_cycles;
    turn_real(in, out, mixer->cosine, mixer->sine, (float)cos(angle), (float)sin(angle), n);
    advance(mixer, n);
    in += n;
    out += 2 * n;
    frames -= n;
  }
}
