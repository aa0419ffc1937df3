/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The carrier's turning against the C library's sine and cosine. */
#include <math.h>
#include <string.h>

#include <check.h>

#include "signal/suites.h"
#include "signal/tools.h"
#include "signal/turn.h"
#include "support/random.h"

enum { N = 1000 };

/* 1e-15: what the header promises. */
static const double tolerance = 1e-15;

static void check_angles(const double *radians)
{
  double iq[2 * N], swell[N];
  memset(iq, 0, sizeof iq);
  for (int i = 0; i < N; i++)
    swell[i] = 1;
  signal_turn_add(iq, radians, swell, 0, 0, N);
  for (int i = 0; i < N; i++) {
    CHECK_CLOSE(iq[2 * i], cos(radians[i]), tolerance);
    CHECK_CLOSE(iq[2 * i + 1], sin(radians[i]), tolerance);
  }
}

START_TEST(sine_and_cosine_are_the_librarys)
{
  uint64_t state = 5;
  double radians[N];
  for (double reach = 1e-9; reach < 2e5; reach *= 10) {
    for (int i = 0; i < N; i++)
      radians[i] = reach * support_uniform(&state);
    check_angles(radians);
  }
}
END_TEST

/* Where the quarters change over, and one step to either side. */
START_TEST(no_quarter_is_taken_for_another)
{
  double radians[N];
  for (int i = 0; i < N; i++) {
    const double edge = (i / 3 - 160) * TWO_PI / 8;
    radians[i] = i % 3 == 0 ? edge : nextafter(edge, i % 3 == 1 ? 1e9 : -1e9);
  }
  check_angles(radians);
}
END_TEST

START_TEST(amplitude_first_angle_and_step_are_used)
{
  double iq[2 * N], radians[N], swell[N];
  for (int i = 0; i < N; i++) {
    iq[2 * i] = iq[2 * i + 1] = 0.25;
    radians[i] = 0.3 * i;
    swell[i] = 1 + 0.001 * i;
  }
  signal_turn_add(iq, radians, swell, 0.7, -1.1, N);
  for (int i = 0; i < N; i++) {
    CHECK_CLOSE(iq[2 * i], 0.25 + swell[i] * cos(0.7 - 0.8 * i), 1e-12);
    CHECK_CLOSE(iq[2 * i + 1], 0.25 + swell[i] * sin(0.7 - 0.8 * i), 1e-12);
  }
}
END_TEST

Suite *turn_suite(void)
{
  Suite *suite = suite_create("turn");
  TCase *tests = tcase_create("turn");
  tcase_add_test(tests, sine_and_cosine_are_the_librarys);
  tcase_add_test(tests, no_quarter_is_taken_for_another);
  tcase_add_test(tests, amplitude_first_angle_and_step_are_used);
  suite_add_tcase(suite, tests);
  return suite;
}
