/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What a limiter takes away: nothing of FM, a line as it is, its ghost by tabulated Bessel
 * functions, AM and noise twice. */
#include <config.h>

#include <complex.h>
#include <math.h>
#include <stdlib.h>

#include <check.h>

#include "measure/remainder.h"
#include "measure/suites.h"
#include "support/random.h"

enum { FRAMES = 240000, CELL = 480 };
static const double rate_hz = 480e3;
static const double pi = 3.14159265358979323846;

struct made {
  float x[2 * FRAMES], y[2 * FRAMES];
  size_t count;
};

static struct made *start(void)
{
  struct made *made = calloc(1, sizeof *made);
  ck_assert_ptr_nonnull(made);
  return made;
}

static void set(struct made *made, size_t i, double complex value)
{
  made->x[2 * i] = (float)creal(value);
  made->x[2 * i + 1] = (float)cimag(value);
}

/* A kilohertz with an index of 20 beside a pilot. */
static double programme(double t)
{
  return 20 * sin(2 * pi * 1e3 * t) + 6.75 / 19 * sin(2 * pi * 19e3 * t);
}

static void run(struct made *made, size_t block)
{
  struct measure_remainder *remainder;
  ck_assert_int_eq(measure_remainder_create(rate_hz, &remainder), SC_OK);
  made->count = 0;
  float *out = malloc(2 * measure_remainder_room(remainder, block) * sizeof *out);
  ck_assert_ptr_nonnull(out);
  for (size_t at = 0; at < FRAMES; at += block) {
    const size_t frames = FRAMES - at < block ? FRAMES - at : block;
    const size_t count = measure_remainder_feed(remainder, made->x + 2 * at, frames, false, out);
    ck_assert_uint_le(count, measure_remainder_room(remainder, frames));
    for (size_t i = 0; i < 2 * count; i++)
      made->y[2 * made->count + i] = out[i];
    made->count += count;
  }
  free(out);
  measure_remainder_destroy(remainder);
}

/* Of the line at a multiple of 100 Hz. */
static double amplitude_at(const struct made *made, double hz)
{
  const size_t frames = made->count - made->count % 4800;
  double complex sum = 0;
  for (size_t i = 0; i < frames; i++)
    sum += ((double)made->y[2 * i] + I * (double)made->y[2 * i + 1]) *
           cexp(-I * (2 * pi * hz * (double)i / rate_hz));
  return cabs(sum) / (double)frames;
}

static double power(const struct made *made)
{
  double sum = 0;
  for (size_t i = 0; i < 2 * made->count; i++)
    sum += (double)made->y[i] * (double)made->y[i];
  return sum / (double)made->count;
}

/* -114 dB are floats. */
START_TEST(nothing_is_left_of_fm)
{
  struct made *made = start();
  for (size_t i = 0; i < FRAMES; i++)
    set(made, i, 0.3 * cexp(I * programme((double)i / rate_hz)));
  run(made, 10000);
  ck_assert_uint_ge(made->count, FRAMES - 2 * CELL);
  ck_assert_double_lt(sqrt(power(made)) / 0.3, 2e-6);
  free(made);
}
END_TEST

/* Beside index 1 the ghost's own carrier is J0(2) = 0.2238907791 (Abramowitz and Stegun, table 9.1,
 * from memory), beside index 20 it is spread. */
START_TEST(a_line_stays_and_has_a_ghost)
{
  struct made *made = start();
  const double a = 1e-3, hz = 25500;
  for (size_t i = 0; i < FRAMES; i++) {
    const double t = (double)i / rate_hz;
    set(made, i, cexp(I * sin(2 * pi * 1e3 * t)) + a * cexp(I * (2 * pi * hz * t + 0.7)));
  }
  run(made, 10000);
  ck_assert_double_eq_tol(amplitude_at(made, hz), a, 0.003 * a);
  ck_assert_double_eq_tol(amplitude_at(made, -hz), 0.2238907791 * a, 0.003 * a);
  for (size_t i = 0; i < FRAMES; i++) {
    const double t = (double)i / rate_hz;
    set(made, i, cexp(I * programme(t)) + a * cexp(I * (2 * pi * hz * t + 0.7)));
  }
  run(made, 10000);
  ck_assert_double_eq_tol(amplitude_at(made, hz), a, 0.02 * a);
  free(made);
}
END_TEST

/* m / 2 of the carrier's line on either side, twice; at 100 Hz down by 26 dB. */
START_TEST(am_is_there_twice_and_hum_is_not)
{
  struct made *made = start();
  const double m = 0.01;
  for (size_t i = 0; i < FRAMES; i++) {
    const double t = (double)i / rate_hz;
    set(made, i, (1 + m * cos(2 * pi * 31e3 * t)) * cexp(I * sin(2 * pi * 1e3 * t)));
  }
  run(made, 10000);
  ck_assert_double_eq_tol(amplitude_at(made, 31e3), m * j0(1), 0.003 * m);
  for (size_t i = 0; i < FRAMES; i++)
    set(made, i, 1 + m * cos(2 * pi * 100 * (double)i / rate_hz));
  run(made, 10000);
  ck_assert_double_lt(amplitude_at(made, 100), m * pow(10, -26.0 / 20));
  free(made);
}
END_TEST

START_TEST(noise_is_there_twice)
{
  struct made *made = start();
  uint64_t seed = 3;
  const double sigma = 1e-3;
  for (size_t i = 0; i < FRAMES; i++) {
    const double re = support_normal(&seed), im = support_normal(&seed);
    set(made, i, cexp(I * programme((double)i / rate_hz)) + sigma * (re + I * im) / sqrt(2));
  }
  run(made, 10000);
  ck_assert_double_eq_tol(power(made), 2 * sigma * sigma, 0.03 * sigma * sigma);
  free(made);
}
END_TEST

START_TEST(block_length_does_not_matter)
{
  struct made *one = start(), *other = start();
  for (size_t i = 0; i < FRAMES; i++)
    set(one, i, (1 + 0.1 * sin(2e-3 * (double)i)) * cexp(I * programme((double)i / rate_hz)));
  for (size_t i = 0; i < 2 * FRAMES; i++)
    other->x[i] = one->x[i];
  run(one, 10000);
  run(other, 77);
  ck_assert_uint_eq(one->count, other->count);
  ck_assert_mem_eq(one->y, other->y, 2 * one->count * sizeof *one->y);
  free(one);
  free(other);
}
END_TEST

START_TEST(a_gap_starts_afresh)
{
  struct measure_remainder *remainder;
  ck_assert_int_eq(measure_remainder_create(rate_hz, &remainder), SC_OK);
  static float x[6 * CELL], out[16 * CELL];
  for (size_t i = 0; i < 3 * CELL; i++)
    x[2 * i] = 1;
  ck_assert_uint_eq(measure_remainder_feed(remainder, x, 3 * CELL, false, out), 2 * CELL);
  for (size_t i = 0; i < 3 * CELL; i++)
    x[2 * i] = 0.1F;
  ck_assert_uint_eq(measure_remainder_feed(remainder, x, 3 * CELL, true, out), 2 * CELL);
  for (size_t i = 0; i < 4 * CELL; i++)
    ck_assert_double_lt(fabs((double)out[i]), 1e-6);
  measure_remainder_destroy(remainder);
  ck_assert_int_eq(measure_remainder_create(10e3, &remainder), SC_BAD_ARGUMENT);
  ck_assert_ptr_null(remainder);
}
END_TEST

Suite *remainder_suite(void)
{
  Suite *suite = suite_create("remainder");
  TCase *all = tcase_create("all");
  tcase_add_test(all, nothing_is_left_of_fm);
  tcase_add_test(all, a_line_stays_and_has_a_ghost);
  tcase_add_test(all, am_is_there_twice_and_hum_is_not);
  tcase_add_test(all, noise_is_there_twice);
  tcase_add_test(all, block_length_does_not_matter);
  tcase_add_test(all, a_gap_starts_afresh);
  suite_add_tcase(suite, all);
  return suite;
}
