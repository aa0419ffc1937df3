/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Raising and lowering the rate: a tone stays the tone that it was, at the time that it had. */
#include <complex.h>
#include <math.h>

#include <check.h>

#include "signal/rate.h"
#include "signal/suites.h"
#include "signal/tools.h"

/* -120 dB; the filters are designed for -130. */
static const double tolerance = 1e-6;

static double tone(double hz, double t)
{
  return sin(TWO_PI * hz * t + 0.4);
}

static void check_raise(size_t factor, double hz)
{
  enum { ROUNDS = 8 };
  static double fast[SIGNAL_SLOW * 120];
  const double slow_rate = 96e3;
  struct signal_raise *raise;
  struct signal_stream *stream;
  ck_assert_int_eq(signal_raise_create(factor, 24e3, slow_rate, &raise), SC_OK);
  ck_assert_int_eq(signal_stream_create(raise, &stream), SC_OK);
  long k = (long)raise->ahead - (long)raise->length + 1; /* the first output is time 0 */
  for (size_t i = 0; i + 1 < raise->length; i++, k++)
    signal_stream_prime(stream, tone(hz, (double)k / slow_rate));
  for (size_t round = 0, n = 0; round < ROUNDS; round++) {
    double slow[SIGNAL_SLOW];
    for (size_t i = 0; i < SIGNAL_SLOW; i++, k++)
      slow[i] = tone(hz, (double)k / slow_rate);
    signal_stream_run(stream, slow, fast);
    for (size_t i = 0; i < SIGNAL_SLOW * factor; i++, n++)
      CHECK_CLOSE(fast[i], tone(hz, (double)n / slow_rate / (double)factor), tolerance);
  }
  signal_stream_destroy(stream);
  signal_raise_destroy(raise);
}

START_TEST(raising_keeps_tones_in_time)
{
  static const size_t factors[] = {11, 12, 26, 111};
  static const double hz[] = {0, 50, 1000, 15e3, 23.9e3};
  for (size_t f = 0; f < 4; f++)
    for (size_t h = 0; h < 5; h++)
      check_raise(factors[f], hz[h]);
}
END_TEST

/* The first slow frame stands at time 0 when the feeding begins `ahead` before it. */
static void check_lower(size_t factor, double hz, double complex gain)
{
  enum { SLOW = 300, STEP = 1000 };
  static double fast[2 * STEP], slow[2 * STEP];
  const double rate = 240e3, fast_rate = rate * (double)factor;
  struct signal_lower *lower;
  ck_assert_int_eq(signal_lower_create(factor, &lower), SC_OK);
  long n = -(long)signal_lower_ahead(lower) - 77;
  signal_lower_skip(lower, 77);
  for (size_t made = 0; made < SLOW;) {
    for (size_t i = 0; i < STEP; i++, n++) {
      const double complex x = cexp(I * TWO_PI * hz * (double)n / fast_rate);
      fast[2 * i] = creal(x);
      fast[2 * i + 1] = cimag(x);
    }
    const size_t got = signal_lower_run(lower, fast, STEP, slow);
    for (size_t i = 0; i < got; i++, made++) {
      const double complex expected = gain * cexp(I * TWO_PI * hz * (double)made / rate);
      CHECK_BELOW(cabs(slow[2 * i] + I * slow[2 * i + 1] - expected), tolerance);
    }
  }
  signal_lower_destroy(lower);
}

START_TEST(lowering_keeps_tones_in_time)
{
  static const size_t factors[] = {1, 2, 3, 5, 7, 53};
  for (size_t f = 0; f < 6; f++) {
    check_lower(factors[f], 0, 1);
    check_lower(factors[f], -38000, 1);
    check_lower(factors[f], 105e3, 1);
  }
}
END_TEST

START_TEST(lowering_removes_what_would_fold_back)
{
  static const double hz[] = {120e3, -121e3, 240e3, 300e3, -600e3};
  for (size_t h = 0; h < 5; h++) {
    check_lower(6, hz[h], 0);
    check_lower(7, hz[h], 0);
  }
}
END_TEST

Suite *rate_suite(void)
{
  Suite *suite = suite_create("rate");
  TCase *tests = tcase_create("rate");
  tcase_add_test(tests, raising_keeps_tones_in_time);
  tcase_add_test(tests, lowering_keeps_tones_in_time);
  tcase_add_test(tests, lowering_removes_what_would_fold_back);
  suite_add_tcase(suite, tests);
  return suite;
}
