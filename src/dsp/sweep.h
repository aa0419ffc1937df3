/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* FIR filter of a stream that keeps its rate or gives one of so many frames, for blocks that are
 * long against a vector: twice as fast there as one dot product for each output. */
#ifndef SIDECOMB_DSP_SWEEP_H
#define SIDECOMB_DSP_SWEEP_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/error.h>

/* For `count` taps, with blocks of up to `frames_max` frames of 1 (real) or 2 (complex)
 * components. */
bool dsp_sweep_pays(unsigned components, unsigned decimation, size_t count, size_t frames_max);

struct dsp_sweep;
/* out[m] = sum over k < count of taps[k] * in[m decimation - k]; before the first frame all are
 * zero. */
enum sc_error dsp_sweep_create(unsigned components, unsigned decimation, const double *taps,
                               size_t count, struct dsp_sweep **sweep);
/* Returns the frames written: one for each that `decimation` goes into, counted from the start.
 * What is made of a frame does not depend on how the stream is cut. */
size_t dsp_sweep_run(struct dsp_sweep *sweep, const float *in, size_t frames, float *out);
/* Frames of which as many, or several times as many, are run in the least time. */
size_t dsp_sweep_chunk(const struct dsp_sweep *sweep);
void dsp_sweep_reset(struct dsp_sweep *sweep);
void dsp_sweep_destroy(struct dsp_sweep *sweep);

#endif
