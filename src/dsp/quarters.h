/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A long complex transform by four of a quarter of its length, which stay near the processor:
 * FFTW's plans for 4096 take a third more time and its estimated ones for 16384 twice as much. */
#ifndef SIDECOMB_DSP_QUARTERS_H
#define SIDECOMB_DSP_QUARTERS_H

#include <stddef.h>

#include <sidecomb/error.h>

#include "dsp/fft.h"

struct dsp_quarters;
/* n: a multiple of 4 */
enum sc_error dsp_quarters_create(size_t n, enum dsp_effort effort, struct dsp_quarters **quarters);
void dsp_quarters_destroy(struct dsp_quarters *quarters);

/* Forward, not scaled, in two steps that need no place of their own. */

/* Floats that four rows take; they stand in memory from dsp_memory_make. */
size_t dsp_quarters_room(const struct dsp_quarters *quarters);
/* Makes the rows of n values x, each weighted. */
void dsp_quarters_divide(const struct dsp_quarters *quarters, const float *x, const float *window,
                         float *rows);
/* Puts bin 4 k + row at place k of `bins` (from dsp_memory_make); the row is lost. */
void dsp_quarters_row(const struct dsp_quarters *quarters, float *rows, size_t row, float *bins);
/* All rows: n bins in their order. */
void dsp_quarters_run(const struct dsp_quarters *quarters, float *rows, float *bins);

#endif
