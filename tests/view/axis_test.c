/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Axes with round numbers. */
#include <math.h>
#include <string.h>

#include "view/axis.h"
#include "view/suites.h"

START_TEST(steps_are_one_two_or_five)
{
  ck_assert_double_eq_tol(view_round_step(100, 10), 10, 1e-9);
  ck_assert_double_eq_tol(view_round_step(100, 9), 20, 1e-9);
  ck_assert_double_eq_tol(view_round_step(100, 3), 50, 1e-9);
  ck_assert_double_eq_tol(view_round_step(0.07, 2), 0.05, 1e-12);
  ck_assert_double_eq(view_round_step(0, 5), 0);
}
END_TEST

/* For many spans and widths: labels do not run into each other, and say what they stand at. */
START_TEST(labels_fit_between_their_neighbours)
{
  for (double span = 2; span < 4e6; span *= 1.7)
    for (int columns = 20; columns < 300; columns += 31) {
      struct view_axis axis = view_axis_frequency(-span * 0.4, span * 0.6, columns, true);
      ck_assert_double_gt(axis.step, 0);
      double apart = axis.step / span * columns;
      double value = view_axis_first(&axis);
      ck_assert_double_ge(value, axis.low - 1e-6 * span);
      struct view_number label = view_axis_label(&axis, value, true);
      ck_assert_double_lt((double)strlen(label.text), apart);
    }
}
END_TEST

START_TEST(a_narrow_span_at_a_high_frequency_keeps_its_digits)
{
  struct view_axis axis = view_axis_frequency(91.2e6 - 10, 91.2e6 + 10, 100, false);
  struct view_number one = view_axis_label(&axis, 91.2e6, false);
  struct view_number two = view_axis_label(&axis, 91.2e6 + axis.step, false);
  ck_assert_str_ne(one.text, two.text);
}
END_TEST

START_TEST(zero_is_plain)
{
  struct view_axis axis = view_axis_frequency(-1e5, 1e5, 60, true);
  ck_assert_str_eq(view_axis_label(&axis, 1e-9, true).text, "0");
  ck_assert_str_eq(axis.unit_name, "kHz");
}
END_TEST

Suite *axis_suite(void)
{
  Suite *suite = suite_create("axis");
  TCase *axes = tcase_create("axes");
  tcase_add_test(axes, steps_are_one_two_or_five);
  tcase_add_test(axes, labels_fit_between_their_neighbours);
  tcase_add_test(axes, a_narrow_span_at_a_high_frequency_keeps_its_digits);
  tcase_add_test(axes, zero_is_plain);
  suite_add_tcase(suite, axes);
  return suite;
}
