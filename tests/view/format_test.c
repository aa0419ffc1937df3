/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers to text and back. */
#include <math.h>

#include "view/format.h"
#include "view/suites.h"

START_TEST(decimals_show_two_digits_of_the_uncertainty)
{
  ck_assert_int_eq(view_decimals(0.0038, 0), 4);
  ck_assert_int_eq(view_decimals(0.38, 0), 2);
  ck_assert_int_eq(view_decimals(12, 0), 0);
  ck_assert_int_eq(view_decimals(1e-9, 0), 6);
  ck_assert_int_eq(view_decimals(NAN, 3), 3);
}
END_TEST

START_TEST(thousands_stand_apart)
{
  ck_assert_str_eq(view_grouped(19000.0123, 3, true).text, "+19 000.012");
  ck_assert_str_eq(view_grouped(-1234567, 0, false).text, "-1 234 567");
  ck_assert_str_eq(view_grouped(-123, 0, false).text, "-123");
  ck_assert_str_eq(view_grouped(0.5, 1, false).text, "0.5");
  ck_assert_str_eq(view_grouped(1e300, 2, false).text, "1e+300");
}
END_TEST

START_TEST(a_frequency_carries_its_uncertainty)
{
  struct sc_quantity pilot = {19000.0123, 0.0042, NULL}, exact = {19000, NAN, NULL};
  ck_assert_str_eq(view_hertz(pilot, false).text, "19 000.0123 ±0.0042 Hz");
  ck_assert_str_eq(view_hertz(exact, true).text, "+19 000 Hz");
  /* What is below the last digit is no 0. */
  struct sc_quantity long_seen = {19000, 2e-8, NULL};
  ck_assert_str_eq(view_hertz(long_seen, false).text, "19 000.000000 ±2e-08 Hz");
}
END_TEST

START_TEST(a_level_shows_what_it_is_worth)
{
  struct sc_quantity fine = {-26.417, 0.02, NULL}, coarse = {-26.417, 0.3, NULL};
  ck_assert_str_eq(view_decibels(fine, "dBc").text, "-26.42 dBc");
  ck_assert_str_eq(view_decibels(coarse, "dBc").text, "-26.4 dBc");
}
END_TEST

START_TEST(a_unit_suits_the_frequency)
{
  ck_assert_str_eq(view_frequency(19000, 1, true).text, "+19.000 kHz");
  ck_assert_str_eq(view_frequency(91.2e6, 1e5, false).text, "91.2 MHz");
  ck_assert_str_eq(view_frequency(-47, 1, true).text, "-47 Hz");
  ck_assert_str_eq(view_frequency(999.9, 1, false).text, "1.000 kHz");
}
END_TEST

START_TEST(times_read_like_a_clock)
{
  ck_assert_str_eq(view_time(0.214, 0.01).text, "0.21 s");
  ck_assert_str_eq(view_time(245, 0.1).text, "4:05.0");
  ck_assert_str_eq(view_time(3723, 1).text, "1:02:03");
}
END_TEST

static double typed_frequency(const char *text)
{
  double hz = NAN;
  return view_parse_frequency(text, &hz) ? hz : NAN;
}

START_TEST(frequencies_are_read_with_units)
{
  ck_assert_double_eq(typed_frequency("19k"), 19000);
  ck_assert_double_eq(typed_frequency("-38 kHz"), -38000);
  ck_assert_double_eq_tol(typed_frequency("100.1M"), 100.1e6, 1e-6);
  ck_assert_double_eq(typed_frequency("+57000"), 57000);
  ck_assert_double_eq(typed_frequency("1.5e3 Hz"), 1500);
}
END_TEST

START_TEST(what_is_no_frequency_is_refused)
{
  static const char *const wrong[] = {"", "k", "19q", "19k5", "1e999", "nan", "inf", "19 k Hz"};
  for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++)
    ck_assert_double_nan(typed_frequency(wrong[i]));
}
END_TEST

static double typed_time(const char *text)
{
  double seconds = NAN;
  return view_parse_time(text, &seconds) ? seconds : NAN;
}

START_TEST(times_are_read)
{
  ck_assert_double_eq(typed_time("2.5"), 2.5);
  ck_assert_double_eq_tol(typed_time("300 ms"), 0.3, 1e-12);
  ck_assert_double_eq(typed_time("1:30"), 90);
  ck_assert_double_eq(typed_time("1:02:03.5"), 3723.5);
  ck_assert_double_nan(typed_time("1:"));
  ck_assert_double_nan(typed_time("1:2:3:4"));
  ck_assert_double_nan(typed_time("1:-2"));
}
END_TEST

Suite *format_suite(void)
{
  Suite *suite = suite_create("format");
  TCase *out = tcase_create("to text");
  tcase_add_test(out, decimals_show_two_digits_of_the_uncertainty);
  tcase_add_test(out, thousands_stand_apart);
  tcase_add_test(out, a_frequency_carries_its_uncertainty);
  tcase_add_test(out, a_level_shows_what_it_is_worth);
  tcase_add_test(out, a_unit_suits_the_frequency);
  tcase_add_test(out, times_read_like_a_clock);
  suite_add_tcase(suite, out);
  TCase *in = tcase_create("from text");
  tcase_add_test(in, frequencies_are_read_with_units);
  tcase_add_test(in, what_is_no_frequency_is_refused);
  tcase_add_test(in, times_are_read);
  suite_add_tcase(suite, in);
  return suite;
}
