/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Runs the tests of src/measure. */
#include "measure/suites.h"
#include "support/support.h"

int main(void)
{
  static Suite *(*const suites[])(void) = {
      am_suite,
      audio_suite,
      carrier_suite,
      wander_suite,
      steps_suite,
      channel_suite,
      composite_suite,
      deviation_suite,
      kind_suite,
      lines_suite,
      lines_accuracy_suite,
      lines_false_suite,
      lines_fm_suite,
      mask_suite,
      occupancy_suite,
      spectrum_suite,
      spectrum_reference_suite,
      spectrum_zoom_suite,
      pilot_suite,
      preemphasis_suite,
      rds_code_suite,
      rds_errors_suite,
      rds_groups_suite,
      rds_presence_suite,
      rds_suite,
      remainder_suite,
      rounded_suite,
      regularity_suite,
      residual_suite,
      stereo_suite,
      tops_suite,
  };
  return support_run(suites, sizeof suites / sizeof suites[0]);
}
