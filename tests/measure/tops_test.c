/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Streams that are cut off, and streams that only look like it: all made here. */
#include <config.h>

#include <math.h>
#include <string.h>

#include "measure/limiter.h"
#include "measure/suites.h"
#include "measure/tops.h"
#include "support/random.h"
#include "support/support.h"

#define TWO_PI 6.283185307179586476925286766559

enum { FRAMES = 480000, AUDIO_RATE = 48000, RATE = 500000 };

static float stream[FRAMES];

static float cut(double x, double at)
{
  return (float)(x > at ? at : x < -at ? -at : x);
}

/* ---- recordings */

static double flat_of(void)
{
  static struct measure_tops tops;
  memset(&tops, 0, sizeof tops);
  measure_tops_add(&tops, stream, 1, FRAMES);
  return measure_tops_flat(&tops);
}

static double sine(double hz, size_t i)
{
  return sin(TWO_PI * hz * (double)i / AUDIO_RATE);
}

/* In steps of 16 bits, as recordings come. */
static double in_steps(double x)
{
  return rint(32767 * x) / 32767;
}

/* A sine spends acos(c) / (pi / 2) of its time beyond the share c of its amplitude (arcsine law);
 * what is called its flat top reaches half a percent and a class further down at the most. */
START_TEST(a_cut_sine_is_flat_for_as_long_as_it_is_cut)
{
  static const double cut_at[] = {0.95, 0.9, 0.6};
  for (size_t k = 0; k < 3; k++) {
    for (size_t i = 0; i < FRAMES; i++)
      stream[i] = (float)in_steps((double)cut(0.7 * sine(997, i), 0.7 * cut_at[k]));
    const double least = 4 / TWO_PI * acos(cut_at[k]);
    ck_assert_double_ge(flat_of(), 0.999 * least);
    ck_assert_double_le(flat_of(), 4 / TWO_PI * acos(0.991 * cut_at[k]));
  }
}
END_TEST

START_TEST(one_side_alone_may_be_cut)
{
  for (size_t i = 0; i < FRAMES; i++)
    stream[i] = (float)fmin(0.9 * sine(997, i), 0.6);
  ck_assert_double_eq_tol(flat_of(), 2 / TWO_PI * acos(0.6 / 0.9), 0.01);
}
END_TEST

/* Tones low, high and at a share of the rate, sums of them, noise, a square wave: nothing of it
 * was cut. */
START_TEST(what_is_not_cut_is_not_flat)
{
  uint64_t random = support_seed("what_is_not_cut_is_not_flat", 3);
  static const double tones_hz[] = {40, 997, 1000, 12345.6, 6000};
  for (int k = 0; k < 9; k++) {
    for (size_t i = 0; i < FRAMES; i++) {
      const double tone = k < 5    ? 0.5 * sine(tones_hz[k], i)
                          : k == 5 ? 0.3 * sine(400, i) + 0.3 * sine(7001, i)
                          : k == 6 ? 0.5 * sine(3000, i) + 1e-3 * support_uniform(&random)
                          : k == 7 ? (sine(997, i) > 0 ? 0.5 : -0.5)
                                   : 0;
      double noise = 0;
      for (int n = 0; n < 12 && k == 8; n++)
        noise += 0.05 * support_uniform(&random);
      stream[i] = (float)in_steps(tone + noise);
    }
    ck_assert_msg(!(flat_of() > 0), "stream %d: %g", k, flat_of());
  }
}
END_TEST

/* ---- composites */

/* Tones of left and right and the pilot, all cut at once, or before the pilot came to them. */
struct made {
  double sum_hz, sum_khz, left_hz, left_khz, pilot_khz, cut_khz;
  bool before_pilot;
};

static double cut_off_of(const struct made *made)
{
  static struct measure_amplitudes amplitudes;
  double width_khz;
  memset(&amplitudes, 0, sizeof amplitudes);
  for (size_t i = 0; i < FRAMES; i++) {
    const double t = (double)i / RATE, pilot = sin(TWO_PI * 19e3 * t + 0.3);
    const double left = made->left_khz / 2 * sin(TWO_PI * made->left_hz * t);
    const double rest = made->sum_khz * sin(TWO_PI * made->sum_hz * t) +
                        left * (1 + sin(2 * TWO_PI * 19e3 * t + 0.6));
    const double piloted = made->pilot_khz * pilot;
    stream[i] = made->before_pilot ? cut(rest, made->cut_khz) + (float)piloted
                                   : cut(rest + piloted, made->cut_khz);
  }
  measure_amplitudes_add(&amplitudes, stream, FRAMES);
  return measure_limiter_khz(&amplitudes, 0, made->pilot_khz, &width_khz);
}

START_TEST(a_composite_is_cut_off_with_its_pilot)
{
  static const struct made cuts[] = {{997, 60, 0, 0, 6.75, 50, false},
                                     {997, 50, 1703, 40, 6.75, 60, false},
                                     {403, 90, 0, 0, 7.5, 75, false},
                                     {0, 0, 1003, 80, 6, 60, false}};
  for (size_t i = 0; i < 4; i++)
    ck_assert_double_eq_tol(cut_off_of(&cuts[i]), cuts[i].cut_khz, 1.0);
}
END_TEST

/* Limited before the stereo coder adds its pilot, as it should be; and not at all. */
START_TEST(programme_that_is_cut_off_alone_is_not)
{
  static const struct made others[] = {
      {997, 100, 0, 0, 6.75, 60, true},     {1000, 67.5, 0, 0, 6.75, 500, false},
      {0, 0, 1000, 67.5, 6.75, 500, false}, {403, 30, 7001, 30, 6.75, 500, false},
      {0, 0, 0, 0, 6.75, 500, false},       {997, 60, 0, 0, 0, 50, false}};
  for (size_t i = 0; i < 6; i++)
    ck_assert_msg(!(cut_off_of(&others[i]) > 0), "%zu: %g", i, cut_off_of(&others[i]));
}
END_TEST

Suite *tops_suite(void)
{
  Suite *suite = suite_create("tops");
  TCase *tests = tcase_create("tops");
  tcase_add_test(tests, a_cut_sine_is_flat_for_as_long_as_it_is_cut);
  tcase_add_test(tests, one_side_alone_may_be_cut);
  tcase_add_test(tests, what_is_not_cut_is_not_flat);
  tcase_add_test(tests, a_composite_is_cut_off_with_its_pilot);
  tcase_add_test(tests, programme_that_is_cut_off_alone_is_not);
  suite_add_tcase(suite, tests);
  return suite;
}
