/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The tapered record and the view for finding: transforms against plain sums, side lobes, order
 * statistics. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include <check.h>

#include "dsp/fft.h"
#include "dsp/large.h"
#include "dsp/lobe.h"
#include "dsp/plateau.h"
#include "dsp/select.h"
#include "dsp/suites.h"
#include "support/random.h"
#include "support/support.h"

static const double two_pi = 6.283185307179586476925286766559;
static const double interpolation = 3e-9; /* stated in plateau.h */

enum { N = 1000 };

/* n doubles: the window itself; to be freed. */
static double *window_of(const struct dsp_plateau *plateau, size_t n)
{
  double *w = malloc(n * sizeof *w);
  ck_assert_ptr_nonnull(w);
  for (size_t i = 0; i < n; i++)
    w[i] = 1;
  dsp_plateau_apply(plateau, w, 1);
  return w;
}

static double plain_sum(const double *w, size_t n, double bins)
{
  double sum = 0;
  for (size_t i = 0; i < n; i++)
    sum += w[i] * cos(two_pi * bins * ((double)i / (double)n - 0.5));
  return sum / (double)n;
}

START_TEST(response_is_the_transform)
{
  const size_t lengths[] = {128, N, 4096};
  struct dsp_plateau *plateau;
  ck_assert_int_eq(dsp_plateau_create(lengths[_i], &plateau), SC_OK);
  double *w = window_of(plateau, lengths[_i]);
  for (double bins = -60; bins < 60; bins += 0.1371) {
    double value, slope, step = 1e-4;
    dsp_plateau_responses(plateau, bins, 1, &value, &slope);
    ck_assert_double_eq_tol(value, plain_sum(w, lengths[_i], bins), interpolation);
    double rise = plain_sum(w, lengths[_i], bins + step) - plain_sum(w, lengths[_i], bins - step);
    ck_assert_double_eq_tol(slope, rise / (2 * step), 1e-6);
  }
  free(w);
  dsp_plateau_destroy(plateau);
}
END_TEST

/* A run across the tone's place, and one across the end of what is known. */
START_TEST(responses_side_by_side_are_those_of_each)
{
  enum { COUNT = 17 };
  const double starts[] = {-8.3,
                           -8,
                           -20.5,
                           -16.001,
                           3.7,
                           0,
                           -0.25,
                           DSP_PLATEAU_SPAN - 4.5,
                           DSP_PLATEAU_SPAN - 4,
                           -DSP_PLATEAU_SPAN - 4.5,
                           DSP_PLATEAU_SPAN + 3};
  struct dsp_plateau *plateau;
  ck_assert_int_eq(dsp_plateau_create(4096, &plateau), SC_OK);
  for (size_t i = 0; i < sizeof starts / sizeof *starts; i++) {
    double values[COUNT], slopes[COUNT];
    dsp_plateau_responses(plateau, starts[i], COUNT, values, slopes);
    for (size_t m = 0; m < COUNT; m++) {
      double value, slope, bins = starts[i] + (double)m;
      dsp_plateau_responses(plateau, bins, 1, &value, &slope);
      ck_assert_double_eq_tol(values[m], value, 1e-12);
      ck_assert_double_eq_tol(slopes[m], slope, 1e-10);
      ck_assert(fabs(bins) < DSP_PLATEAU_SPAN ? value != 0 : value == 0 && slope == 0);
    }
  }
  dsp_plateau_destroy(plateau);
}
END_TEST

START_TEST(envelope_covers_the_response)
{
  struct dsp_plateau *plateau;
  ck_assert_int_eq(dsp_plateau_create(65536, &plateau), SC_OK);
  for (double bins = 0; bins < DSP_PLATEAU_SPAN + 10; bins += 0.0917) {
    double value, slope;
    dsp_plateau_responses(plateau, bins, 1, &value, &slope);
    ck_assert_double_le(fabs(value), dsp_plateau_envelope(plateau, bins) * 1.001 + 1e-12);
  }
  ck_assert_double_le(dsp_plateau_envelope(plateau, 50), pow(10, -84.0 / 20));
  ck_assert_double_le(dsp_plateau_envelope(plateau, 100), pow(10, -110.0 / 20));
  ck_assert_double_le(dsp_plateau_envelope(plateau, 500), pow(10, -180.0 / 20));
  dsp_plateau_destroy(plateau);
}
END_TEST

START_TEST(covariance_is_that_of_the_window)
{
  struct dsp_plateau *plateau;
  ck_assert_int_eq(dsp_plateau_create(4096, &plateau), SC_OK);
  double *w = window_of(plateau, 4096);
  for (size_t i = 0; i < 4096; i++)
    w[i] *= w[i];
  for (size_t lag = 0; lag < DSP_PLATEAU_LAGS; lag++)
    ck_assert_double_eq_tol(dsp_plateau_covariance(plateau)[lag], plain_sum(w, 4096, (double)lag),
                            1e-4);
  free(w);
  dsp_plateau_destroy(plateau);
}
END_TEST

START_TEST(the_view_for_finding_has_low_side_lobes)
{
  struct dsp_plateau *plateau;
  ck_assert_int_eq(dsp_plateau_create(4096, &plateau), SC_OK);
  struct dsp_lobe lobe = dsp_lobe_make(plateau);
  double *w = window_of(plateau, 4096), *record = malloc(2 * N * sizeof *record);
  ck_assert_ptr_nonnull(record);
  double highest = 0;
  for (double bins = DSP_LOBE_HALF_WIDTH; bins < 400; bins += 0.0671) {
    double sum = 0;
    for (int m = 1 - DSP_LOBE_HALF_WIDTH; m < DSP_LOBE_HALF_WIDTH; m++) {
      double value, slope, line = fabs(lobe.step[abs(m)]);
      dsp_plateau_responses(plateau, bins - m, 1, &value, &slope);
      sum += line * value;
    }
    highest = fmax(highest, sum * sum);
  }
  printf("highest side lobe %.1f dB\n", 10 * log10(highest));
  ck_assert_double_le(highest, DSP_LOBE_FAR);
  ck_assert_double_eq_tol(lobe.power[0], 1, 1e-12);
  ck_assert_double_eq_tol(lobe.noise_gain, 2.632, 0.001); /* noise bandwidth, computed apart */
  free(w);
  free(record);
  dsp_plateau_destroy(plateau);
}
END_TEST

/* Against the same sum written down naively, at the ends of the array too. */
START_TEST(folding_adds_the_windowed_power)
{
  uint64_t seed = support_seed("folding", 5);
  struct dsp_plateau *plateau;
  ck_assert_int_eq(dsp_plateau_create(N, &plateau), SC_OK);
  struct dsp_lobe lobe = dsp_lobe_make(plateau);
  double bins[2 * N];
  float power[N], naive[N];
  for (size_t i = 0; i < 2 * N; i++)
    bins[i] = support_normal(&seed);
  for (int k = 0; k < N; k++) {
    double re = 0, im = 0;
    for (int m = 1 - DSP_LOBE_HALF_WIDTH; m < DSP_LOBE_HALF_WIDTH; m++) {
      re += lobe.step[abs(m)] * bins[2 * ((k + m + N) % N)];
      im += lobe.step[abs(m)] * bins[2 * ((k + m + N) % N) + 1];
    }
    naive[k] = 1 + (float)((re * re + im * im) / N);
    power[k] = 1;
  }
  const size_t firsts[] = {0, 3, 500, N - 10}, counts[] = {N, 4, 100, 10};
  dsp_lobe_add(&lobe, bins, N, firsts[_i], counts[_i], power + firsts[_i]);
  for (size_t k = 0; k < N; k++) {
    bool added = k >= firsts[_i] && k < firsts[_i] + counts[_i];
    ck_assert_float_eq_tol(power[k], added ? naive[k] : 1, 1e-5F);
  }
  dsp_plateau_destroy(plateau);
}
END_TEST

/* In rows as in one piece, up to the end of the spectrum and to less; in pieces as all at once. */
START_TEST(rows_add_the_same_power)
{
  enum { LONG = 8192 };
  const size_t counts[] = {LONG, LONG / 2 + 1, LONG / 2, 100, 5};
  uint64_t seed = support_seed("rows_add_the_same_power", 6);
  struct dsp_plateau *plateau;
  struct dsp_large *large;
  struct dsp_fft64 *whole;
  ck_assert_int_eq(dsp_plateau_create(LONG, &plateau), SC_OK);
  ck_assert_int_eq(dsp_large_create(LONG, &large), SC_OK);
  ck_assert_int_eq(dsp_fft64_create(LONG, DSP_PLAN_ESTIMATE, &whole), SC_OK);
  const struct dsp_lobe lobe = dsp_lobe_make(plateau);
  const struct dsp_rows at = dsp_large_rows(large);
  double *reference = dsp_fft64_buffer(whole);
  static float power[LONG], wanted[LONG];
  ck_assert_uint_gt(at.rows, 1);
  for (size_t i = 0; i < LONG; i++) {
    float *value = at.values + i / at.length * at.stride + 2 * (i % at.length);
    for (size_t c = 0; c < 2; c++)
      reference[2 * i + c] = (double)(value[c] = (float)support_normal(&seed));
  }
  for (size_t r = 0; r < at.rows; r++)
    dsp_plateau_weigh(plateau, r * at.length, at.values + r * at.stride, at.length);
  dsp_plateau_apply(plateau, reference, 2);
  dsp_large_run(large);
  dsp_fft64_run(whole);
  for (size_t k = 0; k < LONG; k++)
    power[k] = wanted[k] = 1;
  dsp_lobe_add_rows(&lobe, &at, counts[_i], power);
  dsp_lobe_add(&lobe, reference, LONG, 0, counts[_i], wanted);
  for (size_t k = 0; k < LONG; k++)
    ck_assert_float_eq_tol(power[k], wanted[k], 3e-5F);
  dsp_large_destroy(large);
  dsp_fft64_destroy(whole);
  dsp_plateau_destroy(plateau);
}
END_TEST

static int by_value(const void *left, const void *right)
{
  const float *a = left, *b = right;
  return (*a > *b) - (*a < *b);
}

START_TEST(selection_agrees_with_sorting)
{
  uint64_t seed = support_seed("selection", 6);
  float values[2000], sorted[2000];
  for (int trial = 0; trial < 2000; trial++) {
    size_t most = trial % 2 == 0 ? 200 : 2000;
    size_t count = 1 + support_random(&seed) % most, rank = support_random(&seed) % count;
    unsigned kinds = 1 + (unsigned)(support_random(&seed) % 300); /* few kinds: many are equal */
    float scale = (float)exp2(40 * support_uniform(&seed));
    for (size_t i = 0; i < count; i++)
      values[i] = sorted[i] = scale * (float)(support_random(&seed) % kinds);
    qsort(sorted, count, sizeof *sorted, by_value);
    ck_assert_float_eq(dsp_select(values, count, rank), sorted[rank]);
    float near = sorted[rank] * (float)exp2(support_uniform(&seed) - 0.5);
    float hints[] = {0, near, 1e-30F, 1e30F, 3e38F, sorted[0], sorted[count - 1]};
    for (size_t i = 0; i < sizeof hints / sizeof *hints; i++)
      ck_assert_float_eq(dsp_select_near(values, count, rank, hints[i]), sorted[rank]);
  }
}
END_TEST

START_TEST(a_record_too_short_is_refused)
{
  struct dsp_plateau *plateau;
  ck_assert_int_eq(dsp_plateau_create(DSP_PLATEAU_SHORTEST - 1, &plateau), SC_BAD_ARGUMENT);
  ck_assert_ptr_null(plateau);
  dsp_plateau_destroy(NULL);
}
END_TEST

Suite *plateau_suite(void)
{
  Suite *suite = suite_create("plateau");
  TCase *tcase = tcase_create("plateau");
  tcase_add_loop_test(tcase, response_is_the_transform, 0, 3);
  tcase_add_test(tcase, responses_side_by_side_are_those_of_each);
  tcase_add_test(tcase, envelope_covers_the_response);
  tcase_add_test(tcase, covariance_is_that_of_the_window);
  tcase_add_test(tcase, the_view_for_finding_has_low_side_lobes);
  tcase_add_loop_test(tcase, folding_adds_the_windowed_power, 0, 4);
  tcase_add_loop_test(tcase, rows_add_the_same_power, 0, 5);
  tcase_add_test(tcase, selection_agrees_with_sorting);
  tcase_add_test(tcase, a_record_too_short_is_refused);
  suite_add_tcase(suite, tcase);
  return suite;
}
