/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The list of RDS groups, as text and as JSON. */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jansson.h>

#include "report/suites.h"

/* A group with a corrected second and a lost fourth block; one of which nothing is known but its
 * first word. */
static struct sc_rds_group groups[] = {
    {12.5, 2.5e-6, {0xc4a7, 0x02e7, 0xe0cd, 0}, {2, 1, 2, 0}, {0, 2, 0, 0}},
    {12.587579, 0.0, {0xc4a7, 0, 0, 0}, {2, 0, 0, 0}, {0, 0, 0, 0}},
};

static struct sc_result listed(void)
{
  struct sc_result result = example_result();
  groups[1].time_uncertainty_s = (double)NAN;
  result.rds_groups = (struct sc_rds_listing){groups, 2, 41, NULL};
  return result;
}

static char *text_of(const struct sc_result *result, unsigned width)
{
  return example_text(result, (struct sc_report_settings){.width = width});
}

static void expect(const char *text, const char *wanted)
{
  ck_assert_msg(strstr(text, wanted) != NULL, "'%s' is missing in\n%s", wanted, text);
}

START_TEST(each_group_has_a_row)
{
  const struct sc_result result = listed();
  char *text = text_of(&result, 80);
  expect(text, "41 came before these and were not kept.");
  expect(text, "    12.500000    2.5e-06     0A   C4A7     02E7~2   E0CD     ....\n");
  expect(text, "    12.587579  not known      ?   C4A7     ....     ....     ....\n");
  free(text);
}
END_TEST

START_TEST(a_narrow_table_keeps_its_width)
{
  const struct sc_result result = listed();
  char *text = text_of(&result, 40);
  expect(text, "  12.500  0A C4A7   02E7~2 E0CD   ....\n");
  expect(text, "Groups of RDS");
  for (size_t at = (size_t)(strstr(text, "Groups of RDS") - text); text[at] != '\n'; at++) {
    const size_t length = strcspn(text + at, "\n");
    ck_assert_uint_le(length, 40);
    at += length;
  }
  free(text);
}
END_TEST

START_TEST(without_a_wish_there_is_no_table)
{
  struct sc_result result = listed();
  result.rds_groups = (struct sc_rds_listing){.why = "it was not asked for"};
  char *text = text_of(&result, 80);
  ck_assert_ptr_null(strstr(text, "Groups of RDS"));
  free(text);
  result.rds_groups.why = NULL;
  text = text_of(&result, 80);
  expect(text, "None came.");
  free(text);
}
END_TEST

static json_t *rds_of(const struct sc_result *result)
{
  static const struct sc_report_settings settings;
  char *text = NULL;
  ck_assert_int_eq(sc_report_json(result, &settings, &text), SC_OK);
  json_t *root = json_loads(text, 0, NULL);
  ck_assert_ptr_nonnull(root);
  json_t *rds = json_incref(json_object_get(root, "rds"));
  json_decref(root);
  free(text);
  return rds;
}

START_TEST(the_list_is_an_array_of_rows)
{
  struct sc_result result = listed();
  json_t *rds = rds_of(&result), *list = json_object_get(rds, "raw_groups");
  ck_assert_uint_eq(json_array_size(list), 2);
  ck_assert_int_eq(json_integer_value(json_object_get(rds, "raw_groups_earlier")), 41);
  char *row = json_dumps(json_array_get(list, 0), JSON_COMPACT | JSON_REAL_PRECISION(15));
  ck_assert_str_eq(row, "{\"time_s\":12.5,\"time_uncertainty_s\":2.5e-6,\"group\":\"0A\","
                        "\"words\":[\"C4A7\",\"02E7\",\"E0CD\",null],"
                        "\"blocks\":[\"clean\",\"corrected\",\"clean\",\"lost\"],"
                        "\"corrected_bits\":[0,2,0,0],\"why\":{}}");
  free(row);
  const json_t *why = json_object_get(json_array_get(list, 1), "why");
  ck_assert_str_eq(json_string_value(json_object_get(why, "group")), "its second block was lost");
  ck_assert_ptr_nonnull(json_object_get(why, "time_uncertainty_s"));
  ck_assert_ptr_null(json_object_get(json_object_get(rds, "why"), "raw_groups"));
  json_decref(rds);
  result.rds_groups = (struct sc_rds_listing){.why = "it was not asked for"};
  rds = rds_of(&result);
  ck_assert(json_is_null(json_object_get(rds, "raw_groups")));
  why = json_object_get(json_object_get(rds, "why"), "raw_groups");
  ck_assert_str_eq(json_string_value(why), "it was not asked for");
  json_decref(rds);
}
END_TEST

Suite *groups_suite(void)
{
  Suite *suite = suite_create("groups");
  TCase *tests = tcase_create("groups");
  tcase_add_test(tests, each_group_has_a_row);
  tcase_add_test(tests, a_narrow_table_keeps_its_width);
  tcase_add_test(tests, without_a_wish_there_is_no_table);
  tcase_add_test(tests, the_list_is_an_array_of_rows);
  suite_add_tcase(suite, tests);
  return suite;
}
