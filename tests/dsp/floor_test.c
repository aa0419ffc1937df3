/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Quantile bias and thresholds against the gamma distribution of a reference library and
 * against published forms; the floor itself against noise whose mean is known. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include <check.h>

#include "dsp/floor.h"
#include "dsp/suites.h"
#include "reference/gamma_values.h"
#include "support/random.h"
#include "support/support.h"

static const double QUANTILE_ERROR = 1e-9; /* relative; bisection and series reach 1e-13 */
enum { BINS = 4001 };

static double db(double ratio)
{
  return 10 * log10(ratio);
}

START_TEST(quantile_bias_agrees_with_the_gamma_distribution)
{
  for (size_t i = 0; i < sizeof mean_over_quantile / sizeof *mean_over_quantile; i++) {
    const struct gamma_value *v = &mean_over_quantile[i];
    double got = dsp_quantile_bias(v->chance, v->looks);
    ck_assert_double_eq_tol(got / v->value, 1, QUANTILE_ERROR);
  }
}
END_TEST

START_TEST(threshold_agrees_with_the_gamma_distribution)
{
  for (size_t i = 0; i < sizeof threshold_over_mean / sizeof *threshold_over_mean; i++) {
    const struct gamma_value *v = &threshold_over_mean[i];
    double got = dsp_threshold(v->chance, v->looks);
    ck_assert_double_eq_tol(got / v->value, 1, QUANTILE_ERROR);
  }
}
END_TEST

/* One look: a quantile is -ln(1 - q) of the mean, a threshold -ln p (exponential distribution,
 * any textbook). */
START_TEST(one_look_is_exponential)
{
  for (double q = 0.05; q < 1; q += 0.05) {
    ck_assert_double_eq_tol(dsp_quantile_bias(q, 1) * -log(1 - q), 1, QUANTILE_ERROR);
    ck_assert_double_eq_tol(dsp_threshold(q, 1) / -log(q), 1, QUANTILE_ERROR);
  }
}
END_TEST

/* K looks: median over mean, 10 % quantile, 99.9 % and 99.9999 % points in dB, as computed
 * apart from this code to the decimals shown. */
START_TEST(agrees_with_the_computed_table)
{
  static const struct {
    double looks, median, tenth, permille, millionth;
  } table[] = {{1, -1.592, -9.77, 8.39, 11.40}, {2, -0.761, -5.75, 6.64, 9.21},
               {4, -0.372, -3.60, 5.14, 7.27},  {8, -0.183, -2.35, 3.90, 5.62},
               {16, -0.091, -1.57, 2.91, 4.25}, {32, -0.045, -1.07, 2.14, 3.17},
               {64, -0.023, -0.74, 1.56, 2.33}, {128, -0.011, -0.51, 1.12, 1.70}};
  for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
    double k = table[i].looks;
    ck_assert_double_eq_tol(-db(dsp_quantile_bias(0.5, k)), table[i].median, 0.0006);
    ck_assert_double_eq_tol(-db(dsp_quantile_bias(0.1, k)), table[i].tenth, 0.0051);
    ck_assert_double_eq_tol(db(dsp_threshold(1e-3, k)), table[i].permille, 0.0051);
    ck_assert_double_eq_tol(db(dsp_threshold(1e-6, k)), table[i].millionth, 0.0051);
  }
}
END_TEST

/* Noise of mean `mean`, each bin the average of `looks` exponential looks. */
static void fill_noise(uint64_t *state, unsigned looks, double mean, double *power, size_t n)
{
  for (size_t i = 0; i < n; i++) {
    power[i] = 0;
    for (unsigned k = 0; k < looks; k++)
      power[i] += -log((support_uniform(state) + 1 + 0x1p-24) / 2) * mean / looks;
  }
}

static const struct {
  unsigned looks;
  size_t half_width;
  double quantile;
} noises[] = {{1, 10, 0.5},  {1, 10, 0.25}, {1, 3, 0.5},   {4, 10, 0.5},
              {16, 20, 0.3}, {1, 200, 0.5}, {64, 50, 0.5}, {1, 16, 0.75}};

/* Mean of the floor over many trials against the true mean: what remains of the bias of small
 * samples falls with their number, 2 % for 7 bins and 0.7 % for 21. */
START_TEST(the_floor_is_unbiased)
{
  uint64_t state = support_seed("the_floor_is_unbiased", 21 + (uint64_t)_i);
  unsigned trials = support_trials(40);
  double power[BINS], floor[BINS], sum = 0, squares = 0;
  for (unsigned t = 0; t < trials; t++) {
    fill_noise(&state, noises[_i].looks, 3e-9, power, BINS);
    ck_assert_int_eq(
        dsp_floor(power, BINS, noises[_i].half_width, noises[_i].quantile, noises[_i].looks, floor),
        SC_OK);
    double mean = 0;
    for (size_t i = 0; i < BINS; i++)
      mean += floor[i] / 3e-9 / BINS;
    sum += mean;
    squares += mean * mean;
  }
  double mean = sum / trials;
  double sd = sqrt(fmax(0, squares / trials - mean * mean) / trials) + 1e-3;
  printf("half width %zu: mean of the floor over the true mean %.5f\n", noises[_i].half_width,
         mean);
  double bias = 0.15 / (double)(2 * noises[_i].half_width + 1);
  ck_assert_double_eq_tol(mean, 1, bias + 4 * sd);
}
END_TEST

static int ascending(const void *left, const void *right)
{
  double a = *(const double *)left, b = *(const double *)right;
  return (a > b) - (a < b);
}

/* The plain definition: each neighbourhood sorted anew. */
static double plain_quantile(const double *power, size_t n, size_t i, size_t half, double q)
{
  double members[BINS];
  size_t first = i > half ? i - half : 0, last = i + half < n ? i + half : n - 1, m = 0;
  for (size_t j = first; j <= last; j++)
    members[m++] = power[j];
  qsort(members, m, sizeof *members, ascending);
  double position = fmin(fmax(q * (double)(m + 1), 1), (double)m);
  size_t k = (size_t)position;
  double next = k < m ? members[k] : members[m - 1];
  return members[k - 1] + (position - (double)k) * (next - members[k - 1]);
}

START_TEST(the_running_quantile_is_the_sorted_one)
{
  static const size_t halves[] = {0, 1, 7, 40, 299, 300, 5000};
  enum { N = 300 };
  uint64_t state = support_seed("the_running_quantile_is_the_sorted_one", 31);
  double power[N], floor[N], looks = 1e7; /* so many looks that no bias is left to correct */
  fill_noise(&state, 1, 1, power, N);
  for (size_t i = 0; i < N; i += 3)
    power[i] = power[i / 2]; /* ties */
  for (size_t h = 0; h < sizeof halves / sizeof *halves; h++) {
    ck_assert_int_eq(dsp_floor(power, N, halves[h], 0.4, looks, floor), SC_OK);
    for (size_t i = 0; i < N; i++)
      ck_assert_double_eq_tol(floor[i] / plain_quantile(power, N, i, halves[h], 0.4), 1, 1e-3);
  }
}
END_TEST

START_TEST(lines_do_not_lift_the_floor)
{
  uint64_t state = support_seed("lines_do_not_lift_the_floor", 41);
  double power[BINS], floor[BINS];
  fill_noise(&state, 64, 1, power, BINS);
  for (size_t i = 0; i < BINS; i += 20)
    power[i] += 1e9;
  ck_assert_int_eq(dsp_floor(power, BINS, 200, 0.4, 64, floor), SC_OK);
  for (size_t i = 0; i < BINS; i++)
    ck_assert_double_eq_tol(db(floor[i]), 0, 0.3);
}
END_TEST

START_TEST(false_alarms_come_as_often_as_asked)
{
  uint64_t state = support_seed("false_alarms_come_as_often_as_asked", 51);
  double power[BINS], threshold = dsp_threshold(1e-2, 4);
  unsigned trials = support_trials(100), alarms = 0;
  for (unsigned t = 0; t < trials; t++) {
    fill_noise(&state, 4, 1, power, BINS);
    for (size_t i = 0; i < BINS; i++)
      alarms += power[i] > threshold;
  }
  double expected = 1e-2 * BINS * trials;
  ck_assert_double_eq_tol(alarms, expected, 4 * sqrt(expected));
}
END_TEST

START_TEST(bad_arguments_are_refused)
{
  double power[2] = {1, 2}, floor[2];
  ck_assert_int_eq(dsp_floor(NULL, 2, 1, 0.5, 1, floor), SC_BAD_ARGUMENT);
  ck_assert_int_eq(dsp_floor(power, 2, 1, 0.5, 1, NULL), SC_BAD_ARGUMENT);
  ck_assert_int_eq(dsp_floor(power, 2, 1, 0, 1, floor), SC_BAD_ARGUMENT);
  ck_assert_int_eq(dsp_floor(power, 2, 1, 1, 1, floor), SC_BAD_ARGUMENT);
  ck_assert_int_eq(dsp_floor(power, 2, 1, NAN, 1, floor), SC_BAD_ARGUMENT);
  ck_assert_int_eq(dsp_floor(power, 2, 1, 0.5, 0, floor), SC_BAD_ARGUMENT);
  ck_assert_int_eq(dsp_floor(power, 0, 1, 0.5, 1, floor), SC_OK);
}
END_TEST

Suite *floor_suite(void)
{
  Suite *suite = suite_create("floor");
  TCase *gamma = tcase_create("gamma");
  tcase_add_test(gamma, quantile_bias_agrees_with_the_gamma_distribution);
  tcase_add_test(gamma, threshold_agrees_with_the_gamma_distribution);
  tcase_add_test(gamma, one_look_is_exponential);
  tcase_add_test(gamma, agrees_with_the_computed_table);
  tcase_add_test(gamma, false_alarms_come_as_often_as_asked);
  suite_add_tcase(suite, gamma);
  TCase *running = tcase_create("running");
  tcase_add_loop_test(running, the_floor_is_unbiased, 0, sizeof noises / sizeof *noises);
  tcase_add_test(running, the_running_quantile_is_the_sorted_one);
  tcase_add_test(running, lines_do_not_lift_the_floor);
  tcase_add_test(running, bad_arguments_are_refused);
  suite_add_tcase(suite, running);
  return suite;
}
