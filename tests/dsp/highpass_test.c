/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The high-pass against the Butterworth law, 10 log10(1 + (corner / f)^4) dB below. */
#include <config.h>

#include <math.h>

#include "dsp/highpass.h"
#include "dsp/suites.h"

#define TWO_PI 6.283185307179586476925286766559

enum { RATE = 48000 };

/* Of a tone on a constant, over whole cycles, behind a second. */
static double gain_db(double hz)
{
  static float x[2 * RATE];
  struct dsp_highpass filter;
  dsp_highpass_set(&filter, 7.0, RATE);
  for (size_t n = 0; n < 2 * RATE; n++)
    x[n] = 5.0F + (float)sin(TWO_PI * fmod(hz * (double)n / RATE, 1.0));
  dsp_highpass_settle(&filter, 5.0);
  dsp_highpass_square(&filter, x, RATE);
  return 10.0 * log10(dsp_highpass_square(&filter, x + RATE, RATE) / (RATE / 2.0));
}

START_TEST(keeps_to_the_law)
{
  static const double tones_hz[] = {3.0, 7.0, 14.0, 30.0, 50.0, 100.0, 1000.0, 15000.0};
  for (size_t i = 0; i < sizeof tones_hz / sizeof *tones_hz; i++)
    ck_assert_double_eq_tol(gain_db(tones_hz[i]), -10.0 * log10(1.0 + pow(7.0 / tones_hz[i], 4.0)),
                            1e-3);
}
END_TEST

START_TEST(a_constant_has_settled)
{
  static const float x[4] = {3.0F, 3.0F, 3.0F, 3.0F};
  struct dsp_highpass filter;
  dsp_highpass_set(&filter, 7.0, RATE);
  dsp_highpass_settle(&filter, 3.0);
  ck_assert_double_le(dsp_highpass_square(&filter, x, 4), 1e-20);
}
END_TEST

Suite *highpass_suite(void)
{
  Suite *suite = suite_create("dsp/highpass");
  TCase *tests = tcase_create("highpass");
  tcase_add_test(tests, keeps_to_the_law);
  tcase_add_test(tests, a_constant_has_settled);
  suite_add_tcase(suite, tests);
  return suite;
}
