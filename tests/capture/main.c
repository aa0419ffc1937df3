/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Runs the tests of src/capture. */
#include "capture/suites.h"
#include "support/support.h"

int main(void)
{
  static Suite *(*const suites[])(void) = {
      types_suite, scan_suite, raw_suite,      pipe_suite, sigmf_suite, soundfile_suite,
      write_suite, fuzz_suite, response_suite, save_suite, live_suite,  follow_suite,
      datetime_suite, record_suite};
  return support_run(suites, sizeof suites / sizeof suites[0]);
}
