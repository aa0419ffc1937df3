/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* How places are put into words. */
#include <config.h>

#include <math.h>

#include "account/suites.h"
#include "account/words.h"

/* The last digit is no finer than the uncertainty (JCGM 100:2008, 7.2.6: an estimate is rounded to
 * be consistent with its uncertainty), nor finer than 0.1 Hz. */
START_TEST(a_place_has_the_digits_that_are_known)
{
  static const struct {
    double hz, uncertainty;
    const char *words;
  } ways[] = {{59571.505, 0.015, "59.5715 kHz"}, {-59571.505, 2.3, "59.572 kHz"},
              {59571.505, 119, "59.6 kHz"},      {59571.505, 5000, "60 kHz"},
              {912.34, 0.4, "912.3 Hz"},         {912.34, 12, "910 Hz"},
              {130970.0, NAN, "130.97 kHz"}};
  char words[ACCOUNT_NAME_LENGTH];
  account_place_words(
      &(struct sc_quantity){.value = ways[_i].hz, .uncertainty = ways[_i].uncertainty}, words);
  ck_assert_str_eq(words, ways[_i].words);
}
END_TEST

Suite *words_suite(void)
{
  Suite *suite = suite_create("words");
  TCase *tests = tcase_create("words");
  tcase_add_loop_test(tests, a_place_has_the_digits_that_are_known, 0, 7);
  suite_add_tcase(suite, tests);
  return suite;
}
