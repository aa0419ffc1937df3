/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Discriminator against libm's arctangent, equaliser against the sinc that it undoes. */
#include <config.h>

#include <math.h>
#include <stdlib.h>

#include "dsp/discriminator.h"
#include "dsp/suites.h"
#include "support/support.h"

#define PI 3.1415926535897932384626433832795

START_TEST(arctangent_is_libms)
{
  enum { FRAMES = 100003 }; /* odd, so that the steps fall everywhere */
  const double tolerance_rad = 1e-6;
  float *in = malloc(2 * FRAMES * sizeof *in);
  float *out = malloc(FRAMES * sizeof *out);
  srand((unsigned)support_seed("arctangent_is_libms", 20260302));
  for (int run = 0; run < 3; run++) {
    for (size_t n = 0; n < FRAMES; n++) { /* steps from -pi to pi, or anything */
      const double angle = run == 0 ? PI * (double)n * (double)n / FRAMES : 7.0 * rand() / RAND_MAX;
      const double size = run == 2 ? exp(20.0 * rand() / RAND_MAX - 20.0) : 1.0;
      in[2 * n] = (float)(size * cos(angle));
      in[2 * n + 1] = (float)(size * sin(angle));
    }
    float previous[2] = {1.0F, 0.0F};
    dsp_discriminate(in, 777, 1.0F, previous, out);
    dsp_discriminate(in + 2 * 777, FRAMES - 777, 1.0F, previous, out + 777);
    double re = 1.0;
    double im = 0.0;
    for (size_t n = 0; n < FRAMES; n++) {
      const double x = in[2 * n];
      const double y = in[2 * n + 1];
      const double error = out[n] - atan2(y * re - x * im, x * re + y * im);
      ck_assert_double_le(fabs(remainder(error, 2.0 * PI)), tolerance_rad);
      re = x;
      im = y;
    }
  }
  free(in);
  free(out);
}
END_TEST

static void check_pair(const float pair[4])
{
  const double tolerance_rad = 1e-6;
  const float khz_per_radian = (float)(480.0 / (2.0 * PI)); /* as the demodulator scales it */
  const double re = pair[0], im = pair[1], x = pair[2], y = pair[3];
  float previous[2] = {pair[0], pair[1]};
  float out[1];
  dsp_discriminate(pair + 2, 1, khz_per_radian, previous, out);
  const double error = out[0] / (double)khz_per_radian - atan2(y * re - x * im, x * re + y * im);
  ck_assert_double_le(fabs(remainder(error, 2.0 * PI)), tolerance_rad);
}

/* On the borders of octants and close beside them, and where amplitudes differ: as far as the
 * product of two is a float. */
START_TEST(any_amplitude_and_border)
{
  static const double beside[] = {0.0, 1e-12, 1e-7, 1e-5, 1e-3};
  static const double sizes[] = {1e-15, 1e-6, 1.0, 3e4, 1e15};
  enum { BESIDE = sizeof beside / sizeof *beside, SIZES = sizeof sizes / sizeof *sizes };
  for (int octant = -8; octant <= 8; octant++)
    for (size_t b = 0; b < 2 * BESIDE; b++)
      for (size_t s = 0; s < SIZES * SIZES; s++) {
        const double angle = octant * PI / 4.0 + (b % 2 ? -1.0 : 1.0) * beside[b / 2];
        const double first = sizes[s / SIZES], second = sizes[s % SIZES];
        check_pair((const float[]){(float)(first * cos(1.0)), (float)(first * sin(1.0)),
                                   (float)(second * cos(1.0 + angle)),
                                   (float)(second * sin(1.0 + angle))});
        check_pair((const float[]){(float)first, 0.0F, (float)(second * cos(angle)),
                                   (float)(second * sin(angle))});
      }
}
END_TEST

/* A constant frequency must come out in every digit that a float has. */
START_TEST(small_steps_keep_their_digits)
{
  for (double step = 1e-6; step < 0.5; step *= 3.0) {
    const float in[2] = {(float)cos(step), (float)sin(step)};
    const double exact = atan2(in[1], in[0]);
    float previous[2] = {1.0F, 0.0F};
    float out[1];
    dsp_discriminate(in, 1, 1.0F, previous, out);
    ck_assert_double_eq_tol(out[0] / exact, 1.0, 4e-7);
  }
}
END_TEST

START_TEST(axes_zeros_and_nothing)
{
  const float in[12] = {1, 0, 0, 1, -1, 0, -1, 0, 0, 0, 1, 0};
  const double expected[6] = {0, PI / 2, PI / 2, 0, 0, 0};
  float previous[2] = {1.0F, 0.0F};
  float out[6];
  dsp_discriminate(in, 0, 1.0F, previous, out);
  ck_assert_float_eq(previous[0], 1.0F);
  dsp_discriminate(in, 6, 2.0F, previous, out);
  for (size_t n = 0; n < 6; n++)
    ck_assert_double_eq_tol(out[n], 2.0 * expected[n], 1e-6);
}
END_TEST

static double response(const double *taps, size_t count, double cycles)
{
  double sum = 0.0;
  for (size_t k = 0; k < count; k++)
    sum += taps[k] * cos(2.0 * PI * cycles * ((double)k - (double)(count - 1) / 2.0));
  return sum;
}

START_TEST(equaliser_undoes_the_droop)
{
  static const double rates_hz[] = {384e3, 456e3, 480e3, 512e3, 640e3, 800e3};
  for (size_t r = 0; r < sizeof rates_hz / sizeof *rates_hz; r++) {
    double *taps;
    size_t count;
    const double rate_hz = rates_hz[r];
    ck_assert_int_eq(dsp_equaliser_design(100e3, 140e3, 100.0, rate_hz, &taps, &count), SC_OK);
    ck_assert_uint_eq(count % 2, 0);
    ck_assert_double_eq_tol(response(taps, count, 0.0), 1.0, 1e-14);
    for (double f = 0.0; f <= 100e3; f += 37.0) {
      const double x = PI * f / rate_hz;
      const double droop = f > 0.0 ? sin(x) / x : 1.0;
      ck_assert_double_eq_tol(response(taps, count, f / rate_hz) * droop, 1.0, 2e-5);
    }
    for (double f = 140e3; f <= rate_hz / 2.0; f += 37.0)
      ck_assert_double_le(fabs(response(taps, count, f / rate_hz)), 2e-5); /* -94 dB */
    free(taps);
  }
}
END_TEST

START_TEST(equaliser_refuses_nonsense)
{
  double *taps;
  size_t count;
  ck_assert_int_eq(dsp_equaliser_design(2.0, 1.0, 80.0, 10.0, &taps, &count), SC_BAD_ARGUMENT);
  ck_assert_int_eq(dsp_equaliser_design(1.0, 6.0, 80.0, 10.0, &taps, &count), SC_BAD_ARGUMENT);
  ck_assert_int_eq(dsp_equaliser_design(0.0, 1.0, 80.0, 10.0, &taps, &count), SC_BAD_ARGUMENT);
}
END_TEST

Suite *discriminator_suite(void)
{
  Suite *suite = suite_create("dsp/discriminator");
  TCase *tests = tcase_create("discriminator");
  tcase_add_test(tests, arctangent_is_libms);
  tcase_add_test(tests, any_amplitude_and_border);
  tcase_add_test(tests, small_steps_keep_their_digits);
  tcase_add_test(tests, axes_zeros_and_nothing);
  tcase_add_test(tests, equaliser_undoes_the_droop);
  tcase_add_test(tests, equaliser_refuses_nonsense);
  suite_add_tcase(suite, tests);
  return suite;
}
