/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A long complex transform in pieces that stay near the processor: FFTW's estimated plans take two
 * or three times as long for long ones, and plans by trial would differ from run to run. */
#ifndef SIDECOMB_DSP_LARGE_H
#define SIDECOMB_DSP_LARGE_H

#include <stddef.h>

#include <sidecomb/error.h>

struct dsp_large;
/* Any n; those with large prime factors are done in one piece. `memory`: 4 n floats of the caller's
 * (dsp_memory_make), or NULL: its own. */
enum sc_error dsp_large_create(size_t n, float *memory, struct dsp_large **large);
/* n complex values, real and imaginary part in turn; its run puts bins in their place. */
float *dsp_large_samples(struct dsp_large *large);
/* Forward, not scaled. */
void dsp_large_run(struct dsp_large *large);
void dsp_large_destroy(struct dsp_large *large);

#endif
