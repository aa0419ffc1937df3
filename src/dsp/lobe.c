/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A cosine-sum window applied to a spectrum: each of its terms shifts the spectrum by a whole
 * number of bins. The window is centred in the record, so neighbours alternate in sign. */
#include "dsp/lobe.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

#include "dsp/simd.h"

enum { TERMS = DSP_LOBE_HALF_WIDTH };

static const double terms[TERMS] = {0.27105140069342, 0.43329793923448, 0.21812299954311,
                                    0.06592544638803, 0.01081174209837, 0.00077658482522,
                                    0.00001388721735};

static double window_line(ptrdiff_t at)
{
  size_t m = (size_t)labs(at);
  return m == 0 ? terms[0] : m < TERMS ? terms[m] / 2 : 0;
}

static double response_at(const struct dsp_plateau *plateau, ptrdiff_t bins)
{
  double sum = 0, values[2 * TERMS - 1], slopes[2 * TERMS - 1];
  dsp_plateau_responses(plateau, (double)(bins - TERMS + 1), 2 * TERMS - 1, values, slopes);
  for (ptrdiff_t m = 1 - TERMS; m < TERMS; m++)
    sum += window_line(m) * values[TERMS - 1 - m];
  return sum;
}

static double noise_gain(const double *covariance)
{
  double sum = 0;
  for (ptrdiff_t i = 1 - TERMS; i < TERMS; i++)
    for (ptrdiff_t j = 1 - TERMS; j < TERMS; j++)
      sum += window_line(i) * window_line(j) * covariance[labs(i - j)];
  return sum;
}

struct dsp_lobe dsp_lobe_make(const struct dsp_plateau *plateau)
{
  struct dsp_lobe lobe;
  double peak = response_at(plateau, 0);
  lobe.noise_gain = noise_gain(dsp_plateau_covariance(plateau)) / (peak * peak);
  for (ptrdiff_t i = 0; i <= DSP_LOBE_HALF_WIDTH; i++) {
    double relative = response_at(plateau, i) / peak;
    lobe.power[i] = relative * relative;
  }
  for (ptrdiff_t i = 0; i < TERMS; i++)
    lobe.step[i] = window_line(i) / peak * (i & 1 ? -1 : 1);
  return lobe;
}

static float wrapped_power(const struct dsp_lobe *lobe, const double *bins, size_t n, size_t k)
{
  double re = 0, im = 0;
  for (ptrdiff_t m = 1 - TERMS; m < TERMS; m++) {
    size_t at = (k + n + (size_t)m) % n;
    double line = lobe->step[labs(m)];
    re += line * bins[2 * at];
    im += line * bins[2 * at + 1];
  }
  return (float)((re * re + im * im) / (double)n);
}

enum { STRETCH = 128 };

/* Real and imaginary parts in one row, whose neighbours are two apart. */
DSP_CLONES
static void fold(const double *restrict step, const double *restrict bins, size_t count,
                 double *restrict folded)
{
  for (size_t i = 0; i < count; i++) {
    const double *at = bins + i;
    double sum = step[0] * at[0];
    for (ptrdiff_t m = 1; m < TERMS; m++)
      sum += step[m] * (at[2 * m] + at[-2 * m]);
    folded[i] = sum;
  }
}

DSP_CLONES
static void add_powers(const double *restrict folded, double scale, size_t count,
                       float *restrict power)
{
  for (size_t i = 0; i < count; i++) {
    const double re = folded[2 * i], im = folded[2 * i + 1];
    power[i] += (float)((re * re + im * im) * scale);
  }
}

/* Away from the ends of the array. */
static void add_inner(const double *step, const double *bins, double scale, size_t count,
                      float *power)
{
  double folded[2 * STRETCH];
  while (count > 0) {
    size_t run = count < STRETCH ? count : STRETCH;
    fold(step, bins, 2 * run, folded);
    add_powers(folded, scale, run, power);
    bins += 2 * run;
    power += run;
    count -= run;
  }
}

void dsp_lobe_add(const struct dsp_lobe *lobe, const double *bins, size_t n, size_t first,
                  size_t count, float *power)
{
  size_t inner = first < TERMS ? TERMS : first, end = first + count;
  size_t inner_end = end > n - TERMS ? n - TERMS : end;
  inner = inner < end ? inner : end;
  inner_end = inner_end > inner ? inner_end : inner;
  for (size_t k = first; k < inner; k++)
    power[k - first] += wrapped_power(lobe, bins, n, k);
  add_inner(lobe->step, bins + 2 * inner, 1 / (double)n, inner_end - inner,
            power + (inner - first));
  for (size_t k = inner_end; k < end; k++)
    power[k - first] += wrapped_power(lobe, bins, n, k);
}

/* ---- in rows */

static_assert((int)DSP_LARGE_ROWS_LEAST >= (int)TERMS, "a bin's neighbours go around rows once");

#define PICK __builtin_shufflevector

/* Rows that stand side by side in `power`: a line of the cache. */
enum { SIDE_BY_SIDE = 16 };

/* Of bins: a line of the cache too. */
enum { LINE = 8 };

static void add_bin(const struct dsp_lobe *lobe, const struct dsp_rows *bins, size_t k,
                    float *power)
{
  const size_t n = bins->rows * bins->length;
  double re = 0, im = 0;
  for (ptrdiff_t m = 1 - TERMS; m < TERMS; m++) {
    const float *at = bins->values + dsp_rows_bin(bins, (k + n + (size_t)m) % n);
    re += lobe->step[labs(m)] * (double)at[0];
    im += lobe->step[labs(m)] * (double)at[1];
  }
  power[k] += (float)((re * re + im * im) / (double)n);
}

/* The values beside number k of a row, m rows on, which may lie in the next or the last number. */
static const float *beside(const struct dsp_rows *bins, size_t row, size_t k, ptrdiff_t m)
{
  ptrdiff_t at = (ptrdiff_t)row + m, rows = (ptrdiff_t)bins->rows, turn = 0;
  if (at < 0)
    turn = -1;
  else if (at >= rows)
    turn = 1;
  return bins->values + (size_t)(at - turn * rows) * bins->stride + 2 * (ptrdiff_t)k + 2 * turn;
}

/* In two goes, as so many rows at once find no room in the registers. */
DSP_CLONES
static void fold_rows(const float *const *at, const float *restrict step, size_t count,
                      float *restrict folded)
{
  const float *const *const b = at + TERMS - 1; /* b[m]: m rows on */
  const float *const b0 = b[0], *const up1 = b[1], *const up2 = b[2], *const up3 = b[3];
  const float *const down1 = b[-1], *const down2 = b[-2], *const down3 = b[-3];
  for (size_t i = 0; i < count; i++)
    folded[i] = step[0] * b0[i] + step[1] * (up1[i] + down1[i]) + step[2] * (up2[i] + down2[i]) +
                step[3] * (up3[i] + down3[i]);
  const float *const up4 = b[4], *const up5 = b[5], *const up6 = b[6];
  const float *const down4 = b[-4], *const down5 = b[-5], *const down6 = b[-6];
  for (size_t i = 0; i < count; i++)
    folded[i] += step[4] * (up4[i] + down4[i]) + step[5] * (up5[i] + down5[i]) +
                 step[6] * (up6[i] + down6[i]);
}

DSP_CLONES
static void square(const float *restrict folded, size_t count, float *restrict power)
{
  for (size_t i = 0; i < count; i++)
    power[i] = folded[2 * i] * folded[2 * i] + folded[2 * i + 1] * folded[2 * i + 1];
}

/* Numbers k ... k + count - 1 of one row, none of them at its ends. */
static void row_powers(const struct dsp_rows *bins, const float *step, size_t row, size_t k,
                       size_t count, float *power)
{
  float folded[2 * STRETCH];
  const float *at[2 * TERMS - 1];
  for (ptrdiff_t m = 1 - TERMS; m < TERMS; m++)
    at[m + TERMS - 1] = beside(bins, row, k, m);
  fold_rows(at, step, 2 * count, folded);
  square(folded, count, power);
}

/* to[i * stride + j] += from[j][i], by blocks of four and four. */
static void add_turned(float (*from)[STRETCH], size_t count, size_t rows, size_t stride, float *to)
{
  typedef float four __attribute__((vector_size(16), aligned(4), may_alias));
  const size_t whole = rows % 4 == 0 ? count - count % 4 : 0;
  for (size_t i = 0; i < whole; i += 4)
    for (size_t j = 0; j < rows; j += 4) {
      const four a = *(const four *)&from[j][i], b = *(const four *)&from[j + 1][i];
      const four c = *(const four *)&from[j + 2][i], d = *(const four *)&from[j + 3][i];
      const four ab_low = PICK(a, b, 0, 4, 1, 5), ab_high = PICK(a, b, 2, 6, 3, 7);
      const four cd_low = PICK(c, d, 0, 4, 1, 5), cd_high = PICK(c, d, 2, 6, 3, 7);
      float *at = to + i * stride + j;
      *(four *)at += PICK(ab_low, cd_low, 0, 1, 4, 5);
      *(four *)(at + stride) += PICK(ab_low, cd_low, 2, 3, 6, 7);
      *(four *)(at + 2 * stride) += PICK(ab_high, cd_high, 0, 1, 4, 5);
      *(four *)(at + 3 * stride) += PICK(ab_high, cd_high, 2, 3, 6, 7);
    }
  for (size_t i = whole; i < count; i++)
    for (size_t j = 0; j < rows; j++)
      to[i * stride + j] += from[j][i];
}

static void add_numbers(const struct dsp_rows *bins, const float *step, size_t k, size_t count,
                        float *power)
{
  float powers[SIDE_BY_SIDE][STRETCH];
  for (size_t first = 0; first < bins->rows; first += SIDE_BY_SIDE) {
    const size_t left = bins->rows - first, rows = left < SIDE_BY_SIDE ? left : SIDE_BY_SIDE;
    for (size_t j = 0; j < rows; j++)
      row_powers(bins, step, first + j, k, count, powers[j]);
    add_turned(powers, count, rows, bins->rows, power + k * bins->rows + first);
  }
}

void dsp_lobe_add_rows(const struct dsp_lobe *lobe, const struct dsp_rows *bins, size_t count,
                       float *power)
{
  const size_t rows = bins->rows;
  const size_t whole = count / rows, numbers = whole < bins->length ? whole : bins->length - 1;
  const float scale = (float)(1 / sqrt((double)rows * (double)bins->length));
  float step[TERMS];
  for (size_t m = 0; m < TERMS; m++)
    step[m] = scale * (float)lobe->step[m];
  /* after the first few from where rows are read by whole vectors */
  for (size_t k = 1, run = LINE - 1; rows > 1 && k < numbers; k += run, run = STRETCH) {
    run = numbers - k < run ? numbers - k : run;
    add_numbers(bins, step, k, run, power);
  }
  const size_t done = rows > 1 && numbers > 1 ? numbers * rows : rows;
  for (size_t k = 0; k < rows && k < count; k++)
    add_bin(lobe, bins, k, power);
  for (size_t k = done; k < count; k++)
    add_bin(lobe, bins, k, power);
}
