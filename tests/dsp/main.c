/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Runs the tests of src/dsp. */
#include "dsp/suites.h"
#include "support/support.h"

int main(void)
{
  static Suite *(*const suites[])(void) = {
      coherent_suite,
      correction_suite,
      deemphasis_suite,
      highpass_suite,
      discriminator_suite,
      fft_suite,
      gamma_suite,
      mixer_suite,
      plateau_suite,
      resample_suite,
      taper_suite,
      hops_suite,
      weighting_suite,
      window_suite,
  };
  return support_run(suites, sizeof suites / sizeof suites[0]);
}
