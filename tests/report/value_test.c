/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Values out of a struct, and the digits that an uncertainty deserves. */
#include <config.h>

#include <string.h>

#include <sidecomb/fields.h>

#include "report/suites.h"

struct holder {
  struct sc_quantity estimate;
  double number;
  uint64_t count;
  bool flag;
  enum sc_truth truth;
  const char *text;
  char chars[8];
  int choice;
};

static const char *choose(int value)
{
  return value == 3 ? "three" : NULL;
}

static struct sc_value read(enum sc_field_type type, size_t offset, const struct holder *holder)
{
  struct sc_field field = {
      .key = "x", .type = type, .offset = offset, .absent = "absent", .choice = choose};
  return sc_field_value(&field, holder);
}

#define READ(type, member) read(SC_FIELD_##type, offsetof(struct holder, member), &holder)

START_TEST(every_type_is_read)
{
  struct holder holder = {sc_measured(2.5, 0.1), 7.5, 1ull << 40, true, SC_NO, "word", "chars", 3};
  ck_assert_double_eq(READ(ESTIMATE, estimate).number.value, 2.5);
  ck_assert(READ(ESTIMATE, estimate).has_uncertainty);
  ck_assert(!READ(EXACT, estimate).has_uncertainty);
  ck_assert_double_eq(READ(NUMBER, number).number.value, 7.5);
  ck_assert_double_eq(READ(POSITIVE, number).number.value, 7.5);
  ck_assert_double_eq(READ(COUNT, count).number.value, 1099511627776.0);
  ck_assert_str_eq(READ(FLAG, flag).text, "yes");
  ck_assert_str_eq(READ(TRUTH, truth).text, "no");
  ck_assert_str_eq(READ(TEXT, text).text, "word");
  ck_assert_str_eq(READ(CHARS, chars).text, "chars");
  ck_assert_str_eq(READ(CHOICE, choice).text, "three");
}
END_TEST

START_TEST(absence_always_has_a_reason)
{
  struct holder holder = {.estimate = sc_not_measured("too short"), .number = (double)NAN};
  ck_assert_str_eq(READ(ESTIMATE, estimate).why, "too short");
  ck_assert_str_eq(READ(NUMBER, number).why, "absent");
  holder.number = 0;
  ck_assert_str_eq(READ(POSITIVE, number).why, "absent");
  ck_assert_ptr_null(READ(NUMBER, number).why);
  ck_assert_str_eq(READ(TRUTH, truth).why, "absent");
  ck_assert_str_eq(READ(TEXT, text).why, "absent");
  ck_assert_str_eq(READ(CHARS, chars).why, "absent");
  ck_assert_str_eq(READ(CHOICE, choice).why, "absent");
  ck_assert_str_eq(READ(ABSENT, choice).why, "absent");
  holder.estimate = sc_measured((double)INFINITY, 1);
  ck_assert_ptr_nonnull(READ(ESTIMATE, estimate).why);
  ck_assert(isnan(READ(ESTIMATE, estimate).number.value));
}
END_TEST

START_TEST(two_digits_of_the_uncertainty_are_shown)
{
  static const struct {
    double value, uncertainty;
    int most;
    const char *expected;
  } cases[] = {
      {19000.0123456, 0.0042, 6, "19000.0123 ± 0.0042"},
      {19000.0123456, 0.0042, 3, "19000.012 ± 0.004"},
      {-36.128, 0.21, 3, "-36.13 ± 0.21"},
      {1234.5, 120, 3, "1234 ± 120"},
      {1.0, 3e-9, 4, "1.0000 ± 3e-09"},
      {-43.0, 0.021, 1, "-43.0 ± 0.02"},
      {-38.24, 0.00096, 2, "-38.24 ± 0.001"},
      {2.0, 0, 2, "2.00 ± 0.00"},
      {480000, (double)NAN, 1, "480000.0"},
      {-0.0001, 0.05, 2, "0.00 ± 0.05"},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    char text[64];
    sc_format_quantity(sc_measured(cases[i].value, cases[i].uncertainty), cases[i].most, text,
                       sizeof text);
    ck_assert_str_eq(text, cases[i].expected);
  }
}
END_TEST

START_TEST(what_is_not_measured_is_a_dash)
{
  char text[8];
  sc_format_quantity(sc_not_measured("no"), 3, text, sizeof text);
  ck_assert_str_eq(text, "-");
}
END_TEST

Suite *value_suite(void)
{
  Suite *suite = suite_create("value");
  TCase *values = tcase_create("values");
  tcase_add_test(values, every_type_is_read);
  tcase_add_test(values, absence_always_has_a_reason);
  tcase_add_test(values, two_digits_of_the_uncertainty_are_shown);
  tcase_add_test(values, what_is_not_measured_is_a_dash);
  suite_add_tcase(suite, values);
  return suite;
}
