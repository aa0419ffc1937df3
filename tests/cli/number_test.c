/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers as people type them, and what is no number. */
#include <config.h>

#include <math.h>
#include <string.h>

#include "cli/number.h"
#include "cli/suites.h"

static bool take(const char *text, const char *unit, double *value)
{
  return cli_number(text, strlen(text), unit, value);
}

START_TEST(prefixes_and_units_are_taken)
{
  static const struct {
    const char *text, *unit;
    double value;
  } cases[] = {
      {"19k", "Hz", 19e3},    {"2.4M", "Hz", 2.4e6},   {"91.205MHz", "Hz", 91.205e6},
      {"1G", "Hz", 1e9},      {"384000", "Hz", 384e3}, {"-80k", "Hz", -80e3},
      {"+150K", "Hz", 150e3}, {"1e6", "Hz", 1e6},      {".5", "s", 0.5},
      {"10s", "s", 10},       {"75kHz", "kHz", 75},    {"0", "Hz", 0},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    double value = (double)NAN;
    ck_assert_msg(take(cases[i].text, cases[i].unit, &value), "%s", cases[i].text);
    ck_assert_double_eq_tol(value, cases[i].value, fabs(cases[i].value) * 1e-15 + 1e-30);
  }
}
END_TEST

START_TEST(garbage_is_refused)
{
  static const char *const cases[] = {"",      "k",   "nan", "inf", "-inf", "0x10",  "1,5",
                                      "1 k",   "1kk", "1kM", "1e",  "--1",  "1.2.3", "1m",
                                      "1e999", "12x", " 1",  "1 ",  "1Hzz", "+",     "."};
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    double value = 7;
    ck_assert_msg(!take(cases[i], "Hz", &value), "'%s' was taken as %g", cases[i], value);
    ck_assert_double_eq(value, 7);
  }
  double value;
  ck_assert(!take("1k", "s", &value));
  char long_text[4096];
  memset(long_text, '1', sizeof long_text - 1);
  long_text[sizeof long_text - 1] = '\0';
  ck_assert(!take(long_text, "Hz", &value));
}
END_TEST

START_TEST(pairs_are_written_in_three_ways)
{
  static const char *const cases[] = {"-0.8±0.25", "-0.8+-0.25", "-0.8,0.25"};
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    double value, uncertainty;
    ck_assert_msg(cli_number_pair(cases[i], &value, &uncertainty), "%s", cases[i]);
    ck_assert_double_eq_tol(value, -0.8, 1e-15);
    ck_assert_double_eq_tol(uncertainty, 0.25, 1e-15);
  }
}
END_TEST

START_TEST(half_a_pair_is_refused)
{
  static const char *const cases[] = {"", "0.8", "±0.2", "0.8±", "0.8,", "a,b", "1±2±3", "1,nan"};
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    double value, uncertainty;
    ck_assert_msg(!cli_number_pair(cases[i], &value, &uncertainty), "%s", cases[i]);
  }
}
END_TEST

Suite *number_suite(void)
{
  Suite *suite = suite_create("number");
  TCase *typed = tcase_create("typed");
  tcase_add_test(typed, prefixes_and_units_are_taken);
  tcase_add_test(typed, garbage_is_refused);
  tcase_add_test(typed, pairs_are_written_in_three_ways);
  tcase_add_test(typed, half_a_pair_is_refused);
  suite_add_tcase(suite, typed);
  return suite;
}
