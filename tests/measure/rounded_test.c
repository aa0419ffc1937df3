/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A carrier of the amplitude A steps, rounded in I and Q, gets lines at 1 + 4 k times its frequency
 * and at no other multiple, by the staircase's symmetries; their amplitudes are sums of Bessel
 * functions, 2 / (pi m) J_n(2 pi m A) (W. R. Bennett, Bell Syst. Tech. J. 27, 1948; N. M. Blachman,
 * IEEE Trans. ASSP-33, 1985; both from memory), here by the C library's jn. */
#include <config.h>

#include <complex.h>
#include <math.h>
#include <stdlib.h>

#include <check.h>

#include "measure/rounded.h"
#include "measure/suites.h"

enum { FRAMES = 1 << 17, BITS = 8 };
static const double rate_hz = 1e6, carrier_hz = 71317.3, other_hz = -333444.5;
/* Of the channel: beyond are all lines that rounding makes, but for two of tones_of_the_phase. */
static const double half_width_hz = 4e3;
/* Of the carrier that the tests have, as theory bounds it: 0.12 of a step. */
static const double strongest = 0.12 / 128;
static const double pi = 3.14159265358979323846;
/* From here on the account takes a line for rounding's (account/rounding.c). */
static const double made_share = 0.5;

struct signal {
  double steps;          /* the carrier's amplitude */
  double tone_hz, index; /* that the carrier's phase swings by */
  double other_hz, other_steps;
  unsigned left; /* bits that are always the same */
};

/* With half a step, as receivers of unsigned bytes. */
static int16_t code_of(double steps, unsigned left)
{
  return (int16_t)(lrint(floor(steps)) * (1 << left));
}

static struct measure_rounded *make(const struct signal *signal)
{
  static int16_t codes[2 * FRAMES];
  for (size_t i = 0; i < FRAMES; i++) {
    const double t = (double)i / rate_hz;
    const double complex value =
        signal->steps * cexp(I * (2 * pi * carrier_hz * t +
                                  signal->index * sin(2 * pi * signal->tone_hz * t))) +
        signal->other_steps * cexp(2 * pi * I * signal->other_hz * t);
    codes[2 * i] = code_of(creal(value), signal->left);
    codes[2 * i + 1] = code_of(cimag(value), signal->left);
  }
  const struct measure_rounded_settings settings = {.rate_hz = rate_hz,
                                                    .bits = BITS + signal->left,
                                                    .offset = exp2((double)signal->left - 1),
                                                    .carrier_hz = carrier_hz,
                                                    .half_width_hz = half_width_hz,
                                                    .noise_density = 0,
                                                    .strongest = strongest};
  struct measure_rounded *rounded;
  ck_assert_int_eq(measure_rounded_create(&settings, codes, FRAMES, &rounded), SC_OK);
  return rounded;
}

/* In steps; the line at n times, n = 1 + 4 k. */
static double line_by_bessel(int n, double steps)
{
  double sum = 0;
  for (int m = 1; m <= 200; m++)
    sum += 2 / (pi * m) * jn(abs(n), 2 * pi * m * steps);
  return fabs(sum);
}

/* Of the lines outside of the channel, those that theory makes stronger than 0.03 steps: what is
 * weaker changes with the carrier's amplitude, which rounding changes as well.
 */
START_TEST(what_rounding_makes_of_a_carrier_is_found)
{
  const struct signal signal = {.steps = 20.3};
  struct measure_rounded *rounded = make(&signal);
  size_t seen = 0;
  for (int n = -39; n <= 41; n += 4) {
    const double hz = remainder(n * carrier_hz, rate_hz);
    if (fabs(hz - carrier_hz) < half_width_hz || line_by_bessel(n, signal.steps) < 0.03)
      continue;
    ck_assert_msg(measure_rounded_share(rounded, hz) > made_share, "%d times: %g", n,
                  measure_rounded_share(rounded, hz));
    seen++;
  }
  ck_assert_uint_ge(seen, 8);
  measure_rounded_destroy(rounded);
}
END_TEST

/* As strong as the strongest that theory lets rounding make of that carrier, and 10 dB less. */
START_TEST(a_line_of_another_source_is_not)
{
  for (int weaker = 0; weaker < 2; weaker++) {
    const struct signal signal = {
        .steps = 20.3, .other_hz = other_hz, .other_steps = weaker == 0 ? 0.1 : 0.03};
    struct measure_rounded *rounded = make(&signal);
    ck_assert_double_lt(measure_rounded_share(rounded, other_hz), 0.1);
    measure_rounded_destroy(rounded);
  }
}
END_TEST

/* The containers have two bits more than the samples: the steps are those of the samples. */
START_TEST(steps_are_those_of_the_samples)
{
  const struct signal signal = {.steps = 20.3, .left = 2};
  struct measure_rounded *rounded = make(&signal);
  ck_assert_double_gt(measure_rounded_share(rounded, 5 * carrier_hz), made_share);
  measure_rounded_destroy(rounded);
}
END_TEST

/* 28 times the carrier's frequency is 3.1 kHz beside two megahertz: its 29th multiple and the minus
 * 27th stand that far on both sides of it. A swing of the carrier's own is not rounding's. */
START_TEST(tones_of_the_phase_are_told)
{
  const struct signal signal = {.steps = 22.43, .tone_hz = 1700.7, .index = 1e-3};
  const double first_hz = fabs(remainder(28 * carrier_hz, rate_hz));
  struct measure_rounded *rounded = make(&signal);
  ck_assert_double_gt(measure_rounded_share_of_tone(rounded, first_hz), made_share);
  ck_assert_double_lt(measure_rounded_share_of_tone(rounded, signal.tone_hz), 0.1);
  measure_rounded_destroy(rounded);
}
END_TEST

START_TEST(samples_that_are_all_the_same_are_refused)
{
  static int16_t codes[2 * FRAMES];
  const struct measure_rounded_settings settings = {.rate_hz = rate_hz,
                                                    .bits = BITS,
                                                    .carrier_hz = carrier_hz,
                                                    .half_width_hz = half_width_hz,
                                                    .strongest = strongest};
  struct measure_rounded *rounded;
  for (size_t i = 0; i < 2 * FRAMES; i++)
    codes[i] = 32;
  ck_assert_int_eq(measure_rounded_create(&settings, codes, FRAMES, &rounded), SC_UNSUPPORTED);
  ck_assert_ptr_null(rounded);
}
END_TEST

Suite *rounded_suite(void)
{
  Suite *suite = suite_create("rounded");
  TCase *tests = tcase_create("rounded");
  tcase_add_test(tests, what_rounding_makes_of_a_carrier_is_found);
  tcase_add_test(tests, a_line_of_another_source_is_not);
  tcase_add_test(tests, steps_are_those_of_the_samples);
  tcase_add_test(tests, tones_of_the_phase_are_told);
  tcase_add_test(tests, samples_that_are_all_the_same_are_refused);
  suite_add_tcase(suite, tests);
  return suite;
}
