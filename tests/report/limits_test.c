/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Limits: each form of a line, the verdicts, and the one line for each mistake. */
#include <config.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <jansson.h>

#include "report/suites.h"

static struct sc_message message;

static struct sc_limits parse(const char *text)
{
  struct sc_limits limits;
  ck_assert_msg(sc_limits_parse(text, "bench.limits", &limits, &message) == SC_OK, "%s",
                message.text);
  return limits;
}

/* The example's pilot is 6.75 ± 0.002 kHz, its carrier 1234.5678 ± 0.02 Hz off the centre. */
START_TEST(every_form_is_judged)
{
  static const struct {
    const char *text;
    enum sc_truth kept;
    double margin;
    bool sure;
  } cases[] = {
      {"pilot.deviation_khz from 6 to 7.5", SC_YES, 0.75, true},
      {"pilot.deviation_khz from 6.751 to 7.5", SC_NO, -0.001, false},
      {"pilot.deviation_khz at most 6.753", SC_YES, 0.003, false},
      {"pilot.deviation_khz at least 7", SC_NO, -0.25, true},
      {"carrier.offset_hz within 2k", SC_YES, 765.4322, true},
      {"carrier.offset_hz within 1k ; our own", SC_NO, -234.5678, true},
      {"pilot.present is yes", SC_YES, (double)NAN, true},
      {"pilot.present is no", SC_NO, (double)NAN, true},
      {"carrier.above_threshold is yes # a flag", SC_YES, (double)NAN, true},
      {"capture.samples at least 0.5M", SC_YES, 460000, true},
  };
  struct sc_result result = example_result();
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct sc_limits limits = parse(cases[i].text);
    ck_assert_uint_eq(limits.count, 1);
    struct sc_limit_verdict verdict = sc_limit_judge(&limits.limits[0], &result);
    ck_assert_msg(verdict.kept == cases[i].kept, "%s", cases[i].text);
    ck_assert_msg(verdict.sure == cases[i].sure, "%s", cases[i].text);
    ck_assert_msg(isnan(cases[i].margin) ? isnan(verdict.margin)
                                         : fabs(verdict.margin - cases[i].margin) < 1e-9,
                  "%s: margin %.9g", cases[i].text, verdict.margin);
  }
}
END_TEST

START_TEST(what_was_not_measured_stays_open)
{
  struct sc_limits limits = parse("pilot.deviation_khz from 6 to 7.5\npilot.present is yes\n");
  struct sc_result result = empty_result();
  for (size_t i = 0; i < limits.count; i++) {
    struct sc_limit_verdict verdict = sc_limit_judge(&limits.limits[i], &result);
    ck_assert_int_eq(verdict.kept, SC_UNKNOWN);
    ck_assert_ptr_nonnull(verdict.value.why);
  }
}
END_TEST

static void check_refused(const char *text, const char *said)
{
  struct sc_limits limits;
  ck_assert_msg(sc_limits_parse(text, "bench.limits", &limits, &message) == SC_BAD_FORMAT,
                "taken: %s", text);
  ck_assert_msg(strstr(message.text, said) != NULL, "'%s' said: %s", text, message.text);
  ck_assert_ptr_nonnull(strstr(message.text, "bench.limits: "));
  ck_assert_ptr_null(strchr(message.text, '\n'));
}

START_TEST(mistakes_are_named_with_their_line)
{
  check_refused("", "it holds no limit");
  check_refused("# only a comment\n", "it holds no limit");
  check_refused("\n\npilot.level at most 3\n", "line 3: pilot.level: no number of the report");
  check_refused("pilot at most 3\n", "line 1: pilot: no number");
  check_refused("nothing.rms_khz at most 3\n", "line 1: nothing.rms_khz: no number");
  check_refused("capture.file is yes\n", "only a number");
  check_refused("rds.raw_groups at least 3\n", "it is a list");
  check_refused("pilot.deviation_khz\n", "write 'from A to B'");
  check_refused("pilot.deviation_khz 6 7\n", "write 'from A to B'");
  check_refused("pilot.deviation_khz from 7 to 6\n", "write 'from A to B'");
  check_refused("pilot.deviation_khz from 6 to 7 kHz\n", "write 'from A to B'");
  check_refused("pilot.deviation_khz at most nan\n", "write 'from A to B'");
  check_refused("pilot.deviation_khz at most 0x10\n", "write 'from A to B'");
  check_refused("pilot.deviation_khz within -1\n", "write 'from A to B'");
  check_refused("pilot.deviation_khz is yes\n", "write 'from A to B'");
  check_refused("pilot.present at least 1\n", "write 'is yes'");
  check_refused("pilot.present is maybe\n", "write 'is yes'");
  char many[SC_LIMITS_MAX * 40 + 80] = "";
  for (int i = 0; i <= SC_LIMITS_MAX; i++)
    strcat(many, "pilot.present is yes\n");
  check_refused(many, "line 65: there are too many limits");
  memset(many, 'x', 400);
  many[400] = '\0';
  check_refused(many, "line 1: the line is too long");
}
END_TEST

START_TEST(text_and_json_show_the_verdicts)
{
  struct sc_limits limits = parse("pilot.deviation_khz from 6 to 7.5 ; 47 CFR 73.322(a)(2)\n"
                                  "carrier.offset_hz within 1k\n");
  struct sc_result result = example_result();
  struct sc_report_settings settings = {.width = 200, .limits = &limits};
  char *text = example_text(&result, settings);
  ck_assert_ptr_nonnull(strstr(text, "  kept    pilot.deviation_khz from 6 to 7.5 kHz: 6.7500 +- "
                                     "0.0020 kHz; 47 CFR 73.322(a)(2)\n"));
  ck_assert_ptr_nonnull(strstr(text, "  failed  carrier.offset_hz from -1000 to 1000 Hz"));
  free(text);
  ck_assert_int_eq(sc_report_json(&result, &settings, &text), SC_OK);
  json_t *root = json_loads(text, 0, NULL), *list = json_object_get(root, "limits");
  ck_assert_uint_eq(json_array_size(list), 2);
  ck_assert(json_is_true(json_object_get(json_array_get(list, 0), "kept")));
  ck_assert(json_is_false(json_object_get(json_array_get(list, 1), "kept")));
  ck_assert_double_eq(json_number_value(json_object_get(json_array_get(list, 0), "upper")), 7.5);
  json_decref(root);
  free(text);
}
END_TEST

START_TEST(the_standard_ones_are_limits_with_a_source)
{
  struct sc_limits limits = parse(sc_limits_standard());
  ck_assert_uint_eq(limits.count, 6);
  for (size_t i = 0; i < limits.count; i++)
    ck_assert_msg(strstr(limits.limits[i].source, "CFR") != NULL ||
                      strstr(limits.limits[i].source, "ITU-R") != NULL,
                  "%s", limits.limits[i].field->key);
}
END_TEST

Suite *limits_suite(void)
{
  Suite *suite = suite_create("limits");
  TCase *lines = tcase_create("lines");
  tcase_add_test(lines, every_form_is_judged);
  tcase_add_test(lines, what_was_not_measured_stays_open);
  tcase_add_test(lines, mistakes_are_named_with_their_line);
  tcase_add_test(lines, text_and_json_show_the_verdicts);
  tcase_add_test(lines, the_standard_ones_are_limits_with_a_source);
  suite_add_tcase(suite, lines);
  return suite;
}
