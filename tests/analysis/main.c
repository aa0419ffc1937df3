/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Runs the tests of src/analysis. */
#include "analysis/suites.h"
#include "support/support.h"

int main(void)
{
  static Suite *(*const suites[])(void) = {
      account_suite,   audiofile_suite, composite_suite,  corrector_suite, emission_suite,
      expected_suite,  iq_suite,        rds_suite,        real_suite,      source_suite,
      stretches_suite, stream_suite,    test_audio_suite, tones_suite,     unwanted_suite,
      worker_suite,    sight_suite,     dealt_suite,      halved_suite,    data_suite,
      cut_suite,       rounding_suite,  beneath_suite,    overload_suite,
  };
  return support_run(suites, sizeof suites / sizeof suites[0]);
}
