/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Tapered means against the sums that define them. */
#include <config.h>

#include <math.h>
#include <stdlib.h>

#include "dsp/suites.h"
#include "dsp/taper.h"
#include "support/random.h"
#include "support/support.h"

static double slow_mean(const float *x, size_t n, int p)
{
  double sum = 0.0;
  double weights = 0.0;
  for (size_t i = 0; i < n; i++) {
    const double u = (2.0 * (double)i + 1.0) / (double)n - 1.0;
    const double weight = pow(1.0 - u * u, p);
    sum += weight * x[i];
    weights += weight;
  }
  return sum / weights;
}

/* Lengths around the edges of blocks, stretches and merging. */
START_TEST(means_are_their_sums)
{
  static const size_t lengths[] = {1000, 1024, 3333, 12287, 12288, 12289, 100000, 777777};
  uint64_t random = support_seed("means_are_their_sums", 20260303);
  for (size_t l = 0; l < sizeof lengths / sizeof *lengths; l++) {
    const size_t n = lengths[l];
    float *x = malloc(n * sizeof *x);
    struct dsp_taper taper;
    for (size_t i = 0; i < n; i++)
      x[i] = (float)(3.0 + 75.0 * support_uniform(&random));
    dsp_taper_reset(&taper);
    for (size_t fed = 0; fed < n;) {
      const size_t most = n - fed;
      const size_t count = (size_t)(support_random(&random) % 5001);
      dsp_taper_feed(&taper, x + fed, count < most ? count : most);
      fed += count < most ? count : most;
    }
    for (int p = 0; p <= DSP_TAPER_ORDER; p++) /* the sum of weights is taken as an integral */
      ck_assert_double_eq_tol(dsp_taper_mean(&taper, p), slow_mean(x, n, p),
                              1e-11 + 10.0 / (double)n / (double)n);
    free(x);
  }
}
END_TEST

START_TEST(stretches_are_parts)
{
  enum { FRAMES = 100000 };
  uint64_t random = 5;
  float *x = malloc(FRAMES * sizeof *x);
  double means[DSP_TAPER_STRETCHES];
  struct dsp_taper taper;
  for (size_t i = 0; i < FRAMES; i++)
    x[i] = (float)support_uniform(&random);
  dsp_taper_reset(&taper);
  dsp_taper_feed(&taper, x, FRAMES);
  const size_t count = dsp_taper_stretch_means(&taper, 4, means);
  ck_assert_uint_ge(count, DSP_TAPER_STRETCHES / 2);
  ck_assert_uint_lt(count, DSP_TAPER_STRETCHES);
  for (size_t s = 0; s < count; s++)
    ck_assert_double_eq_tol(means[s],
                            slow_mean(x + s * taper.stretch_frames, taper.stretch_frames, 4), 1e-6);
  free(x);
}
END_TEST

/* The integrals by the midpoint rule. */
START_TEST(integrals_are_right)
{
  enum { STEPS = 100000 };
  for (int p = 1; p <= DSP_TAPER_ORDER; p++) {
    double area = 0.0;
    double square = 0.0;
    double slope = 0.0;
    for (int i = 0; i < STEPS; i++) {
      const double t = (i + 0.5) / STEPS;
      const double u = 2.0 * t - 1.0;
      const double w = pow(1.0 - u * u, p);
      const double derivative = -4.0 * p * u * pow(1.0 - u * u, p - 1);
      area += w / STEPS;
      square += w * w / STEPS;
      slope += derivative * derivative / STEPS;
    }
    ck_assert_double_eq_tol(dsp_taper_square(p), square / (area * area), 1e-6);
    ck_assert_double_eq_tol(dsp_taper_slope(p), slope / (area * area), 1e-5);
  }
  ck_assert_double_eq_tol(dsp_taper_slope(1), 12.0, 1e-12); /* the bound's 6 / (4 pi^2) */
}
END_TEST

START_TEST(nothing_has_mean_zero)
{
  struct dsp_taper taper;
  double means[DSP_TAPER_STRETCHES];
  dsp_taper_reset(&taper);
  ck_assert_double_eq(dsp_taper_mean(&taper, 2), 0.0);
  ck_assert_uint_eq(dsp_taper_stretch_means(&taper, 2, means), 0);
}
END_TEST

Suite *taper_suite(void)
{
  Suite *suite = suite_create("dsp/taper");
  TCase *tests = tcase_create("taper");
  tcase_add_test(tests, means_are_their_sums);
  tcase_add_test(tests, stretches_are_parts);
  tcase_add_test(tests, integrals_are_right);
  tcase_add_test(tests, nothing_has_mean_zero);
  suite_add_tcase(suite, tests);
  return suite;
}
