/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Quantile bias and thresholds against the gamma distribution of a reference library and
 * against published forms; false alarms counted in noise. */
#include <math.h>

#include <check.h>

#include "dsp/gamma.h"
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

Suite *gamma_suite(void)
{
  Suite *suite = suite_create("gamma");
  TCase *gamma = tcase_create("gamma");
  tcase_add_test(gamma, quantile_bias_agrees_with_the_gamma_distribution);
  tcase_add_test(gamma, threshold_agrees_with_the_gamma_distribution);
  tcase_add_test(gamma, one_look_is_exponential);
  tcase_add_test(gamma, agrees_with_the_computed_table);
  tcase_add_test(gamma, false_alarms_come_as_often_as_asked);
  suite_add_tcase(suite, gamma);
  return suite;
}
