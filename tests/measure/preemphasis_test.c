/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The fit of a time constant to responses made by the formula of ITU-R BS.450-3, 1.2, with noise.
 */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

#include <sidecomb/preemphasis.h>
#include <sidecomb/sequence.h>

#include "measure/suites.h"
#include "support/random.h"
#include "support/support.h"

static double gain_db(double hz, double tau_us)
{
  const double x = 6.283185307179586 * hz * tau_us * 1e-6;
  return 10.0 * log10(1.0 + x * x);
}

/* Responses as the judge of test audio gives them, with Gaussian errors of sd_db. */
static struct sc_audio response(double tau_us, double sd_db, uint64_t *random)
{
  static struct sc_audio audio;
  memset(&audio, 0, sizeof audio);
  audio.sequence = SC_YES;
  for (int i = 0; i < SC_AUDIO_POINTS; i++) {
    const double hz = sc_sequence_comb_hz(i % 2)[i / 2];
    double error = 0.0;
    for (int k = 0; k < 12; k++)
      error += support_uniform(random) / 2.0;
    audio.points[i] = (struct sc_audio_point){
        .frequency_hz = hz,
        .right = i % 2 == 1,
        .response_db = sc_measured(gain_db(hz, tau_us) - gain_db(1000.0, tau_us) + sd_db * error,
                                   i / 2 == 6 ? (double)NAN : sd_db)};
  }
  return audio;
}

START_TEST(constants_are_told_apart)
{
  const unsigned trials = support_trials(100);
  uint64_t random = support_seed("constants_are_told_apart", 5075);
  static const double taus_us[] = {50.0, 75.0, 0.0};
  const double tolerance_us = 2.0;
  for (unsigned t = 0; t < trials; t++) {
    const double tau_us = taus_us[t % 3];
    struct sc_preemphasis p;
    const struct sc_audio audio = response(tau_us, 0.05, &random);
    sc_preemphasis_fit(&audio, &p);
    ck_assert_double_eq(p.tau_us.value, tau_us);
    if (tau_us > 0.0) {
      ck_assert_double_eq_tol(p.fitted_us.value, tau_us, tolerance_us);
      ck_assert_double_le(fabs(p.fitted_us.value - tau_us), 5.0 * p.fitted_us.uncertainty);
    }
  }
}
END_TEST

START_TEST(others_are_not_called_standard)
{
  uint64_t random = support_seed("others_are_not_called_standard", 62);
  struct sc_preemphasis p;
  struct sc_audio audio = response(62.5, 0.02, &random);
  sc_preemphasis_fit(&audio, &p);
  ck_assert_ptr_nonnull(p.tau_us.why);
  ck_assert_double_eq_tol(p.fitted_us.value, 62.5, 1.0);
  for (int i = 0; i < SC_AUDIO_POINTS; i++) /* a resonance is no pre-emphasis */
    audio.points[i].response_db.value += audio.points[i].frequency_hz > 5000.0 ? -6.0 : 0.0;
  sc_preemphasis_fit(&audio, &p);
  ck_assert_ptr_nonnull(p.tau_us.why);
  ck_assert_ptr_nonnull(p.fitted_us.why);
  audio.sequence = SC_NO; /* a programme */
  sc_preemphasis_fit(&audio, &p);
  ck_assert_ptr_nonnull(p.tau_us.why);
}
END_TEST

Suite *preemphasis_suite(void)
{
  Suite *suite = suite_create("measure/preemphasis");
  TCase *tests = tcase_create("preemphasis");
  tcase_add_test(tests, constants_are_told_apart);
  tcase_add_test(tests, others_are_not_called_standard);
  suite_add_tcase(suite, tests);
  return suite;
}
