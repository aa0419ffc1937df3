/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Decimation in frequency by four (J. W. Cooley and J. W. Tukey, Math. Comp. 19, 1965): bin 4 k + r
 * is bin k of the transform of sum over q of x[i + q n / 4] (-j)^(q r), turned by r i / n. */
#include "dsp/quarters.h"

#include "dsp/simd.h"

#include <math.h>
#include <stdlib.h>

#define TWO_PI 6.283185307179586476925286766559

/* Rows stand APART floats, a line of the cache, farther from each other than they need: at a power
 * of two they would all claim the same places of the cache. */
enum { APART = 16 };

struct dsp_quarters {
  size_t quarter;
  float *turns[3]; /* of the rows 1 to 3: the real parts, then the imaginary ones */
  float *bins[4];  /* of each row */
  struct dsp_fft_group *fft;
};

static enum sc_error create_turns(struct dsp_quarters *q)
{
  for (size_t r = 1; r < 4; r++) {
    float *turn = malloc(2 * q->quarter * sizeof *turn);
    q->turns[r - 1] = turn;
    if (turn == NULL)
      return SC_NO_MEMORY;
    for (size_t i = 0; i < q->quarter; i++) {
      const double angle = -TWO_PI * (double)(r * i) / (double)(4 * q->quarter);
      turn[i] = (float)cos(angle);
      turn[q->quarter + i] = (float)sin(angle);
    }
  }
  return SC_OK;
}

static enum sc_error create_bins(struct dsp_quarters *q)
{
  for (size_t r = 0; r < 4; r++) {
    q->bins[r] = dsp_memory_make(2 * q->quarter * sizeof *q->bins[r]);
    if (q->bins[r] == NULL)
      return SC_NO_MEMORY;
  }
  return SC_OK;
}

enum sc_error dsp_quarters_create(size_t n, enum dsp_effort effort, struct dsp_quarters **quarters)
{
  if (n == 0 || n % 4 != 0)
    return SC_BAD_ARGUMENT;
  struct dsp_quarters *q = calloc(1, sizeof *q);
  if (q == NULL)
    return SC_NO_MEMORY;
  q->quarter = n / 4;
  enum sc_error error = create_turns(q);
  if (error == SC_OK)
    error = create_bins(q);
  const struct dsp_fft_shape row = {q->quarter, 1, 1, q->quarter};
  if (error == SC_OK)
    error = dsp_fft_group_create(&row, effort, q->bins[0], q->bins[1], &q->fft);
  if (error != SC_OK) {
    dsp_quarters_destroy(q);
    return error;
  }
  *quarters = q;
  return SC_OK;
}

static size_t stride(const struct dsp_quarters *q)
{
  return 2 * q->quarter + APART;
}

size_t dsp_quarters_room(const struct dsp_quarters *quarters)
{
  return 4 * stride(quarters);
}

DSP_CLONES
static void divide(const float *restrict x, const float *restrict window, size_t quarter,
                   const float *restrict one, const float *restrict two,
                   const float *restrict three, float *restrict y0, float *restrict y1,
                   float *restrict y2, float *restrict y3)
{
  const float *const a = x, *const b = a + 2 * quarter, *const c = b + 2 * quarter;
  const float *const d = c + 2 * quarter;
  for (size_t i = 0; i < quarter; i++) {
    const size_t re = 2 * i, im = 2 * i + 1;
    const float wa = window[i], wb = window[i + quarter];
    const float wc = window[i + 2 * quarter], wd = window[i + 3 * quarter];
    const float a_re = wa * a[re], a_im = wa * a[im], b_re = wb * b[re], b_im = wb * b[im];
    const float c_re = wc * c[re], c_im = wc * c[im], d_re = wd * d[re], d_im = wd * d[im];
    const float even_re = a_re + c_re, even_im = a_im + c_im;
    const float apart_re = a_re - c_re, apart_im = a_im - c_im;
    const float odd_re = b_re + d_re, odd_im = b_im + d_im;
    const float turned_re = b_im - d_im, turned_im = d_re - b_re; /* -j (b - d) */
    const float s1_re = apart_re + turned_re, s1_im = apart_im + turned_im;
    const float s2_re = even_re - odd_re, s2_im = even_im - odd_im;
    const float s3_re = apart_re - turned_re, s3_im = apart_im - turned_im;
    y0[re] = even_re + odd_re;
    y0[im] = even_im + odd_im;
    y1[re] = s1_re * one[i] - s1_im * one[i + quarter];
    y1[im] = s1_re * one[i + quarter] + s1_im * one[i];
    y2[re] = s2_re * two[i] - s2_im * two[i + quarter];
    y2[im] = s2_re * two[i + quarter] + s2_im * two[i];
    y3[re] = s3_re * three[i] - s3_im * three[i + quarter];
    y3[im] = s3_re * three[i + quarter] + s3_im * three[i];
  }
}

void dsp_quarters_divide(const struct dsp_quarters *quarters, const float *x, const float *window,
                         float *rows)
{
  const struct dsp_quarters *q = quarters;
  const size_t apart = stride(q);
  divide(x, window, q->quarter, q->turns[0], q->turns[1], q->turns[2], rows, rows + apart,
         rows + 2 * apart, rows + 3 * apart);
}

void dsp_quarters_row(const struct dsp_quarters *quarters, float *rows, size_t row, float *bins)
{
  dsp_fft_group_run(quarters->fft, rows + row * stride(quarters), bins);
}

DSP_CLONES
static void interleave(const float *restrict a, const float *restrict b, const float *restrict c,
                       const float *restrict d, size_t quarter, float *restrict out)
{
  for (size_t k = 0; k < quarter; k++)
    for (size_t part = 0; part < 2; part++) {
      out[8 * k + part] = a[2 * k + part];
      out[8 * k + 2 + part] = b[2 * k + part];
      out[8 * k + 4 + part] = c[2 * k + part];
      out[8 * k + 6 + part] = d[2 * k + part];
    }
}

void dsp_quarters_run(const struct dsp_quarters *quarters, float *rows, float *bins)
{
  const struct dsp_quarters *q = quarters;
  for (size_t r = 0; r < 4; r++)
    dsp_quarters_row(q, rows, r, q->bins[r]);
  interleave(q->bins[0], q->bins[1], q->bins[2], q->bins[3], q->quarter, bins);
}

void dsp_quarters_destroy(struct dsp_quarters *quarters)
{
  if (quarters == NULL)
    return;
  for (size_t r = 0; r < 4; r++)
    dsp_memory_free(quarters->bins[r]);
  for (size_t r = 0; r < 3; r++)
    free(quarters->turns[r]);
  dsp_fft_group_destroy(quarters->fft);
  free(quarters);
}
