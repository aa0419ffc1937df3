/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Transforms on buffers that the handle owns (FFTW, aligned); complex and in place where
 * nothing else is said.
 *
 * Forward sign: X[k] = sum x[n] exp(-2 pi i k n / N). Not normalised. Planning is serialised
 * by a lock, since FFTW's planner is not safe between threads; running is lock-free.
 */
#ifndef SIDECOMB_DSP_FFT_H
#define SIDECOMB_DSP_FFT_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/error.h>

enum dsp_effort { DSP_PLAN_ESTIMATE, DSP_PLAN_MEASURE };

struct dsp_fft;
enum sc_error dsp_fft_create(size_t n, enum dsp_effort effort, struct dsp_fft **fft);
float *dsp_fft_buffer(struct dsp_fft *fft); /* 2 n floats, interleaved */
void dsp_fft_run(struct dsp_fft *fft);
void dsp_fft_destroy(struct dsp_fft *fft);
/* Aligned as transforms want it. */
void *dsp_memory_make(size_t bytes); /* NULL: there is none */
void dsp_memory_free(void *memory);
/* Its contents are of no use any more: until it is written again, the system may have the pages. */
void dsp_memory_rest(void *memory, size_t bytes);

/* The same with input and output apart, which is faster and keeps the input. Real input: the
 * buffer takes n floats, and the output is the n/2 + 1 bins from 0 to half the rate. */
enum sc_error dsp_fft_create_apart(size_t n, bool real_input, enum dsp_effort effort,
                                   struct dsp_fft **fft);
float *dsp_fft_output(struct dsp_fft *fft); /* interleaved; the buffer itself when in place */

/* Several transforms of one length at once, out of place, in arrays of the caller's: value i of
 * transform m stands at i * stride + m * distance, in complex values. */
struct dsp_fft_shape {
  size_t length, count, stride, distance;
};

struct dsp_fft_group;
/* `in` and `out` stand for those that it will run on: from dsp_memory_make, or anywhere. Trials
 * write to them. */
enum sc_error dsp_fft_group_create(const struct dsp_fft_shape *shape, enum dsp_effort effort,
                                   float *in, float *out, struct dsp_fft_group **group);
void dsp_fft_group_run(const struct dsp_fft_group *group, float *in, float *out);
void dsp_fft_group_destroy(struct dsp_fft_group *group);

struct dsp_fft64;
enum sc_error dsp_fft64_create(size_t n, enum dsp_effort effort, struct dsp_fft64 **fft);
double *dsp_fft64_buffer(struct dsp_fft64 *fft); /* 2 n doubles, interleaved */
void dsp_fft64_run(struct dsp_fft64 *fft);
void dsp_fft64_destroy(struct dsp_fft64 *fft);

/* Plans that were measured, in single precision, as text: see sidecomb/plans.h. */
bool dsp_plans_take(const char *text);
char *dsp_plans_text(void);

/* Largest n' <= n whose only prime factors are 2, 3, 5 and 7. */
size_t dsp_fft_good_length(size_t n);

#endif
