/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Components with exact phase: against extended precision, hours into a signal. */
#include <math.h>

#include <check.h>

#include "signal/bank.h"
#include "signal/suites.h"
#include "signal/tools.h"

static const long double two_pi = 6.283185307179586476925286766559L;

/* Rounding of the recurrence over one block, with a margin of four. */
static const double tolerance = 1e-14;

/* Frequencies that are whole hertz leave whole numbers to reduce: an exact truth. */
static long double exact_cycles(int64_t frequency_hz, int64_t index, int64_t rate_hz)
{
  const int64_t whole = frequency_hz * (index % rate_hz) % rate_hz;
  return (long double)whole / (long double)rate_hz;
}

static const int64_t starts[] = {0, 1, 255, -300, INT64_C(2400000) * 3600 * 5 + 17};
static const int64_t frequencies[] = {1, 50, 19000, 57000, -38000, 1199999};

static void check_block(int64_t frequency_hz, int64_t first)
{
  struct signal_bank *bank;
  double real[SIGNAL_BLOCK] = {0}, both[2 * SIGNAL_BLOCK] = {0};
  ck_assert_int_eq(signal_bank_create(1, 2400000, &bank), SC_OK);
  signal_bank_add(bank, (double)frequency_hz, signal_complex(0.6, 0.8));
  signal_bank_sum(bank, first, real, SIGNAL_BLOCK);
  signal_bank_sum_complex(bank, first, both, SIGNAL_BLOCK - 3);
  const long double weight_angle = atan2l(0.8L, 0.6L);
  for (int64_t i = 0; i < SIGNAL_BLOCK; i++) {
    const long double angle =
        two_pi * exact_cycles(frequency_hz, first + i, 2400000) + weight_angle;
    CHECK_CLOSE(real[i], (double)cosl(angle), tolerance);
    if (i < SIGNAL_BLOCK - 3) {
      CHECK_CLOSE(both[2 * i], (double)cosl(angle), tolerance);
      CHECK_CLOSE(both[2 * i + 1], (double)sinl(angle), tolerance);
    }
  }
  signal_bank_destroy(bank);
}

START_TEST(phase_is_exact_after_hours)
{
  for (size_t f = 0; f < sizeof frequencies / sizeof frequencies[0]; f++)
    for (size_t s = 0; s < sizeof starts / sizeof starts[0]; s++)
      check_block(frequencies[f], starts[s]);
}
END_TEST

START_TEST(fractional_frequencies_are_exact_too)
{
  /* 19000.375 Hz at 384 kS/s, 10 h in: the product is exact in 64-bit integers of 1/8 Hz */
  const int64_t n = INT64_C(384000) * 36000 + 12345;
  const int64_t rest = INT64_C(152003) * (n % 3072000) % 3072000;
  CHECK_CLOSE(signal_cycles(19000.375, n, 384000), (double)rest / 3072000, 1e-15);
}
END_TEST

START_TEST(components_add_and_zero_weights_vanish)
{
  struct signal_bank *bank;
  double out[10];
  for (size_t i = 0; i < 10; i++)
    out[i] = 1;
  ck_assert_int_eq(signal_bank_create(3, 8, &bank), SC_OK);
  signal_bank_add(bank, 1, 0);
  signal_bank_add(bank, 2, 2);
  signal_bank_add(bank, 4, 3);
  signal_bank_sum(bank, 0, out, 10);
  for (int i = 0; i < 10; i++)
    CHECK_CLOSE(out[i], 1 + 2 * cos(acos(-1) / 2 * i) + 3 * cos(acos(-1) * i), 1e-14);
  signal_bank_destroy(bank);
  signal_bank_destroy(NULL);
}
END_TEST

Suite *bank_suite(void)
{
  Suite *suite = suite_create("bank");
  TCase *tests = tcase_create("bank");
  tcase_add_test(tests, phase_is_exact_after_hours);
  tcase_add_test(tests, fractional_frequencies_are_exact_too);
  tcase_add_test(tests, components_add_and_zero_weights_vanish);
  suite_add_tcase(suite, tests);
  return suite;
}
