/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The de-emphasis curve against the pre-emphasis of ITU-R BS.450-3, 1.2: the admittance of a
 * resistor and a capacitor in parallel, 10 log10(1 + (2 pi f tau)^2) dB. Corner frequencies of 50
 * and 75 us: 3183.1 and 2122.1 Hz, -3.01 dB there. */
#include <config.h>

#include <math.h>

#include "dsp/deemphasis.h"
#include "dsp/suites.h"

#define TWO_PI 6.283185307179586476925286766559

static double gain_db(double tau_s, double rate_hz, double hz)
{
  enum { FRAMES = 20000 };
  static float x[FRAMES];
  struct dsp_deemphasis filter;
  double re = 0.0, im = 0.0;
  dsp_deemphasis_set(&filter, tau_s, rate_hz);
  for (size_t n = 0; n < FRAMES; n++)
    x[n] = (float)cos(TWO_PI * fmod(hz * (double)n / rate_hz, 1.0));
  dsp_deemphasis_run(&filter, x, x, FRAMES);
  for (size_t n = FRAMES / 2; n < FRAMES; n++) {
    const double w = 1.0 - cos(TWO_PI * ((double)n + 0.5) / (FRAMES / 2.0)); /* Hann */
    re += w * x[n] * cos(TWO_PI * fmod(hz * (double)n / rate_hz, 1.0));
    im += w * x[n] * sin(TWO_PI * fmod(hz * (double)n / rate_hz, 1.0));
  }
  return 20.0 * log10(hypot(re, im) / (FRAMES / 4.0));
}

START_TEST(follows_the_curve)
{
  static const double taus_us[] = {0.0, 50.0, 75.0};
  static const double rates_hz[] = {44100.0, 48000.0, 51200.0};
  static const double tones_hz[] = {100.0, 1000.0, 2122.07, 3183.10, 6000.0, 10000.0, 15000.0};
  const double tolerance_db = 0.12;
  for (size_t t = 0; t < 3; t++)
    for (size_t r = 0; r < 3; r++)
      for (size_t f = 0; f < sizeof tones_hz / sizeof *tones_hz; f++) {
        const double x = TWO_PI * tones_hz[f] * taus_us[t] * 1e-6;
        ck_assert_double_eq_tol(gain_db(taus_us[t] * 1e-6, rates_hz[r], tones_hz[f]),
                                -10.0 * log10(1.0 + x * x), tolerance_db);
      }
}
END_TEST

START_TEST(a_pair_is_two)
{
  enum { FRAMES = 300 };
  float both[2 * FRAMES], one[2][FRAMES];
  struct dsp_deemphasis pair[2], single[2];
  for (size_t c = 0; c < 2; c++) {
    dsp_deemphasis_set(&pair[c], 50e-6 + 25e-6 * (double)c, 48e3);
    single[c] = pair[c];
  }
  for (size_t n = 0; n < FRAMES; n++)
    for (size_t c = 0; c < 2; c++)
      both[2 * n + c] = one[c][n] = (float)sin((double)(n * n + 7 * c));
  /* in two goes, so that what is kept between them counts */
  dsp_deemphasis_run_pair(&pair[0], &pair[1], both, both, 100);
  dsp_deemphasis_run_pair(&pair[0], &pair[1], both + 200, both + 200, FRAMES - 100);
  for (size_t c = 0; c < 2; c++) {
    dsp_deemphasis_run(&single[c], one[c], one[c], FRAMES);
    for (size_t n = 0; n < FRAMES; n++)
      ck_assert_float_eq(both[2 * n + c], one[c][n]);
  }
}
END_TEST

Suite *deemphasis_suite(void)
{
  Suite *suite = suite_create("dsp/deemphasis");
  TCase *tests = tcase_create("deemphasis");
  tcase_add_test(tests, follows_the_curve);
  tcase_add_test(tests, a_pair_is_two);
  suite_add_tcase(suite, tests);
  return suite;
}
