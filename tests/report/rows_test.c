/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The rows of the report: its text has them all, and what is read first is marked. */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <sidecomb/rows.h>

#include "report/suites.h"

/* Wrapping puts blanks and newlines anywhere between words. */
static void strip(char *text)
{
  char *to = text;
  for (; *text != '\0'; text++)
    if (*text != ' ' && *text != '\n')
      *to++ = *text;
  *to = '\0';
}

static struct sc_rows rows_of(const struct sc_result *result, const struct sc_result *beside,
                              const struct sc_limits *limits)
{
  const struct sc_report_settings settings = {.width = 80, .limits = limits};
  struct sc_rows rows;
  ck_assert_int_eq(sc_rows_make(result, beside, &settings, &rows), SC_OK);
  ck_assert_uint_gt(rows.count, 0);
  return rows;
}

static const struct sc_row *find(const struct sc_rows *rows, enum sc_row_kind kind,
                                 const char *label)
{
  for (size_t i = 0; i < rows->count; i++)
    if (rows->at[i].kind == kind && strcmp(rows->at[i].label, label) == 0)
      return &rows->at[i];
  return NULL;
}

static struct sc_result cautious(void)
{
  struct sc_result result = example_result();
  result.capture.notices.count = 1;
  snprintf(result.capture.notices.text[0], sizeof result.capture.notices.text[0],
           "its sample rate was guessed");
  result.warnings.count = 2;
  snprintf(result.warnings.text[0], sizeof result.warnings.text[0], "the clock is not known");
  snprintf(result.warnings.text[1], sizeof result.warnings.text[1], "the carrier is centred");
  result.mask_count = 2;
  snprintf(result.masks[0].name, sizeof result.masks[0].name, "first");
  snprintf(result.masks[1].name, sizeof result.masks[1].name, "second");
  result.masks[0].pass = SC_NO;
  result.masks[1].pass = SC_YES;
  return result;
}

START_TEST(text_holds_every_row)
{
  struct sc_result result = cautious();
  struct sc_limits limits;
  struct sc_message message;
  ck_assert_int_eq(
      sc_limits_parse("pilot.deviation_khz from 6 to 7.5 ; a test\n", "test", &limits, &message),
      SC_OK);
  struct sc_rows rows = rows_of(&result, NULL, &limits);
  char *text = example_text(
      &result, (struct sc_report_settings){.width = 80, .utf8 = true, .limits = &limits});
  strip(text);
  for (size_t i = 0; i < rows.count; i++) {
    char row[8192];
    snprintf(row, sizeof row, "%s%s", rows.at[i].label, rows.at[i].text);
    strip(row);
    ck_assert_msg(strstr(text, row) != NULL, "row %zu, '%s', is not in the text", i, row);
  }
  ck_assert_ptr_nonnull(find(&rows, SC_ROW_LIMIT, "kept"));
  free(text);
  sc_rows_free(&rows);
}
END_TEST

START_TEST(answers_limits_and_notices_lead)
{
  struct sc_result result = cautious();
  struct sc_rows rows = rows_of(&result, NULL, NULL);
  size_t notices = 0;
  for (size_t i = 0; i < rows.count; i++) {
    notices += rows.at[i].kind == SC_ROW_NOTICE;
    if (rows.at[i].kind == SC_ROW_NOTICE)
      ck_assert(rows.at[i].leads);
  }
  ck_assert_uint_eq(notices, 3);
  ck_assert(find(&rows, SC_ROW_VALUE, "limits of standards")->leads);
  ck_assert(!find(&rows, SC_ROW_VALUE, "sample rate")->leads);
  sc_rows_free(&rows);
}
END_TEST

/* Of the pilot ITU-R BS.450-3 and 47 CFR 73.322(a)(2) ask for 8 to 10 % of 75 kHz, 6 to 7.5 kHz: 12
 * kHz are too many. */
START_TEST(limits_and_masks_that_are_not_kept_are_counted)
{
  struct sc_result result = cautious();
  struct sc_cautions cautions = sc_cautions_count(&result, NULL);
  ck_assert_uint_eq(cautions.notices, 3);
  const size_t before = cautions.broken;
  ck_assert_uint_ge(before, 1); /* a mask */
  result.pilot.deviation_khz = sc_measured(12, 0.002);
  ck_assert_uint_eq(sc_cautions_count(&result, NULL).broken, before + 1);
  result.masks[0].pass = SC_UNKNOWN;
  ck_assert_uint_eq(sc_cautions_count(&result, NULL).broken, before);
  struct sc_result nothing = empty_result();
  ck_assert_uint_eq(sc_cautions_count(&nothing, NULL).broken, 0);
}
END_TEST

START_TEST(what_only_the_second_has_is_a_row_too)
{
  struct sc_result result = empty_result(), second = empty_result();
  second.rds.injection_khz = sc_measured(2, 0.001);
  second.carrier.level_dbfs = sc_measured(-6, 0.1);
  struct sc_rows rows = rows_of(&result, &second, NULL);
  const struct sc_row *row = find(&rows, SC_ROW_VALUE, "level");
  ck_assert_ptr_nonnull(row);
  ck_assert_str_eq(row->text, "not measured");
  ck_assert_ptr_nonnull(row->field);
  sc_rows_free(&rows);
  rows = rows_of(&result, NULL, NULL);
  ck_assert_ptr_null(find(&rows, SC_ROW_VALUE, "level"));
  sc_rows_free(&rows);
}
END_TEST

/* An escape sequence of the air must reach no terminal. */
START_TEST(no_row_has_a_control_character)
{
  struct sc_result result = cautious();
  snprintf(result.warnings.text[0], sizeof result.warnings.text[0], "it is \033[31mred\a");
  snprintf(result.account, sizeof result.account, "a\033c");
  struct sc_rows rows = rows_of(&result, NULL, NULL);
  for (size_t i = 0; i < rows.count; i++)
    for (const char *c = rows.at[i].text; *c != '\0'; c++)
      ck_assert_msg((unsigned char)*c >= 0x20, "row %zu: '%s'", i, rows.at[i].text);
  sc_rows_free(&rows);
}
END_TEST

Suite *rows_suite(void)
{
  Suite *suite = suite_create("rows");
  TCase *rows = tcase_create("rows");
  tcase_add_test(rows, text_holds_every_row);
  tcase_add_test(rows, answers_limits_and_notices_lead);
  tcase_add_test(rows, limits_and_masks_that_are_not_kept_are_counted);
  tcase_add_test(rows, what_only_the_second_has_is_a_row_too);
  tcase_add_test(rows, no_row_has_a_control_character);
  suite_add_tcase(suite, rows);
  return suite;
}
