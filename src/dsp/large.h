/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A long complex transform in pieces that stay near the processor: FFTW's estimated plans take two
 * or three times as long for long ones, and plans by trial would differ from run to run. It is done
 * in place, and so the bins come out in another order than the values went in. */
#ifndef SIDECOMB_DSP_LARGE_H
#define SIDECOMB_DSP_LARGE_H

#include <stddef.h>

#include <sidecomb/error.h>

enum { DSP_LARGE_ROWS_LEAST = 8 };

/* Complex values, real and imaginary part in turn. There is one row or DSP_LARGE_ROWS_LEAST and
 * more. Before: value i is number i % length of row i / length. After: bin k is number k / rows of
 * row k % rows. */
struct dsp_rows {
  float *values;
  size_t rows, length;
  size_t stride; /* floats from one row to the next */
};

/* Floats before bin k. */
static inline size_t dsp_rows_bin(const struct dsp_rows *at, size_t k)
{
  return k % at->rows * at->stride + 2 * (k / at->rows);
}

struct dsp_large;
/* Any n; those with large prime factors are done in one piece. */
enum sc_error dsp_large_create(size_t n, struct dsp_large **large);
struct dsp_rows dsp_large_rows(const struct dsp_large *large);
/* Forward, not scaled. Returns the sum of the squares of what is transformed, to 1e-5 or better; not
 * finite where a value is not. */
double dsp_large_run(struct dsp_large *large);
/* Its values are of no use any more: until they are written again, the system may have the memory.
 */
void dsp_large_rest(struct dsp_large *large);
void dsp_large_destroy(struct dsp_large *large);

#endif
