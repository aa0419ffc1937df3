/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Times of day against a calendar, counted by hand. */
#include <config.h>

#include <string.h>

#include <check.h>

#include "capture/datetime.h"
#include "capture/suites.h"

START_TEST(moves_over_every_border)
{
  static const struct {
    const char *text;
    double by_s;
    const char *moved;
  } rows[] = {
      {"2031-12-31T23:59:59.75Z", 0.25, "2032-01-01T00:00:00.000000000Z"},
      {"2032-02-28T12:00:00Z", 86400, "2032-02-29T12:00:00.000000000Z"},
      {"2031-02-28T12:00:00Z", 86400.5, "2031-03-01T12:00:00.500000000Z"},
      {"1969-12-31T23:59:59.5Z", -1.0, "1969-12-31T23:59:58.500000000Z"},
      {"2000-01-01T00:00:00.000000001Z", -1e-9, "2000-01-01T00:00:00.000000000Z"},
      {"2031-05-04T10:00:00.125Z", 0, "2031-05-04T10:00:00.125Z"},
  };
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    char out[SC_DATETIME_LENGTH];
    ck_assert_msg(capture_datetime_move(rows[i].text, rows[i].by_s, out), "%s", rows[i].text);
    ck_assert_str_eq(out, rows[i].moved);
  }
}
END_TEST

START_TEST(what_is_no_time_is_left_out)
{
  static const char *const texts[] = {
      "",
      "yesterday",
      "2031-02-30T12:00:00Z",
      "2031-05-04T24:00:00Z",
      "2031-05-04T10:00:00",
      "2031-05-04T10:00:00.Z",
      "2031-05-04T10:00:00+02:00",
      "2031-05-04T10:00:00Z\x1b[2J",
      "2031-5-4T10:00:00Z",
      "2031-05-04 10:00:00Z",
      "2031-05-04T10:00:00.1234567890123Z",
  };
  for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
    char out[SC_DATETIME_LENGTH] = "something";
    ck_assert_msg(!capture_datetime_move(texts[i], 0, out), "%s", texts[i]);
    ck_assert_str_eq(out, "");
  }
}
END_TEST

Suite *datetime_suite(void)
{
  Suite *suite = suite_create("datetime");
  TCase *tests = tcase_create("datetime");
  tcase_add_test(tests, moves_over_every_border);
  tcase_add_test(tests, what_is_no_time_is_left_out);
  suite_add_tcase(suite, tests);
  return suite;
}
