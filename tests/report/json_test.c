/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The JSON read back by an independent parser: complete, with a reason for every null. */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jansson.h>

#include <sidecomb/fields.h>
#include <sidecomb/report.h>

#include "report/suites.h"

static const struct sc_report_settings plain;

static json_t *parse(const struct sc_result *result)
{
  char *text = NULL;
  ck_assert_int_eq(sc_report_json(result, &plain, &text), SC_OK);
  json_error_t error;
  json_t *root = json_loads(text, JSON_REJECT_DUPLICATES, &error);
  ck_assert_msg(root != NULL, "line %d: %s", error.line, error.text);
  free(text);
  return root;
}

/* "carrier.offset_hz", "lines.0.level_dbc". */
static json_t *member(json_t *root, const char *path)
{
  char key[64];
  json_t *value = root;
  while (value != NULL && *path != '\0') {
    size_t length = strcspn(path, ".");
    snprintf(key, sizeof key, "%.*s", (int)length, path);
    value = json_is_array(value) ? json_array_get(value, strtoul(key, NULL, 10))
                                 : json_object_get(value, key);
    path += length + (path[length] == '.');
  }
  return value;
}

static double number(json_t *root, const char *path)
{
  json_t *value = member(root, path);
  ck_assert_msg(json_is_number(value), "%s is no number", path);
  return json_number_value(value);
}

static const char *text(json_t *root, const char *path)
{
  json_t *value = member(root, path);
  ck_assert_msg(json_is_string(value), "%s is no text", path);
  return json_string_value(value);
}

/* Wherever something is null, the object `why` beside it says the reason. */
static void check_reasons(json_t *value, const char *name)
{
  const char *key;
  size_t index;
  json_t *item;
  if (json_is_array(value)) {
    json_array_foreach(value, index, item) check_reasons(item, name);
    return;
  }
  json_object_foreach(value, key, item)
  {
    json_t *reason = json_object_get(json_object_get(value, "why"), key);
    ck_assert_msg(!json_is_null(item) || json_string_length(reason) > 0,
                  "%s.%s is null without a reason", name, key);
    ck_assert_msg(json_is_null(item) || reason == NULL, "%s.%s has a reason and a value", name,
                  key);
    check_reasons(item, key);
  }
}

START_TEST(measured_values_arrive)
{
  struct sc_result result = example_result();
  json_t *root = parse(&result);
  ck_assert_str_eq(text(root, "schema"), "sidecomb-report/1");
  ck_assert_str_eq(text(root, "capture.file"), "bench-unit.cf32");
  ck_assert_str_eq(text(root, "capture.kind"), "iq");
  ck_assert_double_eq(number(root, "capture.samples"), 960000);
  ck_assert_double_eq(number(root, "capture.centre_hz"), 98.3e6);
  ck_assert(json_is_true(member(root, "carrier.present")));
  ck_assert_double_eq_tol(number(root, "carrier.offset_hz"), 1234.5678, 1e-9);
  ck_assert_double_eq_tol(number(root, "carrier.offset_uncertainty_hz"), 0.02, 1e-15);
  ck_assert_double_eq_tol(number(root, "pilot.frequency_hz"), 19000.0123, 1e-9);
  ck_assert_double_eq_tol(number(root, "pilot.frequency_uncertainty_hz"), 0.00042, 1e-15);
  ck_assert_double_eq_tol(number(root, "pilot.deviation_uncertainty_khz"), 0.002, 1e-15);
  ck_assert_str_eq(text(root, "account"), "A carrier with a pilot and nothing else.");
  json_decref(root);
}
END_TEST

START_TEST(lines_carry_the_keys_of_the_schema)
{
  static const char *const keys[] = {"offset_hz",      "offset_uncertainty_hz",
                                     "level_dbc",      "level_uncertainty_db",
                                     "snr_db",         "mirror_level_dbc",
                                     "cause",          "orders",
                                     "predicted_dbc",  "verdict",
                                     "label",          "fm_part_dbc",
                                     "am_part_dbc",    "one_sided_dbc",
                                     "parts_limit_dbc"};
  struct sc_result result = example_result();
  json_t *root = parse(&result);
  ck_assert_uint_eq(json_array_size(member(root, "lines")), EXAMPLE_AIR_LINES);
  ck_assert_uint_eq(json_array_size(member(root, "composite_lines")), EXAMPLE_COMPOSITE_LINES);
  json_t *line = member(root, "lines.0");
  for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++)
    ck_assert_msg(json_object_get(line, keys[i]) != NULL, "%s", keys[i]);
  ck_assert_double_eq_tol(number(line, "level_dbc"), -36.13, 1e-9);
  ck_assert_double_eq(number(line, "orders.0"), -2);
  ck_assert_str_eq(text(line, "verdict"), "explained");
  ck_assert_double_eq_tol(number(root, "composite_lines.0.frequency_hz"), 19000.0123, 1e-9);
  ck_assert_double_eq_tol(number(root, "composite_lines.0.level_uncertainty_db"), 0.003, 1e-9);
  ck_assert_double_eq_tol(number(root, "composite_lines.1.level_dbfs"), -26.99, 1e-9);
  ck_assert_double_eq_tol(number(root, "composite_lines.1.level_dbfs_uncertainty_db"), 0.1, 1e-9);
  ck_assert_double_eq_tol(number(root, "composite_lines.0.deviation_khz"), 6.75, 1e-9);
  json_decref(root);
}
END_TEST

/* A pair of equal lines, as of AM or of two carriers set alike, is two. */
START_TEST(spurious_lines_are_all_there_the_strongest_first)
{
  static const double levels_dbc[EXAMPLE_AIR_LINES] = {-60, -50, -60};
  static const double offsets_hz[EXAMPLE_AIR_LINES] = {2000, 1000, 3000};
  static const int listed[EXAMPLE_AIR_LINES] = {1, 0, 2};
  struct sc_result result = example_result();
  struct sc_line lines[EXAMPLE_AIR_LINES];
  memcpy(lines, result.air_lines.lines, sizeof lines);
  result.air_lines.lines = lines;
  for (int i = 0; i < EXAMPLE_AIR_LINES; i++) {
    lines[i].verdict = SC_VERDICT_SPURIOUS;
    lines[i].level_dbc = sc_measured(levels_dbc[i], 0.1);
    lines[i].offset_hz = sc_measured(offsets_hz[i], 0.1);
  }
  json_t *root = parse(&result);
  ck_assert_uint_eq(json_array_size(member(root, "spurious")), EXAMPLE_AIR_LINES);
  for (int i = 0; i < EXAMPLE_AIR_LINES; i++) {
    char path[32];
    snprintf(path, sizeof path, "spurious.%d.offset_hz", i);
    ck_assert_double_eq_tol(number(root, path), offsets_hz[listed[i]], 1e-6);
  }
  json_decref(root);
}
END_TEST

START_TEST(every_key_of_the_tables_is_there)
{
  struct sc_result result = empty_result();
  json_t *root = parse(&result);
  size_t count;
  const struct sc_section *sections = sc_sections(&count);
  for (size_t i = 0; i < count; i++)
    for (size_t k = 0; k < sections[i].count; k++) {
      const struct sc_field *field = &sections[i].fields[k];
      char path[128], beside[96];
      if (field->rare) /* of these below */
        continue;
      snprintf(path, sizeof path, "%s.%s", sections[i].key, field->key);
      ck_assert_msg(member(root, path) != NULL, "%s is not in the JSON", path);
      sc_field_uncertainty_key(field, beside, sizeof beside);
      snprintf(path, sizeof path, "%s.%s", sections[i].key, beside);
      ck_assert_msg(field->type != SC_FIELD_ESTIMATE || member(root, path) != NULL,
                    "%s is not in the JSON", path);
    }
  static const char *const arrays[] = {"lines", "composite_lines", "subcarriers",    "spurious",
                                       "masks", "warnings",        "capture.notices"};
  for (size_t i = 0; i < sizeof arrays / sizeof arrays[0]; i++)
    ck_assert_msg(member(root, arrays[i]) != NULL, "%s", arrays[i]);
  json_decref(root);
}
END_TEST

/* What few transmitters do is in the report where it is measured, and else nothing is said of it.
 */
START_TEST(rare_rows_come_with_their_values)
{
  struct sc_result result = example_result();
  result.carrier.wander_span_hz = sc_not_measured("it stands still");
  for (int there = 0; there < 2; there++) {
    json_t *root = parse(&result);
    char *text = NULL;
    ck_assert_int_eq(sc_report_text(&result, &plain, &text), SC_OK);
    ck_assert_int_eq(member(root, "carrier.wander_span_hz") != NULL, there);
    ck_assert_int_eq(member(root, "carrier.why.wander_span_hz") != NULL, 0);
    ck_assert_int_eq(strstr(text, "wanders within") != NULL, there);
    ck_assert_ptr_null(strstr(text, "it stands still"));
    free(text);
    json_decref(root);
    result.carrier.wander_span_hz = sc_measured(400, 1);
  }
}
END_TEST

START_TEST(every_null_has_its_reason)
{
  struct sc_result results[] = {empty_result(), example_result()};
  for (size_t i = 0; i < sizeof results / sizeof results[0]; i++) {
    json_t *root = parse(&results[i]);
    check_reasons(root, "report");
    json_decref(root);
  }
}
END_TEST

static void check_digits(double uncertainty, const char *expected)
{
  struct sc_result result = example_result();
  result.pilot.frequency_hz = sc_measured(19000.0123456789, uncertainty);
  char *made = NULL;
  ck_assert_int_eq(sc_report_json(&result, &plain, &made), SC_OK);
  ck_assert_msg(strstr(made, expected) != NULL, "%s is not in the JSON", expected);
  free(made);
}

START_TEST(digits_follow_the_uncertainty)
{
  check_digits(0.00042, "\"frequency_hz\": 19000.012346,");
  check_digits(0.00042, "\"frequency_uncertainty_hz\": 0.00042,");
  check_digits(1234.0, "\"frequency_hz\": 19000.0,");
  check_digits(0.0, "\"frequency_hz\": 19000.012345679,");
}
END_TEST

/* Offsets of lines are from where the carrier was in its stretch, which is told where it jumps. */
START_TEST(a_jump_has_the_place_that_lines_are_told_from)
{
  struct sc_result result = example_result();
  json_t *steady = parse(&result);
  ck_assert(json_is_false(member(steady, "line_search.lines.jumped")));
  ck_assert_ptr_null(member(steady, "line_search.lines.stretch_hz"));
  json_decref(steady);
  result.air_lines.jumped = true;
  result.air_lines.stretch_hz = sc_measured(-712.5, 0.1);
  json_t *jumps = parse(&result);
  ck_assert(json_is_true(member(jumps, "line_search.lines.jumped")));
  ck_assert_double_eq(number(jumps, "line_search.lines.stretch_hz"), -712.5);
  json_decref(jumps);
}
END_TEST

/* NaN, infinity, text that is no UTF-8, controls, empty lists: always good JSON. */
START_TEST(hostile_results_stay_good_json)
{
  struct sc_result result = example_result();
  memset(&result.pilot, 0, sizeof result.pilot);
  result.pilot.frequency_hz = (struct sc_quantity){(double)INFINITY, (double)NAN, NULL};
  result.carrier.offset_hz = (struct sc_quantity){1, (double)INFINITY, NULL};
  result.carrier.level_dbfs = (struct sc_quantity){1e300, 1e-300, NULL};
  result.carrier.why = "\xff\xfe broken \x1b[2J";
  result.capture.duration_s = (double)-INFINITY;
  strcpy(result.capture.info.name, "a\xc3(\x01\x7f\xe2\x80\xae.wav");
  result.capture.notices.count = 1;
  strcpy(result.capture.notices.text[0], "\x80");
  json_t *root = parse(&result);
  check_reasons(root, "report");
  ck_assert_ptr_null(strchr(text(root, "carrier.evidence"), '\x1b'));
  ck_assert(json_is_null(member(root, "pilot.frequency_hz")));
  json_decref(root);
}
END_TEST

Suite *json_suite(void)
{
  Suite *suite = suite_create("json");
  TCase *written = tcase_create("written");
  tcase_add_test(written, measured_values_arrive);
  tcase_add_test(written, lines_carry_the_keys_of_the_schema);
  tcase_add_test(written, spurious_lines_are_all_there_the_strongest_first);
  tcase_add_test(written, every_key_of_the_tables_is_there);
  tcase_add_test(written, every_null_has_its_reason);
  tcase_add_test(written, rare_rows_come_with_their_values);
  tcase_add_test(written, digits_follow_the_uncertainty);
  tcase_add_test(written, a_jump_has_the_place_that_lines_are_told_from);
  tcase_add_test(written, hostile_results_stay_good_json);
  suite_add_tcase(suite, written);
  return suite;
}
