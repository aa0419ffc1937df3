/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The real program's JSON of the shipped sample, read by an independent parser and compared
 * with the sample's recipe (samples/kitefield.cfg). */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jansson.h>

#include "cli/suites.h"
#include "support/support.h"

static json_t *report_of_the_sample(void)
{
  const char *build = getenv("SC_BUILDDIR");
  char command[8300];
  snprintf(command, sizeof command, "'%s/sidecomb' report --json '%s'", build ? build : ".",
           support_source_path("samples/kitefield.sigmf-meta"));
  FILE *pipe = popen(command, "r");
  ck_assert_ptr_nonnull(pipe);
  json_error_t error;
  json_t *root = json_loadf(pipe, JSON_REJECT_DUPLICATES, &error);
  int status = pclose(pipe);
  ck_assert_msg(root != NULL, "line %d: %s", error.line, error.text);
  ck_assert_int_eq(status, 0);
  return root;
}

static double number(json_t *root, const char *section, const char *key)
{
  json_t *value = json_object_get(json_object_get(root, section), key);
  ck_assert_msg(json_is_number(value), "%s.%s is no number", section, key);
  return json_number_value(value);
}

/* Within four of its own standard uncertainties, and `slack`. */
static void check(json_t *root, const char *section, const char *key, const char *uncertainty,
                  double expected, double slack)
{
  double value = number(root, section, key), sigma = number(root, section, uncertainty);
  ck_assert_msg(fabs(value - expected) <= 4 * sigma + slack, "%s.%s is %.9g ± %.3g, made with %.9g",
                section, key, value, sigma, expected);
}

START_TEST(the_sample_is_measured_as_it_was_made)
{
  json_t *root = report_of_the_sample();
  ck_assert_str_eq(json_string_value(json_object_get(root, "schema")), "sidecomb-report/1");
  ck_assert_double_eq(number(root, "capture", "centre_hz"), 91.205e6);
  ck_assert_double_eq(number(root, "capture", "samples"), 384000 * 12 / 5);
  check(root, "carrier", "offset_hz", "offset_uncertainty_hz", -5000 + 430, 0);
  check(root, "carrier", "frequency_hz", "frequency_uncertainty_hz", 91.20043e6, 0);
  check(root, "pilot", "frequency_hz", "frequency_uncertainty_hz", 19000.4, 0);
  check(root, "pilot", "deviation_khz", "deviation_uncertainty_khz", 6.8, 0.005 * 6.8);
  json_decref(root);
}
END_TEST

/* The line of an array whose `key` is nearest to a frequency. */
static json_t *nearest(json_t *lines, const char *key, double frequency_hz)
{
  size_t i;
  json_t *line, *best = NULL;
  double least = 5;
  json_array_foreach(lines, i, line)
  {
    double distance = fabs(json_number_value(json_object_get(line, key)) - frequency_hz);
    if (distance < least) {
      least = distance;
      best = line;
    }
  }
  ck_assert_msg(best != NULL, "no line at %g Hz", frequency_hz);
  return best;
}

static double member(json_t *line, const char *key)
{
  ck_assert_msg(json_is_number(json_object_get(line, key)), "%s is no number", key);
  return json_number_value(json_object_get(line, key));
}

START_TEST(its_lines_are_where_they_were_put)
{
  json_t *root = report_of_the_sample();
  json_t *air = json_object_get(root, "lines");
  json_t *composite = json_object_get(root, "composite_lines");
  ck_assert_double_eq_tol(member(nearest(air, "offset_hz", 131400 - 430), "level_dbc"),
                          20 * log10(0.003), 0.5);
  nearest(air, "offset_hz", 19000.4);
  nearest(air, "offset_hz", -19000.4);
  ck_assert_double_eq_tol(member(nearest(composite, "frequency_hz", 61300), "deviation_khz"), 0.3,
                          0.02);
  ck_assert_double_eq_tol(member(nearest(composite, "frequency_hz", 38000.8), "deviation_khz"),
                          0.45, 0.02);
  /* the sum of both channels, half of a tone that is in one of them, pre-emphasised by the
   * first-order law (ITU-R BS.450, 50 us) */
  double emphasis = hypot(1, 2 * 3.14159265358979 * 1000 * 50e-6);
  ck_assert_double_eq_tol(member(nearest(composite, "frequency_hz", 1000), "deviation_khz"),
                          1.1 / 2 * emphasis, 0.01);
  json_decref(root);
}
END_TEST

static void check_verdict(json_t *line, const char *verdict, const char *label)
{
  ck_assert_str_eq(json_string_value(json_object_get(line, "verdict")), verdict);
  const char *given = json_string_value(json_object_get(line, "label"));
  ck_assert_msg(strstr(given, label) != NULL, "the label is \"%s\", not \"%s\"", given, label);
}

/* What the recipe put in, named as what it is. */
START_TEST(its_lines_are_accounted_for)
{
  json_t *root = report_of_the_sample();
  json_t *air = json_object_get(root, "lines");
  json_t *composite = json_object_get(root, "composite_lines");
  check_verdict(nearest(air, "offset_hz", 131400 - 430), "spurious", "carrier at +130.97 kHz");
  check_verdict(nearest(air, "offset_hz", 5000 - 430), "artefact", "direct current");
  check_verdict(nearest(air, "offset_hz", 0), "explained", "carrier");
  check_verdict(nearest(air, "offset_hz", 19000.4), "explained", "pilot");
  check_verdict(nearest(air, "offset_hz", -19000.4), "explained", "pilot");
  check_verdict(nearest(air, "offset_hz", -38000.8), "explained", "2 x pilot");
  check_verdict(nearest(air, "offset_hz", 61300), "explained", "61.3 kHz");
  check_verdict(nearest(composite, "frequency_hz", 19000.4), "explained", "pilot");
  check_verdict(nearest(composite, "frequency_hz", 38000.8), "residual", "38 kHz residual");
  check_verdict(nearest(composite, "frequency_hz", 39000.8), "explained", "difference 1000 Hz");
  check_verdict(nearest(composite, "frequency_hz", 1600), "explained", "sum 1600 Hz");
  check_verdict(nearest(composite, "frequency_hz", 61300), "spurious", "tone at 61.3 kHz");
  check_verdict(nearest(composite, "frequency_hz", 4570), "artefact", "direct current");
  json_decref(root);
}
END_TEST

/* All that is strong is predicted to a tenth of a decibel. */
START_TEST(its_strong_lines_leave_no_rest)
{
  size_t i, strong = 0;
  json_t *line, *root = report_of_the_sample();
  json_array_foreach(json_object_get(root, "lines"), i, line)
  {
    if (member(line, "level_dbc") < -45 ||
        strcmp(json_string_value(json_object_get(line, "verdict")), "artefact") == 0)
      continue;
    ck_assert_double_le(fabs(member(line, "rest_db")), 0.1);
    strong++;
  }
  ck_assert_uint_gt(strong, 30);
  json_decref(root);
}
END_TEST

Suite *program_suite(void)
{
  Suite *suite = suite_create("program");
  TCase *sample = tcase_create("sample");
  tcase_add_test(sample, the_sample_is_measured_as_it_was_made);
  tcase_add_test(sample, its_lines_are_where_they_were_put);
  tcase_add_test(sample, its_lines_are_accounted_for);
  tcase_add_test(sample, its_strong_lines_leave_no_rest);
  suite_add_tcase(suite, sample);
  return suite;
}
