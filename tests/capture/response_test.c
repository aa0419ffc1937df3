/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Response files: what is read, and how mistakes are placed. */
#include <config.h>

#include <locale.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "capture/reading.h"
#include "capture/response.h"
#include "capture/suites.h"
#include "support/files.h"

START_TEST(points_are_read)
{
  static const char text[] = "# sound card, left input\r\n"
                             "\n"
                             "  0 -3.5 90   # blocked by a capacitor\n"
                             "20\t-0.5\t-12.25\r\n"
                             "1e3 0 0\n"
                             "96000.5 +1.5 -370";
  struct dsp_response_point *points;
  size_t count;
  ck_assert_int_eq(capture_response_read(support_file_write("a.txt", text, sizeof text - 1),
                                         &points, &count, NULL),
                   SC_OK);
  ck_assert_uint_eq(count, 4);
  ck_assert(points[0].gain_db == -3.5 && points[0].phase_deg == 90);
  ck_assert(points[1].frequency_hz == 20 && points[1].phase_deg == -12.25);
  ck_assert(points[2].frequency_hz == 1000);
  ck_assert(points[3].frequency_hz == 96000.5 && points[3].phase_deg == -370);
  free(points);
}
END_TEST

static void refused(const char *text, size_t length, const char *part)
{
  struct dsp_response_point *points = NULL;
  size_t count = 0;
  struct sc_message message = {""};
  const char *path = support_file_write("bad.txt", text, length);
  ck_assert_int_eq(capture_response_read(path, &points, &count, &message), SC_BAD_FORMAT);
  reading_check_line(message.text);
  ck_assert_msg(strstr(message.text, "bad.txt") != NULL, "%s", message.text);
  ck_assert_msg(strstr(message.text, part) != NULL, "no '%s' in: %s", part, message.text);
}

START_TEST(mistakes_are_placed)
{
  static const struct {
    const char *text, *part;
  } cases[] = {
      {"", "holds 0 points"},
      {"# only words\n", "holds 0 points"},
      {"10 0 0\n", "holds 1 points"},
      {"10 0 0\n20 0\n", "line 2: three numbers"},
      {"10 0 0\n20 0 0 0\n", "line 2: three numbers"},
      {"10 0 0\n20 zero 0\n", "line 2: three numbers"},
      {"10 0 0\n20 0,5 0\n", "line 2: three numbers"},
      {"10 0 0\n20 nan 0\n", "line 2: three numbers"},
      {"10 0 0\n1e999 0 0\n", "line 2: three numbers"},
      {"10 0 0\n\n# x\n10 0 0\n", "line 4: frequencies must"},
      {"-1 0 0\n", "line 1: frequencies must"},
      {"10 0 0\n20 -41 0\n", "line 2: a gain beyond 40 dB"},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
    refused(cases[i].text, strlen(cases[i].text), cases[i].part);
}
END_TEST

START_TEST(a_missing_file_is_named)
{
  struct dsp_response_point *points;
  size_t count;
  struct sc_message message = {""};
  ck_assert_int_eq(capture_response_read(support_file("none.txt"), &points, &count, &message),
                   SC_CANNOT_OPEN);
  ck_assert_ptr_nonnull(strstr(message.text, "none.txt"));
  ck_assert_int_eq(capture_response_read(support_file(""), &points, &count, &message),
                   SC_CANNOT_OPEN);
  ck_assert_ptr_nonnull(strstr(message.text, "directory"));
}
END_TEST

/* A comma as decimal mark in the user's locale must not change how files are read. */
START_TEST(the_locale_does_not_matter)
{
  static const char *const names[] = {"de_DE.UTF-8", "fr_FR.UTF-8", "de_DE.utf8", "de_DE"};
  static const char text[] = "1.5 2.5 3.5\n2.5 0 0\n";
  const char *found = NULL;
  for (size_t i = 0; found == NULL && i < 4; i++)
    found = setlocale(LC_ALL, names[i]);
  if (found == NULL)
    printf("the_locale_does_not_matter: only checked in the plain locale, no other is there\n");
  struct dsp_response_point *points;
  size_t count;
  ck_assert_int_eq(capture_response_read(support_file_write("a.txt", text, sizeof text - 1),
                                         &points, &count, NULL),
                   SC_OK);
  ck_assert(points[0].frequency_hz == 1.5 && points[0].phase_deg == 3.5);
  free(points);
}
END_TEST

Suite *response_suite(void)
{
  Suite *suite = suite_create("response");
  TCase *tests = tcase_create("response");
  tcase_add_checked_fixture(tests, support_files_setup, support_files_teardown);
  tcase_add_test(tests, points_are_read);
  tcase_add_test(tests, mistakes_are_placed);
  tcase_add_test(tests, a_missing_file_is_named);
  tcase_add_test(tests, the_locale_does_not_matter);
  suite_add_tcase(suite, tests);
  return suite;
}
