/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers as text: digits as the C library rounds them, and no sign on a zero. */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

#include <check.h>

#include "common/number.h"
#include "common/suites.h"

START_TEST(zero_has_no_sign)
{
  static const struct {
    double value;
    int decimals;
    bool sign;
    const char *text;
  } rows[] = {
      {-0.04, 1, false, "0.0"},    {-0.04, 1, true, "0.0"},
      {0.04, 1, true, "0.0"},      {-0.0, 0, false, "0"},
      {0.0, 2, true, "0.00"},      {-0.5, 0, false, "0"}, /* to even */
      {-0.06, 1, false, "-0.1"},   {-1.5, 1, true, "-1.5"},
      {1.5, 1, true, "+1.5"},      {-10, 0, false, "-10"},
      {10, 0, true, "+10"},        {-0.001, 3, true, "-0.001"},
      {1e300, 2, false, "1e+300"}, {-1e300, 2, true, "-1e+300"},
  };
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
    ck_assert_str_eq(common_number(rows[i].value, rows[i].decimals, rows[i].sign).text,
                     rows[i].text);
  ck_assert_str_eq(common_number((double)NAN, 1, false).text, "nan");
  ck_assert_str_eq(common_number((double)INFINITY, 1, false).text, "inf");
}
END_TEST

/* On either side of each rounding, what is no zero is what printf says. */
START_TEST(other_numbers_are_as_printf_has_them)
{
  for (int n = -2000; n <= 2000; n++)
    for (int decimals = 0; decimals < 4; decimals++) {
      char plain[64];
      (void)snprintf(plain, sizeof plain, "%+.*f", decimals, n * 0.0005);
      const char *wanted = strpbrk(plain, "123456789") != NULL ? plain : plain + 1;
      ck_assert_str_eq(common_number(n * 0.0005, decimals, true).text, wanted);
    }
}
END_TEST

Suite *number_suite(void)
{
  Suite *suite = suite_create("number");
  TCase *tests = tcase_create("number");
  tcase_add_test(tests, zero_has_no_sign);
  tcase_add_test(tests, other_numbers_are_as_printf_has_them);
  suite_add_tcase(suite, tests);
  return suite;
}
