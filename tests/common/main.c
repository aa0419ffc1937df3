/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Runs the tests of src/common. */
#include "common/suites.h"
#include "support/support.h"

int main(void)
{
  static Suite *(*const suites[])(void) = {error_suite, number_suite, text_suite};
  return support_run(suites, sizeof suites / sizeof suites[0]);
}
