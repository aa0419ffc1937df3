/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines of tone-modulated FM against Bessel functions: the values of M. Abramowitz and I. A.
 * Stegun, Handbook of Mathematical Functions, tables 9.1 and 9.2 (to six digits, from memory and
 * equal to the C library's), and the C library's jn() itself. */
#include <config.h>

#include <math.h>
#include <stdio.h>

#include <check.h>

#include "measure/lines_input.h"
#include "measure/suites.h"
#include "support/support.h"

static const double two_pi = 6.283185307179586476925286766559;

enum { ORDERS = 9, LENGTH = 65536 };
struct row {
  double index;
  double j[ORDERS];
};
static const struct row table[] = {
    {0.1, {0.997502, 0.049938, 0.001249, 0.000021, 0, 0, 0, 0, 0}},
    {0.2, {0.990025, 0.099501, 0.004983, 0.000166, 0.000004, 0, 0, 0, 0}},
    {0.5, {0.938470, 0.242268, 0.030604, 0.002564, 0.000161, 0.000008, 0, 0, 0}},
    {1.0, {0.765198, 0.440051, 0.114903, 0.019563, 0.002477, 0.000250, 0.000021, 0.000002, 0}},
    {2.0,
     {0.223891, 0.576725, 0.352834, 0.128943, 0.033996, 0.007040, 0.001202, 0.000175, 0.000022}},
    {3.0,
     {-0.260052, 0.339059, 0.486091, 0.309063, 0.132034, 0.043028, 0.011394, 0.002547, 0.000493}},
    {4.0,
     {-0.397150, -0.066043, 0.364128, 0.430171, 0.281129, 0.132087, 0.049088, 0.015176, 0.004029}},
    {5.0,
     {-0.177597, -0.327579, 0.046565, 0.364831, 0.391232, 0.261141, 0.131049, 0.053376, 0.018405}},
};
enum { ROWS = sizeof table / sizeof *table };
/* First zeros of J0 and J1 (Abramowitz and Stegun, table 9.5), where a line vanishes. */
static const double nulls[] = {2.404825558, 5.520078110, 3.831705970, 8.653727913};
enum { NULLS = sizeof nulls / sizeof *nulls };

static const double line_bar_db = 0.02, line_bar_from_e_db = 60, null_bar_dbc = -75;
static const double rounding = 6e-7; /* of the table */

/* A carrier of amplitude 1 with sine modulation. */
static void add_fm(struct lines_input *input, double carrier, double modulation, double index)
{
  for (size_t i = 0; i < input->count; i++) {
    double place = (double)i;
    double phase = two_pi * remainder(carrier * place, 1) +
                   index * sin(two_pi * remainder(modulation * place, 1));
    input->frames[2 * i] += cos(phase);
    input->frames[2 * i + 1] += sin(phase);
  }
}

struct check {
  double worst_db, worst_dbc;
  unsigned lines;
};

/* The line of this order, against the amplitude expected. */
static void check_order(const struct sc_lines_result *result, double frequency, double expected,
                        double e_carrier_db, struct check *check)
{
  double e_db = e_carrier_db + 20 * log10(expected);
  const struct sc_tone *tone = lines_input_find(result, frequency, 2.0 / LENGTH);
  if (tone == NULL) {
    ck_assert_msg(e_db < 20, "no line with E = %.1f dB at %g", e_db, frequency);
    return;
  }
  double error = fabs(tone->amplitude - expected);
  check->worst_dbc = fmax(check->worst_dbc, 20 * log10(error));
  if (e_db < line_bar_from_e_db)
    return;
  check->worst_db = fmax(check->worst_db, fabs(tone->level_db.value - 20 * log10(expected)));
  check->lines++;
}

static struct check check_index(double index, const double *published, double e_carrier_db)
{
  const double carrier = 0.01723, modulation = 0.0271;
  uint64_t seed = support_seed("fm lines", (uint64_t)(index * 1e6));
  struct lines_input input = lines_input_make(LENGTH, true);
  add_fm(&input, carrier, modulation, index);
  lines_input_noise(&input, LENGTH / pow(10, e_carrier_db / 10), &seed);
  struct sc_lines *lines = lines_input_finder(&input, 0, 0);
  struct sc_lines_result result = lines_input_measure(lines, &input);
  struct check check = {0, -300, 0};
  for (int n = -ORDERS + 1; n < ORDERS; n++) {
    double expected = fabs(jn(n, index));
    if (published) {
      double value = fabs(published[n < 0 ? -n : n]);
      ck_assert_double_le(fabs(value - expected), rounding);
      expected = value > 0.01 ? value : expected; /* of the small ones six digits are too few */
    }
    check_order(&result, carrier + n * modulation, expected, e_carrier_db, &check);
  }
  sc_lines_destroy(lines);
  lines_input_free(&input);
  printf("index %.4f: %u lines of E >= 60 dB within %.4f dB, all within %.1f dBc\n", index,
         check.lines, check.worst_db, check.worst_dbc);
  return check;
}

START_TEST(levels_are_those_of_the_bessel_table)
{
  struct check check = check_index(table[_i].index, table[_i].j, 90);
  ck_assert_uint_ge(check.lines, 3);
  ck_assert_double_le(check.worst_db, line_bar_db);
}
END_TEST

START_TEST(near_nulls_the_amplitude_is_right)
{
  for (double off = -0.02; off <= 0.02; off += 0.01) {
    struct check check = check_index(nulls[_i] + off, NULL, 90);
    ck_assert_double_le(check.worst_dbc, null_bar_dbc);
  }
}
END_TEST

/* Without noise, in double precision: lines 120 dB down, near the carrier and far from it. */
START_TEST(lines_120_db_down_are_right_in_the_double_path)
{
  struct lines_input input = lines_input_make(LENGTH, true);
  struct sc_lines *lines = lines_input_finder(&input, 0, 0);
  const double carrier = 0.01723, bins[] = {9.37, 23.5, -41.77, 333.3, -2000.2, 20000.6};
  lines_input_tone(&input, carrier, 1, 0.4);
  for (size_t i = 0; i < sizeof bins / sizeof *bins; i++)
    lines_input_tone(&input, carrier + bins[i] / LENGTH, 1e-6, (double)i);
  struct sc_lines_result result = lines_input_measure(lines, &input);
  ck_assert_uint_eq(result.count, 1 + sizeof bins / sizeof *bins);
  for (size_t i = 0; i < sizeof bins / sizeof *bins; i++) {
    double frequency = carrier + bins[i] / LENGTH;
    const struct sc_tone *tone = lines_input_find(&result, frequency, 0.1 / LENGTH);
    ck_assert_ptr_nonnull(tone);
    ck_assert_double_eq_tol(tone->level_db.value, -120, 0.01);
    ck_assert_double_le(fabs(remainder(tone->phase_rad - (double)i, two_pi)), 0.01);
  }
  sc_lines_destroy(lines);
  lines_input_free(&input);
}
END_TEST

START_TEST(fm_lines_120_db_down_are_right_in_the_double_path)
{
  /* Index of a 6.75 kHz pilot; order 5 is at -116.7 dBc. */
  const double index = 0.3552631578947368;
  struct lines_input input = lines_input_make(LENGTH, true);
  struct sc_lines *lines = lines_input_finder(&input, 0, 0);
  add_fm(&input, 0.0033, 0.0475, index);
  struct sc_lines_result result = lines_input_measure(lines, &input);
  ck_assert_uint_eq(result.count, 11);
  for (int n = -5; n <= 5; n++) {
    const struct sc_tone *tone = lines_input_find(&result, 0.0033 + n * 0.0475, 0.1 / LENGTH);
    ck_assert_ptr_nonnull(tone);
    ck_assert_double_eq_tol(tone->level_db.value, 20 * log10(fabs(jn(n, index))), 1e-4);
  }
  sc_lines_destroy(lines);
  lines_input_free(&input);
}
END_TEST

/* Tones near to each other, to zero and to half the rate, where images and neighbours meet. */
START_TEST(neighbours_are_told_apart)
{
  const bool complex_input = _i == 0;
  const double places[] = {6.3, 14.8, 23.1, 5000, 5007.5, 5015.4, LENGTH / 2 - 6.2};
  enum { COUNT = sizeof places / sizeof *places };
  struct lines_input input = lines_input_make(LENGTH, complex_input);
  struct sc_lines *lines = lines_input_finder(&input, 0, 0);
  for (size_t i = 0; i < COUNT; i++)
    lines_input_tone(&input, places[i] / LENGTH, i % 2 ? 1 : 0.03, (double)i);
  struct sc_lines_result result = lines_input_measure(lines, &input);
  ck_assert_uint_eq(result.count, COUNT);
  for (size_t i = 0; i < COUNT; i++) {
    const struct sc_tone *tone = &result.tones[i];
    ck_assert_double_eq_tol(tone->frequency_hz.value * LENGTH, places[i], 1e-4);
    ck_assert_double_eq_tol(tone->amplitude, i % 2 ? 1 : 0.03, 1e-5);
    ck_assert_double_le(fabs(remainder(tone->phase_rad - (double)i, two_pi)), 1e-3);
  }
  sc_lines_destroy(lines);
  lines_input_free(&input);
}
END_TEST

Suite *lines_fm_suite(void)
{
  Suite *suite = suite_create("lines: levels of FM");
  TCase *tcase = tcase_create("fm");
  tcase_add_loop_test(tcase, levels_are_those_of_the_bessel_table, 0, ROWS);
  tcase_add_loop_test(tcase, near_nulls_the_amplitude_is_right, 0, NULLS);
  tcase_add_test(tcase, lines_120_db_down_are_right_in_the_double_path);
  tcase_add_test(tcase, fm_lines_120_db_down_are_right_in_the_double_path);
  tcase_add_loop_test(tcase, neighbours_are_told_apart, 0, 2);
  suite_add_tcase(suite, tcase);
  return suite;
}
