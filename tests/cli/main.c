/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Runs the tests of src/cli. */
#include "cli/suites.h"
#include "support/support.h"

int main(void)
{
  static Suite *(*const suites[])(void) = {number_suite, parse_suite, program_suite};
  return support_run(suites, sizeof suites / sizeof suites[0]);
}
