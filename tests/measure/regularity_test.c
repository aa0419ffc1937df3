/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Sequences whose best prediction is known: white noise, which has none; an autoregressive one,
 * z(n) = a z(n-1) + w(n), whose power is that of w over 1 - |a|^2 (G. U. Yule, Phil. Trans. A 226,
 * 1927; from memory), w being the error; and a carrier in noise. */
#include <config.h>

#include <complex.h>
#include <math.h>

#include <check.h>

#include "measure/regularity.h"
#include "measure/suites.h"
#include "support/random.h"
#include "support/support.h"

enum { FRAMES = 1 << 15 };
/* Records so few add what their mean's logarithm lacks: 1 / 2 K of a neper in power, K half of the
 * 127 records; and chance: 512 bins scatter by 1 / sqrt(K) each. */
static const double tolerance_db = 0.15;

static float samples[2 * FRAMES];

static double complex normal(uint64_t *random)
{
  double pair[2];
  support_normal_pair(random, pair);
  return pair[0] + I * pair[1];
}

static struct measure_regularity regularity(size_t frames)
{
  struct measure_regularity is;
  ck_assert_int_eq(measure_regularity(samples, frames, &is), SC_OK);
  return is;
}

static void put(size_t n, double complex z)
{
  samples[2 * n] = (float)creal(z);
  samples[2 * n + 1] = (float)cimag(z);
}

START_TEST(the_gain_is_that_of_the_best_prediction)
{
  static const double moduli[] = {0, 0.5, 0.9, 0.97};
  uint64_t random = support_seed("the_gain_is_that_of_the_best_prediction", 5);
  const double complex a = moduli[_i] * cexp(1.1 * I);
  double complex z = 0;
  for (size_t n = 0; n < 500 + FRAMES; n++) {
    z = a * z + normal(&random);
    if (n >= 500)
      put(n - 500, 1e-3 * z + (3 - I)); /* the mean is no gain */
  }
  const struct measure_regularity is = regularity(FRAMES);
  ck_assert_double_eq_tol(is.gain_db, -10 * log10(1 - moduli[_i] * moduli[_i]), tolerance_db);
  ck_assert_double_le(is.improper, 0.06); /* 4 sigma of the most correlated one */
}
END_TEST

/* A line is predicted to its noise, but for what its width under the window takes: four bins of
 * 512, which are as high as the signal to noise ratio times 512. */
START_TEST(a_carrier_in_noise)
{
  uint64_t random = support_seed("a_carrier_in_noise", 6);
  for (size_t n = 0; n < FRAMES; n++)
    put(n, 10 * cexp(0.7 * I * (double)n) + normal(&random));
  const struct measure_regularity is = regularity(FRAMES);
  ck_assert_double_eq_tol(is.gain_db, 10 * log10(1 + 50), 0.5);
  ck_assert_double_le(is.improper, 0.06);
}
END_TEST

/* I and Q are neighbours of one real sequence, as where 8 bits are read as 16. */
START_TEST(a_real_sequence_is_improper)
{
  for (size_t n = 0; n < 2 * FRAMES; n++)
    samples[n] = (float)cos(0.4 * (double)n);
  ck_assert_double_ge(regularity(FRAMES).improper, 0.9);
}
END_TEST

START_TEST(what_stands_still_has_none)
{
  for (size_t n = 0; n < FRAMES; n++)
    put(n, 0.3 - 0.2 * I);
  ck_assert_double_eq(regularity(FRAMES).gain_db, 0);
  for (size_t n = 0; n < FRAMES; n++)
    put(n, n == 7 ? 3e38 : 1e-3); /* and absurd values do no harm */
  ck_assert(isfinite(regularity(FRAMES).gain_db));
  struct measure_regularity is;
  ck_assert_int_eq(measure_regularity(samples, MEASURE_REGULARITY_LEAST - 1, &is), SC_BAD_ARGUMENT);
}
END_TEST

Suite *regularity_suite(void)
{
  Suite *suite = suite_create("measure/regularity");
  TCase *tests = tcase_create("regularity");
  tcase_add_loop_test(tests, the_gain_is_that_of_the_best_prediction, 0, 4);
  tcase_add_test(tests, a_carrier_in_noise);
  tcase_add_test(tests, a_real_sequence_is_improper);
  tcase_add_test(tests, what_stands_still_has_none);
  suite_add_tcase(suite, tests);
  return suite;
}
