/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows and columns (W. M. Gentleman and G. Sande, AFIPS 1966; D. H. Bailey, J. Supercomputing 4,
 * 1990): with n = rows * length and x[p length + q], the columns are transformed, entry r of column
 * q is turned by q r / n, and bin k of the transform of row r is bin r + k rows of the whole. */
#include "dsp/large.h"

#include "dsp/fft.h"
#include "dsp/simd.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define TWO_PI 6.283185307179586476925286766559

/* Columns that are worked on together: two lines of the cache. Rows stand APART values farther from
 * each other than they need: at a power of two they would all claim the same places of the cache.
 */
enum { TOGETHER = 16, APART = 8, LINE = 8 };
/* Fewer than ROWS_LEAST are none. */
enum { ROW_MOST = 4096, ROWS_MOST = 1024, ROWS_LEAST = DSP_LARGE_ROWS_LEAST };

struct dsp_large {
  struct dsp_rows at;
  float *columns, *turned; /* rows * TOGETHER: of one block, before and after */
  float *row;              /* one, transformed */
  float *fine;             /* rows * TOGETHER: turns of the first block */
  double *coarse, *step;   /* rows: what the present one is turned by besides, and its step */
  struct dsp_fft_group *by_columns, *by_rows;
};

/* Of a multiple of `unit` values each; 0: there is no such. */
static size_t fewest_rows(size_t n, size_t unit)
{
  for (size_t rows = ROWS_LEAST; rows <= ROWS_MOST; rows++)
    if (n % (rows * unit) == 0 && n / rows <= ROW_MOST)
      return rows;
  return 0;
}

/* The longest that stay near, of whole lines of the cache if there are any such; or all in one. */
static size_t choose_rows(size_t n)
{
  size_t rows = n <= ROW_MOST ? 1 : fewest_rows(n, LINE);
  if (rows == 0)
    rows = fewest_rows(n, 1);
  return rows > 0 ? rows : 1;
}

static void fill_turns(struct dsp_large *l)
{
  const double n = (double)(l->at.rows * l->at.length);
  for (size_t r = 0; r < l->at.rows; r++) {
    for (size_t j = 0; j < TOGETHER; j++) {
      const double angle = -TWO_PI * (double)(r * j) / n;
      l->fine[2 * (r * TOGETHER + j)] = (float)cos(angle);
      l->fine[2 * (r * TOGETHER + j) + 1] = (float)sin(angle);
    }
    const double angle = -TWO_PI * (double)(r * TOGETHER) / n;
    l->step[2 * r] = cos(angle);
    l->step[2 * r + 1] = sin(angle);
  }
}

static enum sc_error create_parts(struct dsp_large *l)
{
  const size_t rows = l->at.rows, block = 2 * rows * TOGETHER;
  l->columns = dsp_memory_make(block * sizeof *l->columns);
  l->turned = dsp_memory_make(block * sizeof *l->turned);
  l->row = dsp_memory_make(2 * l->at.length * sizeof *l->row);
  l->fine = malloc(block * sizeof *l->fine);
  l->coarse = malloc(2 * rows * sizeof *l->coarse);
  l->step = malloc(2 * rows * sizeof *l->step);
  if (l->columns == NULL || l->turned == NULL || l->row == NULL || l->fine == NULL ||
      l->coarse == NULL || l->step == NULL)
    return SC_NO_MEMORY;
  memset(l->columns, 0, block * sizeof *l->columns);
  fill_turns(l);
  const struct dsp_fft_shape columns = {rows, TOGETHER, TOGETHER, 1};
  return dsp_fft_group_create(&columns, DSP_PLAN_ESTIMATE, l->columns, l->turned, &l->by_columns);
}

static size_t bytes_of(const struct dsp_rows *at)
{
  return at->rows * at->stride * sizeof *at->values;
}

static enum sc_error create_all(struct dsp_large *l, size_t n)
{
  l->at.rows = choose_rows(n);
  l->at.length = n / l->at.rows;
  l->at.stride = 2 * (l->at.length + (l->at.rows > 1 ? APART : 0));
  l->at.values = dsp_memory_make(bytes_of(&l->at));
  if (l->at.values == NULL)
    return SC_NO_MEMORY;
  const enum sc_error error = l->at.rows > 1 ? create_parts(l) : SC_OK;
  if (error != SC_OK)
    return error;
  const struct dsp_fft_shape row = {l->at.length, 1, 1, l->at.length};
  return dsp_fft_group_create(&row, DSP_PLAN_ESTIMATE, l->at.values,
                              l->at.rows > 1 ? l->row : l->at.values, &l->by_rows);
}

enum sc_error dsp_large_create(size_t n, struct dsp_large **large)
{
  if (n == 0)
    return SC_BAD_ARGUMENT;
  struct dsp_large *l = calloc(1, sizeof *l);
  if (l == NULL)
    return SC_NO_MEMORY;
  const enum sc_error error = create_all(l, n);
  if (error != SC_OK) {
    dsp_large_destroy(l);
    return error;
  }
  *large = l;
  return SC_OK;
}

struct dsp_rows dsp_large_rows(const struct dsp_large *large)
{
  return large->at;
}

/* `count` values; most often so many that the compiler has a few moves for them. */
static inline void copy(float *restrict to, const float *restrict from, size_t count)
{
  if (count == TOGETHER)
    memcpy(to, from, 2 * TOGETHER * sizeof *to);
  else
    memcpy(to, from, 2 * count * sizeof *to);
}

/* Sum of squares of floats that are at hand; so many that single precision holds their sums. */
DSP_CLONES
static double squares_of(const float *x, size_t count)
{
  enum { LANES = 64 };
  float sums[LANES] = {0};
  double sum = 0;
  const size_t whole = count - count % LANES;
  for (size_t i = 0; i < whole; i += LANES)
    for (size_t l = 0; l < LANES; l++)
      sums[l] += x[i + l] * x[i + l];
  for (size_t i = whole; i < count; i++)
    sums[i - whole] += x[i] * x[i];
  for (size_t l = 0; l < LANES; l++)
    sum += (double)sums[l];
  return sum;
}

/* `count` values, turned by those of `fine` and one more. */
DSP_CLONES
static void turn(const float *restrict z, const float *restrict fine, float more_re, float more_im,
                 size_t count, float *restrict out)
{
  for (size_t j = 0; j < count; j++) {
    const float c = fine[2 * j] * more_re - fine[2 * j + 1] * more_im;
    const float s = fine[2 * j] * more_im + fine[2 * j + 1] * more_re;
    out[2 * j] = z[2 * j] * c - z[2 * j + 1] * s;
    out[2 * j + 1] = z[2 * j] * s + z[2 * j + 1] * c;
  }
}

static void clear_beside(struct dsp_large *l, size_t count)
{
  for (size_t r = 0; r < l->at.rows; r++)
    memset(l->columns + 2 * (r * TOGETHER + count), 0, 2 * (TOGETHER - count) * sizeof(float));
}

/* Columns from `at` on; the last block may have fewer, beside old ones. */
static double run_columns(struct dsp_large *l, size_t at)
{
  const size_t left = l->at.length - at, count = left < TOGETHER ? left : TOGETHER;
  float *const values = l->at.values + 2 * at;
  for (size_t r = 0; r < l->at.rows; r++)
    copy(l->columns + 2 * r * TOGETHER, values + r * l->at.stride, count);
  if (count < TOGETHER)
    clear_beside(l, count);
  const double squares = squares_of(l->columns, 2 * l->at.rows * TOGETHER);
  dsp_fft_group_run(l->by_columns, l->columns, l->turned);
  for (size_t r = 0; r < l->at.rows; r++) {
    double *const coarse = l->coarse + 2 * r;
    const double re = coarse[0], im = coarse[1], *step = l->step + 2 * r;
    turn(l->turned + 2 * r * TOGETHER, l->fine + 2 * r * TOGETHER, (float)re, (float)im, count,
         values + r * l->at.stride);
    coarse[0] = re * step[0] - im * step[1];
    coarse[1] = re * step[1] + im * step[0];
  }
  return squares;
}

static void run_row(const struct dsp_large *l, float *values)
{
  dsp_fft_group_run(l->by_rows, values, l->row);
  memcpy(values, l->row, 2 * l->at.length * sizeof *values);
}

/* In one piece. */
static double run_whole(const struct dsp_large *l)
{
  double squares = 0;
  for (size_t at = 0, run; at < l->at.length; at += run) {
    run = l->at.length - at < ROW_MOST ? l->at.length - at : ROW_MOST;
    squares += squares_of(l->at.values + 2 * at, 2 * run);
  }
  dsp_fft_group_run(l->by_rows, l->at.values, l->at.values);
  return squares;
}

double dsp_large_run(struct dsp_large *large)
{
  struct dsp_large *l = large;
  double squares = 0;
  if (l->at.rows == 1)
    return run_whole(l);
  for (size_t r = 0; r < l->at.rows; r++) {
    l->coarse[2 * r] = 1.0;
    l->coarse[2 * r + 1] = 0.0;
  }
  for (size_t at = 0; at < l->at.length; at += TOGETHER)
    squares += run_columns(l, at);
  for (size_t r = 0; r < l->at.rows; r++)
    run_row(l, l->at.values + r * l->at.stride);
  return squares;
}

void dsp_large_rest(struct dsp_large *large)
{
  dsp_memory_rest(large->at.values, bytes_of(&large->at));
}

void dsp_large_destroy(struct dsp_large *large)
{
  if (large == NULL)
    return;
  dsp_fft_group_destroy(large->by_columns);
  dsp_fft_group_destroy(large->by_rows);
  dsp_memory_free(large->at.values);
  dsp_memory_free(large->columns);
  dsp_memory_free(large->turned);
  dsp_memory_free(large->row);
  free(large->fine);
  free(large->coarse);
  free(large->step);
  free(large);
}
