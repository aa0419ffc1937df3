/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The table of standard positions against what the standards say of the pilot and of the
 * difference channel, and its own order. */
#include <math.h>
#include <string.h>

#include <sidecomb/subcarriers.h>

#include "account/suites.h"

static const struct sc_position *by_key(const char *key)
{
  size_t count;
  const struct sc_position *table = sc_subcarriers(&count);
  for (size_t i = 0; i < count; i++)
    if (strcmp(table[i].key, key) == 0)
      return &table[i];
  ck_abort_msg("no position is called %s", key);
}

START_TEST(the_table_is_sorted_and_complete)
{
  size_t count;
  const struct sc_position *table = sc_subcarriers(&count);
  for (size_t i = 0; i < count; i++) {
    ck_assert_double_ge(table[i].position_hz, table[i].lower_hz);
    ck_assert_double_le(table[i].position_hz, table[i].upper_hz);
    ck_assert_double_gt(table[i].tolerance_hz, 0);
    ck_assert_uint_gt(strlen(table[i].name), 0);
    ck_assert_uint_gt(strlen(table[i].injection), 0);
    ck_assert_uint_gt(strlen(table[i].source), 0);
    for (size_t k = 0; k < i; k++) {
      ck_assert_double_lt(table[k].position_hz, table[i].position_hz);
      ck_assert_str_ne(table[k].key, table[i].key);
    }
  }
}
END_TEST

/* 47 CFR 73.322(a)(2): 19 kHz +/-2 Hz; (a)(4): 38 kHz, 23 to 53 kHz; 57 kHz is three times
 * the pilot. */
START_TEST(the_standards_positions)
{
  ck_assert_double_eq(by_key("pilot")->position_hz, 19000);
  ck_assert_double_eq(by_key("pilot")->tolerance_hz, 2);
  ck_assert_double_eq(by_key("difference")->position_hz, 38000);
  ck_assert_double_eq(by_key("difference")->lower_hz, 23000);
  ck_assert_double_eq(by_key("difference")->upper_hz, 53000);
  ck_assert_double_eq(by_key("rds")->position_hz, 3 * 19000);
}
END_TEST

START_TEST(the_nearest_is_signed_and_works_on_both_sides_of_a_carrier)
{
  double distance;
  ck_assert_str_eq(sc_subcarrier_nearest(19000.4, &distance)->key, "pilot");
  ck_assert_double_eq_tol(distance, 0.4, 1e-9);
  ck_assert_str_eq(sc_subcarrier_nearest(-18999, &distance)->key, "pilot");
  ck_assert_double_eq_tol(distance, -1, 1e-9);
  ck_assert_str_eq(sc_subcarrier_nearest(1e6, &distance)->key, "aux-92");
}
END_TEST

Suite *subcarriers_suite(void)
{
  Suite *suite = suite_create("subcarriers");
  TCase *table = tcase_create("table");
  tcase_add_test(table, the_table_is_sorted_and_complete);
  tcase_add_test(table, the_standards_positions);
  tcase_add_test(table, the_nearest_is_signed_and_works_on_both_sides_of_a_carrier);
  suite_add_tcase(suite, table);
  return suite;
}
