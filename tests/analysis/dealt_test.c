/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A spectrum by two threads against the spectrum by one. */
#include <config.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "analysis/dealt.h"
#include "analysis/suites.h"
#include "support/random.h"
#include "support/support.h"

enum { FRAMES = 150001, LENGTH = 4096 };

static float *make(size_t floats)
{
  uint64_t seed = support_seed("dealt", 5);
  float *samples = malloc(floats * sizeof *samples);
  ck_assert_ptr_nonnull(samples);
  for (size_t i = 0; i < floats; i++)
    samples[i] = (float)support_uniform(&seed);
  return samples;
}

/* In blocks of uneven length, with a gap. */
static void feed(struct analysis_dealt *dealt, struct sc_spectrum *alone, const float *samples,
                 size_t width)
{
  size_t block = 1;
  for (size_t at = 0; at < FRAMES; block = block * 7 % 40009) {
    const size_t left = FRAMES - at, run = left < block ? left : block;
    const bool gap = at < FRAMES / 2 && at + run >= FRAMES / 2;
    if (dealt != NULL)
      analysis_dealt_feed(dealt, samples + at * width, run, gap);
    else
      sc_spectrum_feed(alone, samples + at * width, run, gap);
    at += run;
  }
}

static void check_settings(const struct sc_spectrum_settings *settings, const float *samples)
{
  const size_t width = settings->complex_input ? 2 : 1;
  struct analysis_worker *worker = analysis_worker_create();
  struct analysis_dealt *by_two, *by_one;
  struct sc_spectrum *alone;
  struct sc_trace two, one, trace;
  ck_assert_int_eq(analysis_dealt_create(settings, worker, &by_two), SC_OK);
  ck_assert_int_eq(analysis_dealt_create(settings, NULL, &by_one), SC_OK);
  ck_assert_int_eq(sc_spectrum_create(settings, &alone), SC_OK);
  feed(by_two, NULL, samples, width);
  feed(by_one, NULL, samples, width);
  feed(NULL, alone, samples, width);
  analysis_dealt_result(by_two, &two);
  analysis_dealt_result(by_one, &one);
  sc_spectrum_result(alone, &trace);
  ck_assert_uint_eq(two.points, trace.points);
  ck_assert_uint_eq(two.records, trace.records);
  ck_assert_double_eq_tol(two.independent_records / trace.independent_records, 1, 0.1);
  ck_assert_mem_eq(two.mean, one.mean, one.points * sizeof *one.mean);
  ck_assert_mem_eq(two.max_hold, trace.max_hold, trace.points * sizeof *trace.max_hold);
  ck_assert_mem_eq(two.min_hold, trace.min_hold, trace.points * sizeof *trace.min_hold);
  for (size_t i = 0; i < trace.points; i++)
    ck_assert_double_eq_tol(two.mean[i] / trace.mean[i], 1, 1e-6); /* rounded twice to floats */
  analysis_dealt_destroy(by_two);
  analysis_dealt_destroy(by_one);
  sc_spectrum_destroy(alone);
  analysis_worker_destroy(worker);
}

START_TEST(two_threads_find_what_one_finds)
{
  float *samples = make(2 * (size_t)FRAMES);
  static const double overlaps[] = {0, 0.5, 0.75};
  for (size_t o = 0; o < sizeof overlaps / sizeof *overlaps; o++)
    for (size_t length = 64; length <= 16 * LENGTH; length *= 8) { /* the longest are not dealt */
      const struct sc_spectrum_settings settings = {.sample_rate_hz = 1,
                                                    .complex_input = length != 512,
                                                    .rbw_hz = 1.5 / (double)length,
                                                    .window = SC_WINDOW_HANN,
                                                    .overlap = overlaps[o]};
      check_settings(&settings, samples);
    }
  free(samples);
}
END_TEST

/* A span that is decimated is not dealt, a memory would have two pasts. */
START_TEST(a_zoom_is_one_spectrum_and_a_memory_none)
{
  float *samples = make(2 * (size_t)FRAMES);
  struct sc_spectrum_settings settings = {.sample_rate_hz = 1,
                                          .complex_input = true,
                                          .span_hz = 0.1,
                                          .rbw_hz = 1e-3,
                                          .window = SC_WINDOW_HANN,
                                          .overlap = 0.5};
  struct analysis_dealt *dealt;
  check_settings(&settings, samples);
  settings.memory_s = 1;
  ck_assert_int_eq(analysis_dealt_create(&settings, NULL, &dealt), SC_BAD_ARGUMENT);
  ck_assert_ptr_null(dealt);
  analysis_dealt_destroy(NULL);
  free(samples);
}
END_TEST

Suite *dealt_suite(void)
{
  Suite *suite = suite_create("dealt");
  TCase *tcase = tcase_create("dealt");
  tcase_add_test(tcase, two_threads_find_what_one_finds);
  tcase_add_test(tcase, a_zoom_is_one_spectrum_and_a_memory_none);
  suite_add_tcase(suite, tcase);
  return suite;
}
