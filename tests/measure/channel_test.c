/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The noise beside a channel, of traces that are drawn: the mean of so many periodograms of white
 * noise has a gamma distribution (P. D. Welch, IEEE Trans. Audio Electroacoust. AU-15, 1967). */
#include <config.h>

#include <math.h>
#include <stdlib.h>

#include "measure/channel.h"
#include "measure/suites.h"
#include "support/random.h"
#include "support/support.h"

enum { POINTS = 6000, LOOKS = 40, TRIALS = 30 };

static const double step_hz = 400.0, density = 1e-9;

static float draw(uint64_t *random)
{
  double sum = 0.0;
  for (int look = 0; look < LOOKS; look++)
    sum -= log(((double)(support_random(random) >> 11) + 0.5) / 9007199254740992.0);
  return (float)(density * step_hz * sum / LOOKS);
}

/* Mean of what is measured of traces of 2.4 MHz, over the truth, less one, in uncertainties;
 * stations fill all but a share. */
static double off(double empty_share, uint64_t seed)
{
  static float mean[POINTS];
  uint64_t random = seed;
  double sum = 0.0, uncertainty = 0.0;
  for (int trial = 0; trial < TRIALS; trial++) {
    struct sc_trace trace = {.mean = mean,
                             .points = POINTS,
                             .start_hz = -POINTS / 2 * step_hz,
                             .step_hz = step_hz,
                             .rbw_hz = step_hz,
                             .independent_records = LOOKS};
    for (size_t i = 0; i < POINTS; i++)
      mean[i] = draw(&random) * ((double)i < empty_share * POINTS ? 1.0F : 4.0F);
    struct measure_noise noise;
    ck_assert(measure_noise_beside(&trace, 1e5, &noise));
    sum += noise.density / density - 1.0;
    uncertainty = noise.relative_uncertainty;
  }
  return sum / TRIALS / uncertainty;
}

/* Neither the quietest of many equal pieces is taken nor what stations fill. */
START_TEST(noise_beside_is_not_the_lowest_there_is)
{
  const uint64_t seed = support_seed("noise_beside_is_not_the_lowest_there_is", 20261128);
  ck_assert_double_eq_tol(off(1.0, seed), 0.0, 0.25);
  ck_assert_double_eq_tol(off(0.5, seed + 1), 0.0, 0.4);
  ck_assert_double_eq_tol(off(0.3, seed + 2), 0.0, 0.6);
}
END_TEST

Suite *channel_suite(void)
{
  Suite *suite = suite_create("measure/channel");
  TCase *tests = tcase_create("channel");
  tcase_add_test(tests, noise_beside_is_not_the_lowest_there_is);
  suite_add_tcase(suite, tests);
  return suite;
}
