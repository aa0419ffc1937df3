/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A clock that is set ahead and back, and one that is kept right by small steps. */
#include <string.h>

#include <check.h>

#include "view/clock.h"
#include "view/suites.h"

START_TEST(a_clock_that_is_set_is_told_once)
{
  struct view_clock clock = {.known = false};
  char text[160] = "";
  ck_assert(!view_clock_look(&clock, 1.8e9, 100, text, sizeof text));
  ck_assert(!view_clock_look(&clock, 1.8e9 + 10.2, 110, text, sizeof text)); /* 0.2 s at a time */
  ck_assert(!view_clock_look(&clock, 1.8e9 + 20.4, 120, text, sizeof text));
  ck_assert(view_clock_look(&clock, 1.8e9 + 3630.4, 130, text, sizeof text));
  ck_assert_ptr_nonnull(strstr(text, "ahead by 3600 s"));
  ck_assert(!view_clock_look(&clock, 1.8e9 + 3640.4, 140, text, sizeof text));
  ck_assert(view_clock_look(&clock, 1.8e9 + 50.4, 150, text, sizeof text));
  ck_assert_ptr_nonnull(strstr(text, "back by 3600 s"));
}
END_TEST

Suite *clock_suite(void)
{
  Suite *suite = suite_create("clock");
  TCase *tcase = tcase_create("clock");
  tcase_add_test(tcase, a_clock_that_is_set_is_told_once);
  suite_add_tcase(suite, tcase);
  return suite;
}
