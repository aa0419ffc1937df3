/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Runs the tests of src/report. */
#include "report/suites.h"
#include "support/support.h"

int main(void)
{
  static Suite *(*const suites[])(void) = {brief_suite, compare_suite, fields_suite, groups_suite,
                                           value_suite, layout_suite,  limits_suite, log_suite,
                                           json_suite,  text_suite,    plot_suite,   rows_suite};
  return support_run(suites, sizeof suites / sizeof suites[0]);
}
