/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Results side by side, made by hand. */
#include <config.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>
#include <jansson.h>

#include <sidecomb/compare.h>

#include "report/suites.h"

/* Two results of the same example, whose lines the second may change. */
struct pair {
  struct sc_result a, b;
  struct sc_line lines[EXAMPLE_AIR_LINES];
  struct sc_comparison comparison;
};

static void make_pair(struct pair *pair)
{
  pair->a = pair->b = example_result();
  memcpy(pair->lines, pair->a.air_lines.lines, sizeof pair->lines);
  pair->b.air_lines.lines = pair->lines;
}

static void compare_pair(struct pair *pair)
{
  const struct sc_result *results[] = {&pair->a, &pair->b};
  ck_assert_int_eq(sc_compare(results, 2, &pair->comparison), SC_OK);
}

static const struct sc_compared *row_of(const struct sc_comparison *comparison, const char *section,
                                        const char *key)
{
  for (size_t i = 0; i < comparison->row_count; i++)
    if (strcmp(comparison->rows[i].section->key, section) == 0 &&
        strcmp(comparison->rows[i].field->key, key) == 0)
      return &comparison->rows[i];
  ck_abort_msg("%s.%s is not compared", section, key);
  return NULL;
}

START_TEST(equal_results_are_the_same)
{
  struct pair pair;
  make_pair(&pair);
  compare_pair(&pair);
  ck_assert_uint_gt(pair.comparison.row_count, 5);
  for (size_t i = 0; i < pair.comparison.row_count; i++)
    ck_assert_int_eq(pair.comparison.rows[i].likeness, SC_LIKE_SAME);
  ck_assert_uint_eq(pair.comparison.air.count, EXAMPLE_AIR_LINES);
  for (size_t i = 0; i < pair.comparison.air.count; i++)
    ck_assert_int_eq(pair.comparison.air.lines[i].likeness, SC_LIKE_SAME);
  sc_comparison_clear(&pair.comparison);
}
END_TEST

/* JCGM 100:2008, 5.1.2: the uncertainty of a difference of independent inputs is the root of the
 * sum of their squares: here 0.004 and 0.003 make 0.005. */
START_TEST(a_difference_has_the_uncertainty_of_both)
{
  struct pair pair;
  make_pair(&pair);
  pair.a.pilot.deviation_khz = sc_measured(6.750, 0.004);
  pair.b.pilot.deviation_khz = sc_measured(6.790, 0.003);
  compare_pair(&pair);
  const struct sc_compared *row = row_of(&pair.comparison, "pilot", "deviation_khz");
  ck_assert_int_eq(row->likeness, SC_LIKE_DIFFERENT);
  ck_assert_double_eq_tol(row->difference[1].value, 0.040, 1e-12);
  ck_assert_double_eq_tol(row->difference[1].uncertainty, 0.005, 1e-12);
  sc_comparison_clear(&pair.comparison);

  pair.b.pilot.deviation_khz = sc_measured(6.764, 0.003); /* 2.8 uncertainties */
  compare_pair(&pair);
  row = row_of(&pair.comparison, "pilot", "deviation_khz");
  ck_assert_int_eq(row->likeness, SC_LIKE_SAME);
  sc_comparison_clear(&pair.comparison);
}
END_TEST

/* 1 % in all over m comparisons is 0.01 / m each, two-sided; quantiles of the normal distribution
 * (Abramowitz and Stegun, table 26.5 and 26.6: 3.2905 for 0.001, 3.8906 for 0.0001). */
START_TEST(the_bound_keeps_the_rate_of_false_differences)
{
  struct pair pair;
  make_pair(&pair);
  compare_pair(&pair);
  size_t compared = pair.comparison.row_count + 2 * (EXAMPLE_AIR_LINES + EXAMPLE_COMPOSITE_LINES);
  ck_assert_uint_gt(compared, 10);
  ck_assert_uint_lt(compared, 100);
  ck_assert_double_gt(pair.comparison.sigmas, 3.2905);
  ck_assert_double_lt(pair.comparison.sigmas, 3.8906);
  sc_comparison_clear(&pair.comparison);
}
END_TEST

START_TEST(words_and_unknowns_are_told_apart)
{
  struct pair pair;
  make_pair(&pair);
  pair.b.pilot.present = pair.a.pilot.present == SC_YES ? SC_NO : SC_YES;
  pair.b.carrier.cnr_db = sc_not_measured("a test says so");
  pair.b.pilot.why = "evidence of another length of capture";
  pair.a.occupancy.carson_hz = sc_measured(180e3, (double)NAN);
  pair.b.occupancy.carson_hz = sc_measured(181e3, (double)NAN);
  compare_pair(&pair);
  ck_assert_int_eq(row_of(&pair.comparison, "pilot", "present")->likeness, SC_LIKE_DIFFERENT);
  ck_assert_int_eq(row_of(&pair.comparison, "carrier", "cnr_db")->likeness, SC_LIKE_PARTLY);
  for (size_t i = 0; i < pair.comparison.row_count; i++)
    ck_assert_str_ne(pair.comparison.rows[i].field->key, "evidence");
  ck_assert_int_eq(row_of(&pair.comparison, "occupancy", "carson_hz")->likeness, SC_LIKE_UNJUDGED);
  sc_comparison_clear(&pair.comparison);
}
END_TEST

static const struct sc_compared_line *line_at(const struct sc_compared_lines *lines,
                                              double offset_hz)
{
  for (size_t i = 0; i < lines->count; i++)
    if (fabs(lines->lines[i].offset_hz - offset_hz) < 1)
      return &lines->lines[i];
  ck_abort_msg("no line at %g Hz", offset_hz);
  return NULL;
}

START_TEST(lines_change_vanish_and_come)
{
  struct pair pair;
  make_pair(&pair);
  pair.a.air_lines.threshold_db = pair.b.air_lines.threshold_db = 14;
  pair.a.air_lines.record_s = pair.b.air_lines.record_s = 1;
  pair.a.air_lines.records = pair.b.air_lines.records = 2;
  pair.lines[0].level_dbc.value += 1; /* 33 uncertainties */
  pair.b.air_lines.count = 2;         /* the last is gone: it stood 47 dB over the threshold */
  compare_pair(&pair);
  const struct sc_compared_line *changed = line_at(&pair.comparison.air, -38000);
  ck_assert_int_eq(changed->likeness, SC_LIKE_DIFFERENT);
  ck_assert_double_eq_tol(changed->difference_db[1].value, 1, 1e-9);
  const struct sc_compared_line *gone = line_at(&pair.comparison.air, 91234.5678);
  ck_assert_int_eq(gone->likeness, SC_LIKE_DIFFERENT);
  ck_assert_ptr_null(gone->line[1]);
  ck_assert_ptr_nonnull(gone->difference_db[1].why);
  sc_comparison_clear(&pair.comparison);

  /* A weak line may be missed, and a full list drops it. */
  pair.a.air_lines.lines[2].tone.snr_db = 15;
  compare_pair(&pair);
  ck_assert_int_eq(line_at(&pair.comparison.air, 91234.5678)->likeness, SC_LIKE_PARTLY);
  sc_comparison_clear(&pair.comparison);
  pair.a.air_lines.lines[2].tone.snr_db = 61.5;
  pair.b.air_lines.full = true;
  compare_pair(&pair);
  ck_assert_int_eq(line_at(&pair.comparison.air, 91234.5678)->likeness, SC_LIKE_PARTLY);
  sc_comparison_clear(&pair.comparison);
}
END_TEST

START_TEST(text_says_what_differs_and_stays_in_its_width)
{
  struct pair pair;
  make_pair(&pair);
  pair.b.pilot.deviation_khz = sc_measured(7.2, 0.002);
  compare_pair(&pair);
  for (unsigned width = 60; width <= 120; width += 60) {
    const struct sc_report_settings settings = {.width = width, .utf8 = true, .lines_max = 10};
    char *text;
    ck_assert_int_eq(sc_comparison_text(&pair.comparison, &settings, &text), SC_OK);
    ck_assert_ptr_nonnull(strstr(text, "\npilot.deviation_khz\n    A "));
    ck_assert_ptr_nonnull(strstr(text, "not certificates"));
    ck_assert_ptr_nonnull(strstr(text, "1 quantity and 0 lines differ from A"));
    free(text);
  }
  sc_comparison_clear(&pair.comparison);
}
END_TEST

/* 0.00004 Hz, with the root of twice 0.000004^2, 0.0000057. */
START_TEST(text_shows_differences_that_the_values_digits_do_not)
{
  struct pair pair;
  char *text;
  const struct sc_report_settings settings = {.width = 100, .utf8 = true, .lines_max = 10};
  make_pair(&pair);
  pair.a.carrier.offset_hz = sc_measured(1000, 0.000004);
  pair.b.carrier.offset_hz = sc_measured(1000.00004, 0.000004);
  pair.lines[0].level_dbc = sc_measured(-30.0002, 0.00001);
  pair.a.air_lines.lines[0].level_dbc = sc_measured(-30, 0.00001);
  compare_pair(&pair);
  ck_assert_int_eq(sc_comparison_text(&pair.comparison, &settings, &text), SC_OK);
  ck_assert_msg(strstr(text, "+0.0000400 ± 0.0000057 Hz") != NULL, "%s", text);
  ck_assert_msg(strstr(text, "-0.000200 ± 0.000014 dB") != NULL, "%s", text);
  free(text);
  sc_comparison_clear(&pair.comparison);
}
END_TEST

START_TEST(json_has_every_row)
{
  struct pair pair;
  make_pair(&pair);
  pair.b.pilot.deviation_khz = sc_measured(7.2, 0.002);
  compare_pair(&pair);
  char *text;
  ck_assert_int_eq(sc_comparison_json(&pair.comparison, &text), SC_OK);
  json_t *root = json_loads(text, 0, NULL);
  ck_assert_ptr_nonnull(root);
  ck_assert_str_eq(json_string_value(json_object_get(root, "schema")), SC_COMPARISON_SCHEMA);
  ck_assert_uint_eq(json_array_size(json_object_get(root, "captures")), 2);
  ck_assert_uint_eq(json_array_size(json_object_get(root, "quantities")),
                    pair.comparison.row_count);
  ck_assert_uint_eq(json_array_size(json_object_get(root, "lines")), pair.comparison.air.count);
  json_decref(root);
  free(text);
  sc_comparison_clear(&pair.comparison);
}
END_TEST

START_TEST(what_cannot_be_compared_is_refused)
{
  struct sc_result a = example_result(), b = a;
  struct sc_comparison comparison;
  const struct sc_result *results[] = {&a, &b};
  ck_assert_int_eq(sc_compare(results, 1, &comparison), SC_BAD_ARGUMENT);
  ck_assert_int_eq(sc_compare(results, SC_COMPARED_MAX + 1, &comparison), SC_BAD_ARGUMENT);
  b.capture.info.kind = SC_KIND_AUDIO;
  ck_assert_int_eq(sc_compare(results, 2, &comparison), SC_BAD_ARGUMENT);
}
END_TEST

Suite *compare_suite(void)
{
  Suite *suite = suite_create("compare");
  TCase *cases = tcase_create("compare");
  tcase_add_test(cases, equal_results_are_the_same);
  tcase_add_test(cases, a_difference_has_the_uncertainty_of_both);
  tcase_add_test(cases, the_bound_keeps_the_rate_of_false_differences);
  tcase_add_test(cases, words_and_unknowns_are_told_apart);
  tcase_add_test(cases, lines_change_vanish_and_come);
  tcase_add_test(cases, text_says_what_differs_and_stays_in_its_width);
  tcase_add_test(cases, text_shows_differences_that_the_values_digits_do_not);
  tcase_add_test(cases, json_has_every_row);
  tcase_add_test(cases, what_cannot_be_compared_is_refused);
  suite_add_tcase(suite, cases);
  return suite;
}
