/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The transforms against the defining sum in extended precision, and against the properties
 * that a transform cannot have by chance: linearity, impulse, shift. */
#include <complex.h>
#include <math.h>
#include <stdlib.h>

#include <check.h>

#include "dsp/fft.h"
#include "dsp/large.h"
#include "dsp/quarters.h"
#include "dsp/suites.h"
#include "support/random.h"
#include "support/support.h"

/* CMPLX of C11, which not every compiler has with this C library; for finite parts. */
static double complex rect(double re, double im)
{
  return re + im * I;
}

/* Rms error over rms value. Single precision rounds at 6e-8, double at 1e-16; a transform's
 * error grows with the root of log N, so these leave a factor of about three. */
static const double SINGLE_ERROR = 5e-7;
static const double DOUBLE_ERROR = 1e-15;
static const double PI = 3.14159265358979323846;
static const size_t sizes[] = {1, 2, 3, 7, 16, 60, 105, 210, 256, 1000, 1024};

enum { SIZES = sizeof sizes / sizeof *sizes, MAX_SIZE = 1024 };

/* CMPLX of C11, which not every compiler has. */
static double complex from_parts(double re, double im)
{
  return re + im * I;
}

/* X[k] = sum x[n] exp(-2 pi i k n / N), the angle reduced exactly. */
static void slow_transform(const double complex *x, size_t n, double complex *out)
{
  for (size_t k = 0; k < n; k++) {
    long double re = 0, im = 0;
    for (size_t i = 0; i < n; i++) {
      long double angle = -2 * acosl(-1.0L) * (long double)(k * i % n) / (long double)n;
      re += creal(x[i]) * cosl(angle) - cimag(x[i]) * sinl(angle);
      im += creal(x[i]) * sinl(angle) + cimag(x[i]) * cosl(angle);
    }
    out[k] = rect((double)re, (double)im);
  }
}

static void random_vector(uint64_t *state, double complex *x, size_t n)
{
  for (size_t i = 0; i < n; i++) {
    double re = support_uniform(state);
    x[i] = rect(re, support_uniform(state));
  }
}

static void run_single(const double complex *x, size_t n, double complex *out)
{
  struct dsp_fft *fft;
  ck_assert_int_eq(dsp_fft_create(n, DSP_PLAN_ESTIMATE, &fft), SC_OK);
  float *buffer = dsp_fft_buffer(fft);
  for (size_t i = 0; i < n; i++) {
    buffer[2 * i] = (float)creal(x[i]);
    buffer[2 * i + 1] = (float)cimag(x[i]);
  }
  dsp_fft_run(fft);
  for (size_t i = 0; i < n; i++)
    out[i] = rect((double)buffer[2 * i], (double)buffer[2 * i + 1]);
  dsp_fft_destroy(fft);
}

static void run_double(const double complex *x, size_t n, double complex *out)
{
  struct dsp_fft64 *fft;
  ck_assert_int_eq(dsp_fft64_create(n, DSP_PLAN_ESTIMATE, &fft), SC_OK);
  double *buffer = dsp_fft64_buffer(fft);
  for (size_t i = 0; i < n; i++) {
    buffer[2 * i] = creal(x[i]);
    buffer[2 * i + 1] = cimag(x[i]);
  }
  dsp_fft64_run(fft);
  for (size_t i = 0; i < n; i++)
    out[i] = rect(buffer[2 * i], buffer[2 * i + 1]);
  dsp_fft64_destroy(fft);
}

static double relative_error(const double complex *got, const double complex *want, size_t n)
{
  double error = 0, power = 0;
  for (size_t i = 0; i < n; i++) {
    error += pow(cabs(got[i] - want[i]), 2);
    power += pow(cabs(want[i]), 2);
  }
  return sqrt(error / power);
}

START_TEST(agrees_with_the_defining_sum)
{
  uint64_t state = support_seed("agrees_with_the_defining_sum", 11);
  double complex x[MAX_SIZE] = {0}, want[MAX_SIZE], got[MAX_SIZE];
  size_t n = sizes[_i];
  random_vector(&state, x, n);
  slow_transform(x, n, want);
  run_single(x, n, got);
  ck_assert_double_lt(relative_error(got, want, n), SINGLE_ERROR);
  run_double(x, n, got);
  ck_assert_double_lt(relative_error(got, want, n), DOUBLE_ERROR);
}
END_TEST

START_TEST(is_linear)
{
  uint64_t state = support_seed("is_linear", 12);
  double complex x[MAX_SIZE] = {0}, y[MAX_SIZE] = {0}, sum[MAX_SIZE] = {0};
  double complex a = rect(0.3, -1.7), b = rect(2, 0.4);
  double complex of_x[MAX_SIZE], of_y[MAX_SIZE], of_sum[MAX_SIZE];
  size_t n = sizes[_i];
  random_vector(&state, x, n);
  random_vector(&state, y, n);
  for (size_t i = 0; i < n; i++)
    sum[i] = a * x[i] + b * y[i];
  run_double(x, n, of_x);
  run_double(y, n, of_y);
  run_double(sum, n, of_sum);
  for (size_t i = 0; i < n; i++)
    of_x[i] = a * of_x[i] + b * of_y[i];
  ck_assert_double_lt(relative_error(of_sum, of_x, n), DOUBLE_ERROR);
}
END_TEST

START_TEST(an_impulse_becomes_a_turning_phase)
{
  double complex x[MAX_SIZE] = {0}, got[MAX_SIZE], want[MAX_SIZE];
  size_t n = sizes[_i], at = n / 3;
  x[at] = 1;
  for (size_t k = 0; k < n; k++)
    want[k] = cexp(rect(0, -2 * PI * (double)(k * at % n) / (double)n));
  run_double(x, n, got);
  ck_assert_double_lt(relative_error(got, want, n), DOUBLE_ERROR);
}
END_TEST

START_TEST(a_shift_turns_the_phase)
{
  uint64_t state = support_seed("a_shift_turns_the_phase", 13);
  double complex x[MAX_SIZE] = {0}, moved[MAX_SIZE] = {0}, of_x[MAX_SIZE], of_moved[MAX_SIZE];
  size_t n = sizes[_i], shift = n / 2 + (n > 2);
  random_vector(&state, x, n);
  for (size_t i = 0; i < n; i++)
    moved[(i + shift) % n] = x[i];
  run_double(x, n, of_x);
  run_double(moved, n, of_moved);
  for (size_t k = 0; k < n; k++)
    of_x[k] *= cexp(rect(0, -2 * PI * (double)(k * shift % n) / (double)n));
  ck_assert_double_lt(relative_error(of_moved, of_x, n), DOUBLE_ERROR);
}
END_TEST

START_TEST(a_measured_plan_starts_clean_and_agrees)
{
  struct dsp_fft *fft;
  ck_assert_int_eq(dsp_fft_create(240, DSP_PLAN_MEASURE, &fft), SC_OK);
  float *buffer = dsp_fft_buffer(fft);
  for (size_t i = 0; i < 480; i++)
    ck_assert_float_eq(buffer[i], 0);
  buffer[0] = 1;
  dsp_fft_run(fft);
  for (size_t i = 0; i < 240; i++)
    ck_assert_float_eq_tol(buffer[2 * i], 1, 1e-6F);
  dsp_fft_destroy(fft);
}
END_TEST

/* In one piece, of cut blocks and groups, of rows of no whole lines, with a large prime factor. */
static const size_t large[] = {1, 60, 4096, 5003, 8192, 12000, 13122, 16384, 131072, 262440};
enum { LARGE = sizeof large / sizeof *large };

START_TEST(a_large_transform_agrees_with_double_precision)
{
  uint64_t state = support_seed("a_large_transform_agrees_with_double_precision", 16);
  const size_t n = large[_i];
  struct dsp_large *pieces;
  struct dsp_fft64 *whole;
  ck_assert_int_eq(dsp_large_create(n, &pieces), SC_OK);
  ck_assert_int_eq(dsp_fft64_create(n, DSP_PLAN_ESTIMATE, &whole), SC_OK);
  const struct dsp_rows at = dsp_large_rows(pieces);
  double *reference = dsp_fft64_buffer(whole), error = 0, power = 0;
  for (int round = 0; round < 2; round++) { /* its second run knows nothing of the first */
    dsp_large_rest(pieces);
    for (size_t i = 0; i < 2 * n; i++) {
      const size_t value = i / 2, column = 2 * (value % at.length) + i % 2;
      reference[i] = (double)(float)support_uniform(&state);
      at.values[value / at.length * at.stride + column] = (float)reference[i];
    }
    dsp_large_run(pieces);
    dsp_fft64_run(whole);
  }
  for (size_t i = 0; i < 2 * n; i++) {
    error += pow((double)at.values[dsp_rows_bin(&at, i / 2) + i % 2] - reference[i], 2);
    power += reference[i] * reference[i];
  }
  ck_assert_double_lt(sqrt(error / power), SINGLE_ERROR);
  dsp_large_destroy(pieces);
  dsp_fft64_destroy(whole);
}
END_TEST

START_TEST(a_large_transform_of_nothing_is_refused)
{
  struct dsp_large *pieces;
  ck_assert_int_eq(dsp_large_create(0, &pieces), SC_BAD_ARGUMENT);
  dsp_large_destroy(NULL);
}
END_TEST

static const size_t in_quarters[] = {4, 16, 60, 64, 256, 992, 1024};
enum { IN_QUARTERS = sizeof in_quarters / sizeof *in_quarters };

/* Weighted, row by row and all at once. */
START_TEST(a_transform_in_quarters_agrees_with_the_defining_sum)
{
  uint64_t state = support_seed("a_transform_in_quarters_agrees_with_the_defining_sum", 15);
  const size_t n = in_quarters[_i], quarter = n / 4;
  double complex x[MAX_SIZE] = {0}, got[MAX_SIZE] = {0}, want[MAX_SIZE] = {0};
  float input[2 * MAX_SIZE], window[MAX_SIZE];
  struct dsp_quarters *quarters;
  random_vector(&state, x, n);
  for (size_t i = 0; i < n; i++) {
    window[i] = 0.5F + (float)support_uniform(&state);
    input[2 * i] = (float)creal(x[i]);
    input[2 * i + 1] = (float)cimag(x[i]);
    x[i] *= (double)window[i];
  }
  slow_transform(x, n, want);
  ck_assert_int_eq(dsp_quarters_create(n, DSP_PLAN_ESTIMATE, &quarters), SC_OK);
  float *rows = dsp_memory_make(dsp_quarters_room(quarters) * sizeof *rows);
  float *bins = dsp_memory_make(2 * n * sizeof *bins);
  for (int at_once = 0; at_once < 2; at_once++) {
    dsp_quarters_divide(quarters, input, window, rows);
    if (at_once)
      dsp_quarters_run(quarters, rows, bins);
    for (size_t row = 0; row < 4 && !at_once; row++)
      dsp_quarters_row(quarters, rows, row, bins + 2 * row * quarter);
    for (size_t k = 0; k < n; k++) {
      const float *bin = at_once ? bins + 2 * k : bins + 2 * (k % 4 * quarter + k / 4);
      got[k] = from_parts((double)bin[0], (double)bin[1]);
    }
    ck_assert_double_lt(relative_error(got, want, n), SINGLE_ERROR);
  }
  dsp_memory_free(rows);
  dsp_memory_free(bins);
  dsp_quarters_destroy(quarters);
  ck_assert_int_eq(dsp_quarters_create(n + 1, DSP_PLAN_ESTIMATE, &quarters), SC_BAD_ARGUMENT);
}
END_TEST

/* Real input gives the first half of the spectrum that complex samples without imaginary part
 * have; the input stays as it was. */
START_TEST(transforms_with_buffers_apart_agree)
{
  uint64_t state = support_seed("transforms_with_buffers_apart_agree", 14);
  bool real_input = _i % 2;
  size_t n = sizes[_i / 2], parts = real_input ? 1 : 2, bins = real_input ? n / 2 + 1 : n;
  double complex x[MAX_SIZE] = {0}, got[MAX_SIZE] = {0}, want[MAX_SIZE] = {0};
  struct dsp_fft *fft;
  random_vector(&state, x, n);
  ck_assert_int_eq(dsp_fft_create_apart(n, real_input, DSP_PLAN_ESTIMATE, &fft), SC_OK);
  float *input = dsp_fft_buffer(fft), *output = dsp_fft_output(fft);
  for (size_t i = 0; i < n; i++) {
    x[i] = real_input ? creal(x[i]) : x[i];
    input[parts * i] = (float)creal(x[i]);
    if (!real_input)
      input[2 * i + 1] = (float)cimag(x[i]);
  }
  dsp_fft_run(fft);
  for (size_t k = 0; k < bins; k++)
    got[k] = from_parts((double)output[2 * k], (double)output[2 * k + 1]);
  run_double(x, n, want);
  ck_assert_double_lt(relative_error(got, want, bins), SINGLE_ERROR);
  for (size_t i = 0; i < n; i++)
    ck_assert_float_eq(input[parts * i], (float)creal(x[i]));
  dsp_fft_destroy(fft);
}
END_TEST

START_TEST(bad_sizes_are_refused)
{
  struct dsp_fft *fft = NULL;
  struct dsp_fft64 *fft64 = NULL;
  ck_assert_int_eq(dsp_fft_create(0, DSP_PLAN_ESTIMATE, &fft), SC_BAD_ARGUMENT);
  ck_assert_int_eq(dsp_fft64_create(SIZE_MAX, DSP_PLAN_ESTIMATE, &fft64), SC_BAD_ARGUMENT);
  ck_assert_int_eq(dsp_fft_create(8, DSP_PLAN_ESTIMATE, NULL), SC_BAD_ARGUMENT);
  ck_assert_ptr_null(fft);
  ck_assert_ptr_null(fft64);
  dsp_fft_destroy(NULL);
  dsp_fft64_destroy(NULL);
}
END_TEST

START_TEST(good_lengths_are_the_largest_products_of_small_primes)
{
  static const struct {
    size_t n, good;
  } cases[] = {{1, 1},   {2, 2},     {10, 10},   {11, 10},          {13, 12},
               {17, 16}, {127, 126}, {143, 140}, {4096, 4096},      {4099, 4096},
               {97, 96}, {121, 120}, {0, 0},     {1048577, 1048576}};
  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
    ck_assert_uint_eq(dsp_fft_good_length(cases[i].n), cases[i].good);
}
END_TEST

Suite *fft_suite(void)
{
  Suite *suite = suite_create("fft");
  TCase *values = tcase_create("values");
  tcase_add_loop_test(values, a_large_transform_agrees_with_double_precision, 0, LARGE);
  tcase_add_test(values, a_large_transform_of_nothing_is_refused);
  tcase_add_loop_test(values, agrees_with_the_defining_sum, 0, SIZES);
  tcase_add_loop_test(values, is_linear, 0, SIZES);
  tcase_add_loop_test(values, an_impulse_becomes_a_turning_phase, 0, SIZES);
  tcase_add_loop_test(values, a_shift_turns_the_phase, 0, SIZES);
  tcase_add_loop_test(values, transforms_with_buffers_apart_agree, 0, 2 * SIZES);
  tcase_add_loop_test(values, a_transform_in_quarters_agrees_with_the_defining_sum, 0, IN_QUARTERS);
  suite_add_tcase(suite, values);
  TCase *handles = tcase_create("handles");
  tcase_add_test(handles, a_measured_plan_starts_clean_and_agrees);
  tcase_add_test(handles, bad_sizes_are_refused);
  tcase_add_test(handles, good_lengths_are_the_largest_products_of_small_primes);
  suite_add_tcase(suite, handles);
  return suite;
}
