/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Low-pass, pre-emphasis, integration: against the exact laws. */
#include <complex.h>
#include <math.h>

#include <check.h>

#include "signal/integral.h"
#include "signal/shape.h"
#include "signal/suites.h"
#include "signal/tools.h"

/* Pre-emphasis G = 10 log10(1 + (2 pi f tau)^2), a table computed from that law (ITU-R BS.450-3
 * clause 1.2); the tolerance is the table's rounding. */
static const struct {
  double hz, db_50us, db_75us;
} table[] = {{30, 0.000, 0.001},      {400, 0.068, 0.152},    {1000, 0.409, 0.871},
             {3000, 2.761, 4.769},    {5000, 5.400, 8.164},   {10000, 10.362, 13.656},
             {12500, 12.154, 15.526}, {15000, 13.656, 17.073}};

static double response_db(double tau_s, double hz)
{
  struct signal_shape *shape;
  ck_assert_int_eq(signal_shape_create(15e3, 17e3, tau_s, 92307.7, &shape), SC_OK);
  const double gain = db(cabs(signal_shape_response(shape, hz)));
  signal_shape_destroy(shape);
  return gain;
}

START_TEST(preemphasis_is_the_tabulated_one)
{
  for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
    CHECK_CLOSE(response_db(50e-6, table[i].hz), table[i].db_50us, 0.00051);
    CHECK_CLOSE(response_db(75e-6, table[i].hz), table[i].db_75us, 0.00051);
    CHECK_CLOSE(response_db(0, table[i].hz), 0, 1e-4);
  }
}
END_TEST

START_TEST(preemphasis_has_the_exact_phase)
{
  struct signal_shape *shape;
  ck_assert_int_eq(signal_shape_create(15e3, 17e3, 75e-6, 92307.7, &shape), SC_OK);
  for (double hz = 30; hz <= 15e3; hz += 499) {
    const double complex exact = 1 + I * TWO_PI * hz * 75e-6;
    CHECK_BELOW(cabs(signal_shape_response(shape, hz) / exact - 1), 1e-5);
  }
  signal_shape_destroy(shape);
}
END_TEST

START_TEST(nothing_is_left_above_the_limit)
{
  for (double hz = 17e3; hz < 46e3; hz += 773) {
    CHECK_BELOW(response_db(0, hz), -118);
    CHECK_BELOW(response_db(75e-6, hz), -100);
  }
}
END_TEST

START_TEST(a_stream_has_the_shapes_response)
{
  enum { N = 3000 };
  static double in[N], out[N];
  struct signal_shape *shape;
  struct signal_shaped *shaped;
  ck_assert_int_eq(signal_shape_create(15e3, 17e3, 50e-6, 96e3, &shape), SC_OK);
  ck_assert_int_eq(signal_shaped_create(shape, &shaped), SC_OK);
  for (size_t i = 0; i < N; i++)
    in[i] = cos(TWO_PI * 7000 * (double)i / 96e3);
  signal_shaped_run(shaped, in, out, 7);
  signal_shaped_run(shaped, in + 7, out + 7, N - 7);
  const double complex h = signal_shape_response(shape, 7000);
  for (size_t i = shape->count; i < N; i++) {
    const double t = ((double)i - (double)signal_shape_ahead(shape)) / 96e3;
    CHECK_CLOSE(out[i], creal(h * cexp(I * TWO_PI * 7000 * t)), 1e-12);
  }
  signal_shaped_destroy(shaped);
  signal_shape_destroy(shape);
}
END_TEST

/* Integral of a tone over each interval, exactly; the bar is the header's. */
static void check_integral(double cycles, double relative)
{
  enum { N = 200 };
  static struct signal_integral integral;
  static double in[N], step[N];
  for (size_t i = 0; i < N; i++)
    in[i] = cos(TWO_PI * cycles * (double)i);
  signal_integral_run(&integral, in, step, N);
  for (size_t i = 16; i < N; i++) {
    const double to = (double)i - SIGNAL_INTEGRAL_AHEAD;
    const double w = TWO_PI * cycles;
    const double exact = (sin(w * to) - sin(w * (to - 1))) / w;
    CHECK_CLOSE(step[i], exact, relative);
  }
}

START_TEST(integration_is_exact_where_the_composite_is)
{
  check_integral(0.1, 2e-5);
  check_integral(0.053, 1.1e-7);
  check_integral(0.019, 5e-11);
}
END_TEST

Suite *shape_suite(void)
{
  Suite *suite = suite_create("shape");
  TCase *tests = tcase_create("shape");
  tcase_add_test(tests, preemphasis_is_the_tabulated_one);
  tcase_add_test(tests, preemphasis_has_the_exact_phase);
  tcase_add_test(tests, nothing_is_left_above_the_limit);
  tcase_add_test(tests, a_stream_has_the_shapes_response);
  tcase_add_test(tests, integration_is_exact_where_the_composite_is);
  suite_add_tcase(suite, tests);
  return suite;
}
