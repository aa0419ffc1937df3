/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Runs the tests of src/analysis but those in verdicts.c. */
#include "analysis/suites.h"
#include "support/support.h"

int main(void)
{
  static Suite *(*const suites[])(void) = {
      audiofile_suite,  composite_suite, corrector_suite,  emission_suite,  iq_suite,
      rds_suite,        real_suite,      source_suite,     stretches_suite, stream_suite,
      test_audio_suite, worker_suite,    sampletype_suite, sight_suite,     dealt_suite,
      halved_suite,     foreign_suite,   above_suite,
  };
  return support_run(suites, sizeof suites / sizeof suites[0]);
}
