/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The scan against a plain count, frame by frame. */
#include <config.h>

#include <math.h>
#include <string.h>

#include <check.h>

#include "capture/scan.h"
#include "capture/suites.h"
#include "support/random.h"
#include "support/support.h"

enum { FRAMES = 5003 };

static const struct capture_range integers = {-1, 127 / 128.f, false};
static const struct capture_range floats = {-1, 1, true};

START_TEST(counts_frames_and_not_samples)
{
  float samples[8] = {-1, -1, 0.5f, 127 / 128.f, 0, 0, -0.99f, 0.99f};
  struct capture_scan scan = {0};
  capture_scan(samples, 4, 2, &integers, &scan);
  ck_assert_uint_eq(scan.clipped, 2);
  ck_assert_uint_eq(scan.invalid, 0);
  scan = (struct capture_scan){0};
  capture_scan(samples, 8, 1, &integers, &scan);
  ck_assert_uint_eq(scan.clipped, 3);
}
END_TEST

START_TEST(floats_beyond_full_scale_are_not_clipped)
{
  float samples[4] = {1.5f, -2, 1, -1};
  struct capture_scan scan = {0};
  capture_scan(samples, 4, 1, &floats, &scan);
  ck_assert_uint_eq(scan.clipped, 2);
  ck_assert(scan.peak == 2);
  ck_assert(fabs(scan.energy - 8.25) < 1e-6);
}
END_TEST

START_TEST(what_is_no_number_becomes_zero)
{
  float samples[10] = {NAN, 0.5f, -INFINITY, INFINITY, 2e9f, 0, -0.25f, 0.25f, 1e9f, -1e9f};
  struct capture_scan scan = {0};
  capture_scan(samples, 5, 2, &floats, &scan);
  ck_assert_uint_eq(scan.invalid, 3);
  static const float expected[10] = {0, 0.5f, 0, 0, 0, 0, -0.25f, 0.25f, 1e9f, -1e9f};
  ck_assert_int_eq(memcmp(samples, expected, sizeof expected), 0);
}
END_TEST

/* Wherever they are among others, and at the end of the range that is nearer to zero too. */
START_TEST(one_clipped_frame_is_found)
{
  static const struct capture_range codes = {-1, 32767.0f / 32768, false};
  static float samples[2 * FRAMES];
  for (size_t at = 0; at < 2 * FRAMES; at += 997) {
    for (size_t i = 0; i < 2 * FRAMES; i++)
      samples[i] = (float)(i % 5) / 5;
    samples[at] = at % 2 ? codes.low : codes.high;
    struct capture_scan scan = {0};
    capture_scan(samples, FRAMES, 2, &codes, &scan);
    ck_assert_uint_eq(scan.clipped, 1);
  }
}
END_TEST

START_TEST(agrees_with_a_plain_count_at_any_length)
{
  static float samples[2 * FRAMES];
  uint64_t state = support_seed("agrees_with_a_plain_count_at_any_length", 99);
  uint64_t clipped = 0, invalid = 0;
  double energy = 0;
  for (size_t i = 0; i < FRAMES; i++) {
    float *frame = samples + 2 * i;
    frame[0] = (float)support_uniform(&state);
    frame[1] = (float)support_uniform(&state);
    if (i % 7 == 0)
      frame[i % 2] = -1;
    if (i % 11 == 0)
      frame[1] = NAN;
    clipped += (uint64_t)(frame[0] == -1 || frame[1] == -1);
    invalid += isnan(frame[1]) ? 1 : 0;
    for (size_t k = 0; k < 2; k++)
      energy += isnan(frame[k]) ? 0 : (double)frame[k] * (double)frame[k];
  }
  struct capture_scan scan = {0};
  capture_scan(samples, FRAMES, 2, &floats, &scan);
  ck_assert_uint_eq(scan.clipped, clipped);
  ck_assert_uint_eq(scan.invalid, invalid);
  ck_assert_msg(fabs(scan.energy / energy - 1) < 1e-6, "%.9g %.9g", scan.energy, energy);
  ck_assert(scan.peak == 1);
}
END_TEST

Suite *scan_suite(void)
{
  Suite *suite = suite_create("scan");
  TCase *tests = tcase_create("scan");
  tcase_add_test(tests, counts_frames_and_not_samples);
  tcase_add_test(tests, floats_beyond_full_scale_are_not_clipped);
  tcase_add_test(tests, what_is_no_number_becomes_zero);
  tcase_add_test(tests, one_clipped_frame_is_found);
  tcase_add_test(tests, agrees_with_a_plain_count_at_any_length);
  suite_add_tcase(suite, tests);
  return suite;
}
