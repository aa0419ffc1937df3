/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Decimation in frequency by four (J. W. Cooley and J. W. Tukey, Math. Comp. 19, 1965): bin 4 k + r
 * is bin k of the transform of sum over q of x[i + q n / 4] (-j)^(q r), turned by r i / n. */
#include "dsp/quarters.h"

#include "dsp/fft.h"
#include "dsp/simd.h"

#include <math.h>
#include <stdlib.h>

#define TWO_PI 6.283185307179586476925286766559

struct dsp_quarters {
  size_t quarter;
  float *input, *output;
  float *turns[3]; /* of the quarters 1 to 3 */
  struct dsp_fft *ffts[4];
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
      turn[2 * i] = (float)cos(angle);
      turn[2 * i + 1] = (float)sin(angle);
    }
  }
  return SC_OK;
}

enum sc_error dsp_quarters_create(size_t n, struct dsp_quarters **quarters)
{
  if (n == 0 || n % 4 != 0)
    return SC_BAD_ARGUMENT;
  struct dsp_quarters *q = calloc(1, sizeof *q);
  if (q == NULL)
    return SC_NO_MEMORY;
  q->quarter = n / 4;
  q->input = calloc(2 * n, sizeof *q->input);
  q->output = calloc(2 * n, sizeof *q->output);
  enum sc_error error = q->input != NULL && q->output != NULL ? create_turns(q) : SC_NO_MEMORY;
  for (size_t r = 0; error == SC_OK && r < 4; r++)
    error = dsp_fft_create_apart(q->quarter, false, DSP_PLAN_ESTIMATE, &q->ffts[r]);
  if (error != SC_OK) {
    dsp_quarters_destroy(q);
    return error;
  }
  *quarters = q;
  return SC_OK;
}

float *dsp_quarters_input(struct dsp_quarters *quarters)
{
  return quarters->input;
}

float *dsp_quarters_output(struct dsp_quarters *quarters)
{
  return quarters->output;
}

DSP_CLONES
static void divide(const float *restrict x, size_t quarter, const float *restrict one,
                   const float *restrict two, const float *restrict three, float *restrict y0,
                   float *restrict y1, float *restrict y2, float *restrict y3)
{
  const float *const b = x + 2 * quarter, *const c = b + 2 * quarter, *const d = c + 2 * quarter;
  for (size_t i = 0; i < quarter; i++) {
    const size_t re = 2 * i, im = 2 * i + 1;
    const float even_re = x[re] + c[re], even_im = x[im] + c[im];
    const float apart_re = x[re] - c[re], apart_im = x[im] - c[im];
    const float odd_re = b[re] + d[re], odd_im = b[im] + d[im];
    const float turned_re = b[im] - d[im], turned_im = d[re] - b[re]; /* -j (b - d) */
    const float s1_re = apart_re + turned_re, s1_im = apart_im + turned_im;
    const float s2_re = even_re - odd_re, s2_im = even_im - odd_im;
    const float s3_re = apart_re - turned_re, s3_im = apart_im - turned_im;
    y0[re] = even_re + odd_re;
    y0[im] = even_im + odd_im;
    y1[re] = s1_re * one[re] - s1_im * one[im];
    y1[im] = s1_re * one[im] + s1_im * one[re];
    y2[re] = s2_re * two[re] - s2_im * two[im];
    y2[im] = s2_re * two[im] + s2_im * two[re];
    y3[re] = s3_re * three[re] - s3_im * three[im];
    y3[im] = s3_re * three[im] + s3_im * three[re];
  }
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

void dsp_quarters_run(struct dsp_quarters *quarters)
{
  const struct dsp_quarters *q = quarters;
  struct dsp_fft *const *f = q->ffts;
  divide(q->input, q->quarter, q->turns[0], q->turns[1], q->turns[2], dsp_fft_buffer(f[0]),
         dsp_fft_buffer(f[1]), dsp_fft_buffer(f[2]), dsp_fft_buffer(f[3]));
  for (size_t r = 0; r < 4; r++)
    dsp_fft_run(f[r]);
  interleave(dsp_fft_output(f[0]), dsp_fft_output(f[1]), dsp_fft_output(f[2]), dsp_fft_output(f[3]),
             q->quarter, q->output);
}

void dsp_quarters_destroy(struct dsp_quarters *quarters)
{
  if (quarters == NULL)
    return;
  for (size_t r = 0; r < 4; r++)
    dsp_fft_destroy(quarters->ffts[r]);
  for (size_t r = 0; r < 3; r++)
    free(quarters->turns[r]);
  free(quarters->input);
  free(quarters->output);
  free(quarters);
}
