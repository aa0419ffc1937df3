/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Wrapping, padding, and the way to plain ASCII. */
#include <config.h>

#include <stdlib.h>
#include <string.h>

#include "report/layout.h"
#include "report/suites.h"

static void check_wrap(const char *text, size_t column, size_t indent, size_t width,
                       const char *expected)
{
  struct report_buffer buffer = {0};
  report_wrap(&buffer, text, column, indent, width);
  char *made = report_take(&buffer);
  ck_assert_str_eq(made, expected);
  free(made);
}

START_TEST(words_stay_within_the_width)
{
  check_wrap("one two three", 0, 2, 8, "one two\n  three\n");
  check_wrap("one two", 5, 2, 8, "one\n  two\n");
  check_wrap("  many   blanks ", 0, 0, 80, "many blanks\n");
  check_wrap("unbreakable word", 0, 0, 5, "unbreakable\nword\n");
  check_wrap("", 3, 0, 5, "\n");
}
END_TEST

START_TEST(a_character_counts_one_column)
{
  ck_assert_uint_eq(report_columns("±1 µs"), 5);
  check_wrap("±± ±±", 0, 0, 5, "±± ±±\n");
  struct report_buffer buffer = {0};
  report_left(&buffer, "±", 3);
  report_right(&buffer, "µs", 4);
  char *made = report_take(&buffer);
  ck_assert_str_eq(made, "±    µs");
  free(made);
}
END_TEST

START_TEST(ascii_keeps_the_sense)
{
  char text[] = "1 ± 2 µs — x’s \xf0\x9f\x93\xa1 é";
  report_to_ascii(text);
  ck_assert_str_eq(text, "1 +- 2 us - x's ? ?");
}
END_TEST

START_TEST(a_buffer_grows_beyond_its_first_size)
{
  struct report_buffer buffer = {0};
  for (int i = 0; i < 10000; i++)
    report_add(&buffer, "%d,", i % 10);
  char *made = report_take(&buffer);
  ck_assert_uint_eq(strlen(made), 20000);
  ck_assert_str_eq(made + 19996, "8,9,");
  free(made);
}
END_TEST

Suite *layout_suite(void)
{
  Suite *suite = suite_create("layout");
  TCase *words = tcase_create("words");
  tcase_add_test(words, words_stay_within_the_width);
  tcase_add_test(words, a_character_counts_one_column);
  tcase_add_test(words, ascii_keeps_the_sense);
  tcase_add_test(words, a_buffer_grows_beyond_its_first_size);
  suite_add_tcase(suite, words);
  return suite;
}
