/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Runs the tests of src/signal. */
#include "signal/suites.h"
#include "support/support.h"

int main(void)
{
  static Suite *(*const suites[])(void) = {
      random_suite,      bank_suite,     signal_suite,    rate_suite,     shape_suite,
      programme_suite,   rds_suite,      generator_suite, scenario_suite, compose_suite,
      impairments_suite, sequence_suite, turn_suite};
  return support_run(suites, sizeof suites / sizeof suites[0]);
}
