/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* FIR filter of a stream that keeps its rate, for blocks that are long against a vector: twice as
 * fast there as one dot product for each output. */
#ifndef SIDECOMB_DSP_SWEEP_H
#define SIDECOMB_DSP_SWEEP_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/error.h>

/* With blocks of up to `frames_max` frames of 1 (real) or 2 (complex) components. */
bool dsp_sweep_pays(unsigned components, size_t frames_max);

struct dsp_sweep;
/* out[n] = sum over k < count of taps[k] * in[n - k]; before the first frame all are zero. */
enum sc_error dsp_sweep_create(unsigned components, const double *taps, size_t count,
                               struct dsp_sweep **sweep);
/* Writes as many frames as it reads. What is made of a frame does not depend on how the stream is
 * cut. */
void dsp_sweep_run(struct dsp_sweep *sweep, const float *in, size_t frames, float *out);
void dsp_sweep_reset(struct dsp_sweep *sweep);
void dsp_sweep_destroy(struct dsp_sweep *sweep);

#endif
