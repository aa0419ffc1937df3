/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The composite at half its rate, against what it was made of. */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "analysis/halved.h"
#include "analysis/suites.h"
#include "support/support.h"

static const double pi = 3.14159265358979323846;
static const double rate_hz = 480e3;

enum { FRAMES = 48000, MARGIN = 100 };

static struct analysis_halved *open_halved(void)
{
  struct analysis_halved *halved;
  ck_assert_int_eq(analysis_halved_create(rate_hz, &halved), SC_OK);
  ck_assert_ptr_nonnull(halved);
  return halved;
}

/* A sine from `start` on in blocks of uneven length, the first after a gap if wanted. */
static size_t run_sine(struct analysis_halved *halved, double hz, size_t start, bool gap,
                       float *out)
{
  float block[ANALYSIS_HALVED_FRAMES];
  size_t made = 0;
  for (size_t at = 0, length = 1; at < FRAMES; length = length * 7 % 4001) {
    const float *part;
    const size_t run = length < FRAMES - at ? length : FRAMES - at;
    for (size_t i = 0; i < run; i++)
      block[i] = (float)sin(2 * pi * hz / rate_hz * (double)(start + at + i));
    const size_t count = analysis_halved_feed(halved, block, run, gap && at == 0, &part);
    for (size_t i = 0; i < count; i++)
      out[made + i] = part[i];
    made += count;
    at += run;
  }
  return made;
}

static const double kept_hz[] = {50, 15e3, 19e3, 38e3, 53e3, 59.4e3, 62e3};

/* Frame for frame, from the first one on, at the time that is stated; after a gap as well. */
START_TEST(what_is_kept_is_as_it_was)
{
  static float out[FRAMES];
  const double hz = kept_hz[_i];
  struct analysis_halved *halved = open_halved();
  for (int gap = 0; gap < 2; gap++) {
    const size_t start = gap ? 123457 : 0, made = run_sine(halved, hz, start, gap, out);
    double worst = 0;
    for (size_t n = 0; n < made; n++) {
      const double time_s = analysis_halved_start_s(halved) + 2 * (double)n / rate_hz;
      const double turns = hz * time_s + hz / rate_hz * (double)start;
      worst = fmax(worst, fabs((double)out[n] - sin(2 * pi * (turns - floor(turns)))));
    }
    printf("%.0f Hz: %zu frames, off by %.2g at most\n", hz, made, worst);
    ck_assert_uint_ge(made, FRAMES / 2 - MARGIN);
    ck_assert_double_lt(worst, 1e-5);
  }
  analysis_halved_destroy(halved);
}
END_TEST

/* What would fold onto the data subcarrier, the stereo signal, the pilot and the sum. */
static const double folded_hz[] = {182e3, 202e3, 221e3, 239e3};

START_TEST(what_would_fold_is_gone)
{
  static float out[FRAMES];
  struct analysis_halved *halved = open_halved();
  const size_t made = run_sine(halved, folded_hz[_i], 0, false, out);
  double worst = 0;
  for (size_t n = 0; n < made; n++)
    worst = fmax(worst, fabs((double)out[n]));
  printf("%.0f Hz: %.2g is left\n", folded_hz[_i], worst);
  ck_assert_double_lt(worst, 1e-5);
  analysis_halved_destroy(halved);
}
END_TEST

START_TEST(a_low_rate_is_not_halved)
{
  struct analysis_halved *halved;
  ck_assert_int_eq(analysis_halved_create(192e3, &halved), SC_OK);
  ck_assert_ptr_null(halved);
}
END_TEST

Suite *halved_suite(void)
{
  Suite *suite = suite_create("halved");
  TCase *all = tcase_create("all");
  tcase_add_loop_test(all, what_is_kept_is_as_it_was, 0, sizeof kept_hz / sizeof *kept_hz);
  tcase_add_loop_test(all, what_would_fold_is_gone, 0, sizeof folded_hz / sizeof *folded_hz);
  tcase_add_test(all, a_low_rate_is_not_halved);
  suite_add_tcase(suite, all);
  return suite;
}
