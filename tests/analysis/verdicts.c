/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Runs the tests of src/analysis that are about lines and the verdicts on them. They take as long
 * as all others of that room, so they are a program of their own, for another processor. */
#include "analysis/suites.h"
#include "support/support.h"

int main(void)
{
  static Suite *(*const suites[])(void) = {
      account_suite, beats_suite,    beneath_suite,  centre_suite, changing_suite,
      cut_suite,     data_suite,     drift_suite,    jump_suite,   expected_suite,
      missing_suite, overload_suite, rounding_suite, tones_suite,  unwanted_suite,
  };
  return support_run(suites, sizeof suites / sizeof suites[0]);
}
