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

static struct sc_limit_verdict judge(const char *text, const struct sc_result *result)
{
  struct sc_limits limits = parse(text);
  ck_assert_uint_eq(limits.count, 1);
  return sc_limit_judge(&limits.limits[0], result);
}

/* A clock 44 ppm fast moves a carrier of 91 MHz by 4004 Hz (91e6 * 44e-6): without its uncertainty
 * no frequency is known better than that. */
START_TEST(a_frequency_is_not_judged_by_an_unknown_clock)
{
  static const char *const texts[] = {
      "channel.error_hz within 2000",          "channel.error_ppm within 20",
      "channel.nearest_error_hz within 2k",    "carrier.frequency_hz from 90.9M to 91.1M",
      "pilot.frequency_error_hz within 2",     "pilot.frequency_hz from 18998 to 19002",
      "rds.subcarrier_hz from 56994 to 57006",
  };
  struct sc_result result = example_result();
  result.carrier_frequency_hz = sc_measured(91e6, 1e-6);
  result.channel.error_hz = result.channel.nearest_error_hz = sc_measured(-4, 1e-6);
  result.channel.error_ppm = sc_measured(-0.044, 1e-8);
  result.rds.subcarrier_hz = sc_measured(57000.037, 0.01);
  for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
    result.capture.info.clock_relative_uncertainty = (double)NAN;
    struct sc_limit_verdict verdict = judge(texts[i], &result);
    ck_assert_msg(verdict.kept == SC_UNKNOWN && !verdict.sure, "%s", texts[i]);
    ck_assert_ptr_null(verdict.value.why);
    ck_assert_ptr_nonnull(strstr(verdict.why, "clock"));
    ck_assert(isnan(verdict.margin));
    result.capture.info.clock_relative_uncertainty = 0.1e-6;
    verdict = judge(texts[i], &result);
    ck_assert_msg(verdict.kept == SC_YES && verdict.why == NULL, "%s", texts[i]);
  }
  /* 50 ppm of 91 MHz are 4550 Hz: -4 Hz are no evidence for 2000 Hz, but 20 kHz are against it. */
  result.channel.error_hz = sc_measured(-4, 4550);
  struct sc_limit_verdict doubtful = judge("channel.error_hz within 2000", &result);
  ck_assert(doubtful.kept == SC_UNKNOWN && !doubtful.sure && isnan(doubtful.margin));
  ck_assert_ptr_nonnull(strstr(doubtful.why, "within twice its uncertainty"));
  result.channel.error_hz.value = 20e3;
  ck_assert_int_eq(judge("channel.error_hz within 2000", &result).kept, SC_NO);
  /* A level and a deviation are what they are by any clock. */
  result.capture.info.clock_relative_uncertainty = (double)NAN;
  ck_assert_int_eq(judge("pilot.deviation_khz from 6 to 7.5", &result).kept, SC_YES);
}
END_TEST

START_TEST(what_is_too_good_to_be_seen_keeps_a_limit_by_its_bound)
{
  static const struct {
    double bound_db;
    const char *text;
    enum sc_truth kept;
  } cases[] = {
      {85.9, "stereo.separation_left_to_right_db at least 40", SC_YES},
      {35, "stereo.separation_left_to_right_db at least 40", SC_UNKNOWN},
      {85.9, "stereo.separation_left_to_right_db at most 50", SC_NO},
      {35, "stereo.separation_left_to_right_db at most 50", SC_UNKNOWN},
      {45, "stereo.separation_left_to_right_db from 40 to 50", SC_UNKNOWN},
  };
  struct sc_result result = example_result();
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    result.stereo.separation_left_to_right_at_least_db =
        sc_measured(cases[i].bound_db, (double)NAN);
    struct sc_limit_verdict verdict = judge(cases[i].text, &result);
    ck_assert_msg(verdict.kept == cases[i].kept, "%g: %s", cases[i].bound_db, cases[i].text);
    ck_assert_str_eq(verdict.bound.field->key, "separation_left_to_right_at_least_db");
    ck_assert((verdict.why == NULL) == (verdict.kept != SC_UNKNOWN));
  }
  result.stereo.separation_left_to_right_at_least_db = sc_not_measured("no tone");
  ck_assert_int_eq(judge(cases[0].text, &result).kept, SC_UNKNOWN);
  ck_assert_ptr_null(judge(cases[0].text, &result).bound.field);
}
END_TEST

/* A programme's low notes hide what is left of the 38 kHz carrier, up to so much. */
START_TEST(a_hidden_residual_keeps_a_limit_by_its_bound)
{
  static const char text[] = "difference.carrier_residual_percent at most 1";
  struct sc_result result = example_result();
  struct sc_stereo *stereo = &result.stereo;
  stereo->residual_percent = sc_not_measured("low notes");
  stereo->residual_limit_percent = sc_measured(0.02, (double)NAN);
  ck_assert_int_eq(judge(text, &result).kept, SC_YES);
  ck_assert_str_eq(judge(text, &result).bound.field->key, "carrier_residual_limit_percent");
  stereo->residual_limit_percent.value = 3.4;
  ck_assert_int_eq(judge(text, &result).kept, SC_UNKNOWN);
  stereo->residual_percent = sc_measured(5, 0.3);
  ck_assert_int_eq(judge(text, &result).kept, SC_NO);
}
END_TEST

/* Lines of other sources: none, or a weak one, was found, and from the bound on one would have
 * been. */
START_TEST(what_may_be_hidden_counts_against_a_limit)
{
  static const char text[] = "unwanted.strongest_dbc at most -60";
  struct sc_result result = example_result();
  struct sc_unwanted *unwanted = &result.unwanted;
  unwanted->strongest_at_most_dbc = sc_measured(-72, (double)NAN);
  ck_assert_int_eq(judge(text, &result).kept, SC_YES);
  ck_assert_double_eq_tol(judge(text, &result).margin, 12, 1e-9);
  unwanted->strongest_at_most_dbc.value = -45;
  ck_assert_int_eq(judge(text, &result).kept, SC_UNKNOWN);
  unwanted->strongest_dbc = sc_measured(-80, 0.1);
  struct sc_limit_verdict verdict = judge(text, &result);
  ck_assert_int_eq(verdict.kept, SC_UNKNOWN);
  ck_assert_ptr_nonnull(strstr(verdict.why, "hidden"));
  unwanted->strongest_dbc.value = -50;
  ck_assert_int_eq(judge(text, &result).kept, SC_NO);
  unwanted->strongest_dbc.value = unwanted->strongest_at_most_dbc.value = -70;
  verdict = judge(text, &result);
  ck_assert(verdict.kept == SC_YES && verdict.bound.field == NULL);
}
END_TEST

/* Composite power is defined over 60 s (ITU-R BS.412, 2.5.1): 2 s at 5 dBr are -9.8 dBr of that
 * when nothing follows, 30 s at 5 dBr 2 dBr. */
START_TEST(a_short_passage_fails_no_limit_of_a_minute)
{
  static const char text[] = "deviation.composite_power_dbr at most 0";
  struct sc_result result = example_result();
  result.deviation.power_dbr = sc_measured(5, 0.001);
  result.deviation.power_at_least_dbr = sc_measured(-9.8, (double)NAN);
  ck_assert_int_eq(judge(text, &result).kept, SC_UNKNOWN);
  ck_assert_ptr_nonnull(judge(text, &result).why);
  result.deviation.power_at_least_dbr = sc_measured(2, (double)NAN);
  ck_assert_int_eq(judge(text, &result).kept, SC_NO);
  result.deviation.power_at_least_dbr = sc_not_measured("60 s were seen");
  ck_assert_int_eq(judge(text, &result).kept, SC_NO);
  result.deviation.power_dbr = sc_measured(-1, 0.001);
  ck_assert_int_eq(judge(text, &result).kept, SC_YES);
}
END_TEST

START_TEST(the_report_says_by_what_it_judged)
{
  struct sc_limits limits = parse("stereo.separation_left_to_right_db at least 40\n"
                                  "pilot.frequency_error_hz within 2 ; BS.450\n");
  struct sc_result result = example_result();
  struct sc_report_settings settings = {.width = 300, .limits = &limits};
  result.stereo.separation_left_to_right_at_least_db = sc_measured(85.9, (double)NAN);
  char *text = example_text(&result, settings);
  ck_assert_ptr_nonnull(strstr(text, "  kept    stereo.separation_left_to_right_db at least 40 dB: "
                                     "not measured, because there is no carrier; judged by "
                                     "separation_left_to_right_at_least_db, 85.9 dB\n"));
  ck_assert_ptr_nonnull(strstr(text, "  open    pilot.frequency_error_hz from -2 to 2 Hz: 0.01230 "
                                     "+- 0.00042 Hz; nobody stated the uncertainty of the clock"));
  free(text);
  ck_assert_int_eq(sc_report_json(&result, &settings, &text), SC_OK);
  json_t *root = json_loads(text, 0, NULL), *list = json_object_get(root, "limits");
  json_t *first = json_array_get(list, 0), *second = json_array_get(list, 1);
  ck_assert(json_is_true(json_object_get(first, "kept")));
  ck_assert_str_eq(json_string_value(json_object_get(first, "judged_by")),
                   "separation_left_to_right_at_least_db");
  ck_assert(json_is_null(json_object_get(second, "kept")));
  ck_assert(json_is_number(json_object_get(second, "value")));
  ck_assert_ptr_nonnull(
      strstr(json_string_value(json_object_get(json_object_get(second, "why"), "kept")), "clock"));
  json_decref(root);
  free(text);
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
  tcase_add_test(lines, a_frequency_is_not_judged_by_an_unknown_clock);
  tcase_add_test(lines, what_is_too_good_to_be_seen_keeps_a_limit_by_its_bound);
  tcase_add_test(lines, a_hidden_residual_keeps_a_limit_by_its_bound);
  tcase_add_test(lines, what_may_be_hidden_counts_against_a_limit);
  tcase_add_test(lines, a_short_passage_fails_no_limit_of_a_minute);
  tcase_add_test(lines, the_report_says_by_what_it_judged);
  tcase_add_test(lines, mistakes_are_named_with_their_line);
  tcase_add_test(lines, text_and_json_show_the_verdicts);
  tcase_add_test(lines, the_standard_ones_are_limits_with_a_source);
  suite_add_tcase(suite, lines);
  return suite;
}
