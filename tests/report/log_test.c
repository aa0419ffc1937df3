/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines of repeated measurements, of results made by hand. */
#include <config.h>

#include <stdlib.h>
#include <string.h>

#include <check.h>
#include <jansson.h>

#include <sidecomb/log.h>

#include "report/suites.h"

static struct sc_log log_of(const char *keys, const struct sc_limits *limits)
{
  struct sc_log log;
  struct sc_message message;
  ck_assert_msg(sc_log_begin(&log, keys, SC_KIND_IQ, limits, &message) == SC_OK, "%s",
                message.text);
  return log;
}

static struct sc_limits limits_of(const char *text)
{
  struct sc_limits limits;
  struct sc_message message;
  ck_assert_int_eq(sc_limits_parse(text, "test", &limits, &message), SC_OK);
  return limits;
}

/* RFC 4180, 2.1 and 2.3: lines end with CR LF, and a heading may come first. */
START_TEST(csv_has_a_heading_and_a_cell_for_each_key)
{
  struct sc_log log = log_of("pilot.deviation_khz,stereo.mode,pilot.present", NULL);
  struct sc_result result = example_result();
  char *text;
  ck_assert_int_eq(sc_log_heading(&log, &text), SC_OK);
  ck_assert_str_eq(text, "start_s,duration_s,utc,pilot.deviation_khz,"
                         "pilot.deviation_uncertainty_khz,stereo.mode,pilot.present\r\n");
  free(text);
  ck_assert_int_eq(sc_log_csv(&log, 4, "2001-02-03T04:05:06Z", &result, &text), SC_OK);
  ck_assert_str_eq(text, "4.000000,2.000000,2001-02-03T04:05:06Z,6.7500,0.002,,yes\r\n");
  free(text);
}
END_TEST

/* RFC 4180, 2.6 and 2.7: a comma wants quotes, a quote is doubled. */
START_TEST(csv_quotes_what_needs_it)
{
  struct sc_log log = log_of("capture.file", NULL);
  struct sc_result result = example_result();
  char *text;
  strcpy(result.capture.info.name, "a \"b\", c\033[2J");
  ck_assert_int_eq(sc_log_csv(&log, 0, NULL, &result, &text), SC_OK);
  ck_assert_str_eq(text, "0.000000,2.000000,,\"a \"\"b\"\", c?[2J\"\r\n");
  free(text);
}
END_TEST

START_TEST(json_is_an_object_a_line)
{
  struct sc_log log = log_of("pilot.deviation_khz,pilot.present,rds.ps", NULL);
  struct sc_result result = example_result();
  char *text;
  ck_assert_int_eq(sc_log_json(&log, 1.5, NULL, &result, &text), SC_OK);
  ck_assert_ptr_eq(strchr(text, '\n'), text + strlen(text) - 1);
  json_t *root = json_loads(text, 0, NULL);
  ck_assert_ptr_nonnull(root);
  json_t *pilot = json_object_get(root, "pilot");
  ck_assert_double_eq_tol(json_number_value(json_object_get(pilot, "deviation_khz")), 6.75, 1e-9);
  ck_assert(json_is_true(json_object_get(pilot, "present")));
  json_t *rds = json_object_get(root, "rds");
  ck_assert(json_is_null(json_object_get(rds, "ps")));
  ck_assert_ptr_nonnull(json_object_get(json_object_get(rds, "why"), "ps"));
  json_decref(root);
  free(text);
}
END_TEST

/* One line says so, and no table of nothing. */
START_TEST(nothing_is_summarised_in_a_line)
{
  struct sc_log log = log_of("pilot.present,pilot.deviation_khz", NULL);
  char *text;
  ck_assert_int_eq(sc_log_summary(&log, &text), SC_OK);
  ck_assert_str_eq(text, "no interval was measured: nothing came in\n");
  free(text);
}
END_TEST

START_TEST(limits_are_columns_and_are_counted)
{
  struct sc_limits limits =
      limits_of("pilot.deviation_khz at most 7\ncarrier.cnr_db at least 90\n");
  struct sc_log log = log_of("pilot.present", &limits);
  struct sc_result result = example_result();
  char *text;
  ck_assert_uint_eq(log.count, 3);
  for (int i = 0; i < 3; i++) {
    result.pilot.deviation_khz.value = 6 + i; /* 6, 7, 8 */
    ck_assert_int_eq(sc_log_csv(&log, i, NULL, &result, &text), SC_OK);
    ck_assert_ptr_nonnull(strstr(text, i == 2 ? ",failed,pilot.deviation_khz carrier.cnr_db\r\n"
                                              : ",failed,carrier.cnr_db\r\n"));
    free(text);
  }
  ck_assert_uint_eq(log.failed_lines, 3);
  ck_assert_uint_eq(log.failures[0], 1);
  ck_assert_uint_eq(log.failures[1], 3);
  ck_assert_int_eq(sc_log_summary(&log, &text), SC_OK);
  ck_assert_ptr_nonnull(strstr(text, "3 intervals measured; 3 failed a limit"));
  ck_assert_ptr_nonnull(strstr(text, "pilot.deviation_khz: measured in 3 of 3, from 6.0"));
  ck_assert_ptr_nonnull(strstr(text, "limit of pilot.deviation_khz: failed in 1, open in 0"));
  free(text);
  ck_assert_int_eq(sc_log_summary_json(&log, &text), SC_OK);
  json_t *root = json_loads(text, 0, NULL);
  json_t *summary = json_object_get(root, "summary");
  ck_assert_int_eq(json_integer_value(json_object_get(summary, "failed")), 3);
  json_decref(root);
  free(text);
}
END_TEST

START_TEST(an_unmeasured_limit_stays_open)
{
  struct sc_limits limits = limits_of("rds.injection_khz at least 1\n");
  struct sc_log log = log_of("pilot.present", &limits);
  struct sc_result result = empty_result();
  char *text;
  ck_assert_int_eq(sc_log_csv(&log, 0, NULL, &result, &text), SC_OK);
  ck_assert_ptr_nonnull(strstr(text, ",open,\r\n"));
  ck_assert_uint_eq(log.open_lines, 1);
  free(text);
}
END_TEST

START_TEST(unknown_keys_are_named)
{
  struct sc_log log;
  struct sc_message message;
  ck_assert_int_eq(sc_log_begin(&log, "pilot.present,pilot.colour", SC_KIND_IQ, NULL, &message),
                   SC_BAD_ARGUMENT);
  ck_assert_ptr_nonnull(strstr(message.text, "pilot.colour"));
}
END_TEST

START_TEST(every_kind_has_usual_keys)
{
  for (int kind = SC_KIND_IQ; kind <= SC_KIND_AUDIO; kind++) {
    struct sc_log log;
    struct sc_message message;
    ck_assert_msg(sc_log_begin(&log, NULL, (enum sc_kind)kind, NULL, &message) == SC_OK, "%s",
                  message.text);
    ck_assert_uint_gt(log.count, 4);
  }
}
END_TEST

Suite *log_suite(void)
{
  Suite *suite = suite_create("log");
  TCase *cases = tcase_create("log");
  tcase_add_test(cases, csv_has_a_heading_and_a_cell_for_each_key);
  tcase_add_test(cases, csv_quotes_what_needs_it);
  tcase_add_test(cases, json_is_an_object_a_line);
  tcase_add_test(cases, nothing_is_summarised_in_a_line);
  tcase_add_test(cases, limits_are_columns_and_are_counted);
  tcase_add_test(cases, an_unmeasured_limit_stays_open);
  tcase_add_test(cases, unknown_keys_are_named);
  tcase_add_test(cases, every_kind_has_usual_keys);
  suite_add_tcase(suite, cases);
  return suite;
}
