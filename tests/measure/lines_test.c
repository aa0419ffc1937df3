/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The line finder as an object: how it is fed, what it lists, gaps, memory, wrong use. */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "measure/lines_apart.h"
#include "measure/lines_input.h"
#include "measure/lines_track.h"
#include "measure/suites.h"
#include "support/allocation.h"
#include "support/random.h"
#include "support/support.h"

static const double two_pi = 6.283185307179586476925286766559;

enum { LENGTH = 4096 };

static void check_same(const struct sc_lines_result *a, const struct sc_tone *tones, size_t count)
{
  ck_assert_uint_eq(a->count, count);
  ck_assert_mem_eq(a->tones, tones, count * sizeof *tones);
}

START_TEST(block_length_does_not_matter)
{
  uint64_t seed = support_seed("blocks", 12);
  struct lines_input input = lines_input_make(3 * LENGTH + 77, true);
  lines_input_tone(&input, 0.1, 1, 0);
  lines_input_tone(&input, -0.33, 0.1, 0);
  lines_input_noise(&input, 1e-3, &seed);
  struct sc_lines *lines = lines_input_finder(&input, LENGTH, 0);
  struct sc_lines_result result = lines_input_measure(lines, &input);
  ck_assert_uint_eq(result.count, 2);
  struct sc_tone tones[2];
  memcpy(tones, result.tones, sizeof tones);
  const size_t blocks[] = {1, 7, 1000, LENGTH, 3 * LENGTH};
  for (size_t b = 0; b < sizeof blocks / sizeof *blocks; b++) {
    sc_lines_reset(lines);
    for (size_t at = 0; at < input.count; at += blocks[b]) {
      size_t left = input.count - at;
      sc_lines_feed_double(lines, input.frames + 2 * at, left < blocks[b] ? left : blocks[b],
                           false);
    }
    sc_lines_result(lines, &result);
    check_same(&result, tones, 2);
  }
  sc_lines_destroy(lines);
  lines_input_free(&input);
}
END_TEST

/* Keeps a task until it is waited for: as late as another thread may ever be. */
struct later {
  void (*task)(void *argument);
  void *argument;
  size_t started;
};

static void start_later(void *context, void (*task)(void *argument), void *argument)
{
  struct later *later = context;
  ck_assert_ptr_null(later->task);
  later->task = task;
  later->argument = argument;
  later->started++;
}

static void do_it_now(void *context)
{
  struct later *later = context;
  if (later->task != NULL)
    later->task(later->argument);
  later->task = NULL;
}

/* Records side by side, records with gaps between, and an end while a record is looked at. */
START_TEST(a_look_apart_finds_the_same)
{
  static const uint64_t expected[] = {0, 5 * LENGTH, 40 * LENGTH};
  uint64_t seed = support_seed("apart", 15);
  struct lines_input input = lines_input_make(33 * LENGTH, true);
  lines_input_tone(&input, 0.1, 1, 0);
  lines_input_tone(&input, -0.33, 0.1, 0);
  lines_input_noise(&input, 1e-3, &seed);
  for (size_t e = 0; e < sizeof expected / sizeof *expected; e++) {
    const struct sc_lines_settings settings = {.sample_rate_hz = 1,
                                               .complex_input = true,
                                               .expected_frames = expected[e],
                                               .record_max = LENGTH};
    struct later later = {.task = NULL};
    const struct measure_apart apart = {start_later, do_it_now, &later};
    struct sc_lines *at_once, *apart_from;
    struct sc_lines_result result, other;
    ck_assert_int_eq(sc_lines_create(&settings, &at_once), SC_OK);
    ck_assert_int_eq(sc_lines_create(&settings, &apart_from), SC_OK);
    measure_lines_apart(apart_from, &apart);
    for (size_t at = 0; at < input.count; at += 1000) {
      const size_t left = input.count - at, run = left < 1000 ? left : 1000;
      sc_lines_feed_double(at_once, input.frames + 2 * at, run, at == 17000);
      sc_lines_feed_double(apart_from, input.frames + 2 * at, run, at == 17000);
    }
    sc_lines_result(at_once, &result);
    sc_lines_result(apart_from, &other);
    ck_assert_uint_ge(later.started, result.records);
    ck_assert_uint_eq(other.records, result.records);
    ck_assert_double_eq(other.coverage, result.coverage);
    ck_assert_double_eq(other.phase_time_s, result.phase_time_s);
    ck_assert_uint_ge(result.count, 2);
    check_same(&other, result.tones, result.count);
    sc_lines_destroy(at_once);
    sc_lines_destroy(apart_from);
  }
  lines_input_free(&input);
}
END_TEST

enum { COURSE_RECORD = 4 * LENGTH, COURSE = 4 * COURSE_RECORD, COURSE_BINS = 10 };

/* A carrier that grows by ten bins in each of four records, a line of 0.01 that does so beside it,
 * and one of 0.02 that does not. `khz` is told of each frame. */
static float *make_course(float *khz, uint64_t *seed)
{
  struct lines_input noise = lines_input_make(COURSE, true);
  float *iq = malloc(2 * COURSE * sizeof *iq);
  ck_assert_ptr_nonnull(iq);
  lines_input_noise(&noise, 1e-3, seed);
  for (size_t i = 0; i < COURSE; i++) {
    const double t = (double)i, growth = (double)COURSE_BINS / COURSE_RECORD / COURSE_RECORD;
    const double turns = 0.1 * t + growth * t * t / 2;
    const double along = two_pi * remainder(turns + 0.05 * t, 1);
    const double carrier = two_pi * remainder(turns, 1), still = two_pi * remainder(-0.2 * t, 1);
    khz[i] = (float)(1e-3 * (0.1 + growth * t));
    iq[2 * i] = (float)(noise.frames[2 * i] + cos(carrier) + 0.01 * cos(along) + 0.02 * cos(still));
    iq[2 * i + 1] =
        (float)(noise.frames[2 * i + 1] + sin(carrier) + 0.01 * sin(along) + 0.02 * sin(still));
  }
  lines_input_free(&noise);
  return iq;
}

static void feed_course(struct sc_lines *lines, const float *iq, const float *khz, size_t block)
{
  for (size_t at = 0, run; at < COURSE; at += run) {
    run = measure_lines_run(lines, COURSE - at < block ? COURSE - at : block);
    if (khz != NULL)
      measure_lines_carrier(lines, khz + at, run);
    sc_lines_feed(lines, iq + 2 * at, run, false);
  }
}

/* Where the carrier was in the middle of the first record is by definition where it is stated. */
static void check_course(const struct sc_lines_result *result)
{
  const double carrier = 0.1 + COURSE_BINS / 2.0 / COURSE_RECORD, near = 0.02 / COURSE_RECORD;
  const struct sc_tone *along = lines_input_find(result, carrier + 0.05, near);
  const struct sc_tone *still = lines_input_find(result, -0.2, near);
  ck_assert_uint_eq(result->count, 3);
  ck_assert_uint_ge(result->turned, 4); /* overlapping ones as well */
  ck_assert_double_eq_tol(result->carrier_hz.value, carrier, near);
  ck_assert_ptr_nonnull(along);
  ck_assert_ptr_nonnull(still);
  ck_assert(!along->still && still->still);
  ck_assert_double_eq_tol(along->level_db.value, -40, 4 * along->level_db.uncertainty + 0.01);
  ck_assert_double_eq_tol(still->level_db.value, 20 * log10(0.02),
                          4 * still->level_db.uncertainty + 0.01);
}

START_TEST(a_carrier_that_is_told_is_followed)
{
  static const size_t blocks[] = {COURSE, 1000, 777};
  uint64_t seed = support_seed("course", 16);
  const struct sc_lines_settings settings = {.sample_rate_hz = 1,
                                             .complex_input = true,
                                             .single_precision = true,
                                             .expected_frames = COURSE,
                                             .record_max = COURSE_RECORD};
  float *khz = malloc(COURSE * sizeof *khz);
  ck_assert_ptr_nonnull(khz);
  float *iq = make_course(khz, &seed);
  struct sc_lines *lines;
  struct sc_lines_result result;
  ck_assert_int_eq(sc_lines_create(&settings, &lines), SC_OK);
  feed_course(lines, iq, NULL, COURSE);
  sc_lines_result(lines, &result);
  ck_assert_uint_eq(result.turned, 0);
  ck_assert_ptr_null(
      lines_input_find(&result, 0.15 + COURSE_BINS / 2.0 / COURSE_RECORD, 0.02 / COURSE_RECORD));
  struct sc_tone tones[3];
  for (size_t b = 0; b < sizeof blocks / sizeof *blocks; b++) {
    sc_lines_reset(lines);
    feed_course(lines, iq, khz, blocks[b]);
    sc_lines_result(lines, &result);
    check_course(&result);
    for (size_t i = 0; i < result.count && b == 0; i++)
      tones[i] = result.tones[i];
    check_same(&result, tones, 3);
  }
  sc_lines_destroy(lines);
  free(iq);
  free(khz);
}
END_TEST

/* White noise of power 1 at rate 1 has 1 per hertz, whatever tones stand in it. The largest of 51
 * medians is a little more than that. */
START_TEST(the_floor_is_the_noise)
{
  uint64_t seed = support_seed("floor", 14);
  for (int is_complex = 0; is_complex < 2; is_complex++) {
    struct lines_input input = lines_input_make(8 * LENGTH, is_complex);
    lines_input_tone(&input, 0.1, 10, 0);
    lines_input_noise(&input, 1, &seed);
    struct sc_lines *lines = lines_input_finder(&input, LENGTH, 0);
    ck_assert(isnan(sc_lines_floor(lines, 0.01, 0.4)));
    lines_input_measure(lines, &input);
    const double floor = sc_lines_floor(lines, is_complex ? -0.4 : 0.01, 0.4);
    ck_assert_double_ge(floor, (is_complex ? 1 : 2) * 0.97);
    ck_assert_double_le(floor, (is_complex ? 1 : 2) * 1.15);
    ck_assert(isnan(sc_lines_floor(lines, 0.1, 0.1 + 500.0 / LENGTH)));
    sc_lines_destroy(lines);
    lines_input_free(&input);
  }
}
END_TEST

START_TEST(asking_changes_nothing)
{
  uint64_t seed = support_seed("asking", 13);
  struct lines_input input = lines_input_make(LENGTH, true);
  lines_input_tone(&input, 0.1, 1, 0);
  lines_input_noise(&input, 1e-3, &seed);
  struct sc_lines *lines = lines_input_finder(&input, 0, 0);
  struct sc_lines_result result = lines_input_measure(lines, &input);
  struct sc_tone tone = result.tones[0];
  sc_lines_reset(lines);
  sc_lines_result(lines, &result); /* nothing yet */
  ck_assert_uint_eq(result.count, 0);
  ck_assert_uint_eq(result.records, 0);
  sc_lines_feed_double(lines, input.frames, LENGTH / 2, false);
  sc_lines_result(lines, &result); /* from half a record */
  ck_assert_uint_eq(result.count, 1);
  ck_assert_double_eq_tol(result.record_s, LENGTH / 2, 100);
  sc_lines_feed_double(lines, input.frames + LENGTH, LENGTH / 2, false);
  sc_lines_result(lines, &result);
  check_same(&result, &tone, 1);
  sc_lines_destroy(lines);
  lines_input_free(&input);
}
END_TEST

START_TEST(single_precision_reaches_its_own_limit)
{
  enum { FRAMES = 65536 };
  struct lines_input input = lines_input_make(FRAMES, true);
  lines_input_tone(&input, 0.0501, 0.7, 0);
  lines_input_tone(&input, -0.21017, 0.7e-5, 0);
  float *samples = malloc(2 * FRAMES * sizeof *samples);
  ck_assert_ptr_nonnull(samples);
  for (size_t i = 0; i < 2 * FRAMES; i++)
    samples[i] = (float)input.frames[i];
  struct sc_lines *lines = lines_input_finder(&input, 0, 0);
  struct sc_lines_result result;
  sc_lines_feed(lines, samples, FRAMES, false);
  sc_lines_result(lines, &result);
  ck_assert_uint_eq(result.count, 2); /* and none of the rounding's own */
  ck_assert_double_eq_tol(result.tones[0].level_db.value, 20 * log10(0.7e-5), 0.01);
  sc_lines_destroy(lines);
  lines_input_free(&input);
  free(samples);
}
END_TEST

/* The phase jumps at every gap: a record across one would smear the line. */
START_TEST(records_never_straddle_a_gap)
{
  const size_t stretches[] = {LENGTH / 2, LENGTH - 1, 3 * LENGTH, 500, 2 * LENGTH + 100, 100};
  uint64_t seed = support_seed("gaps", 14);
  struct lines_input whole = lines_input_make(20 * LENGTH, true);
  struct sc_lines *lines = lines_input_finder(&whole, LENGTH, 0);
  size_t fed = 0;
  for (size_t i = 0; i < sizeof stretches / sizeof *stretches; i++) {
    struct lines_input input = lines_input_make(stretches[i], true);
    lines_input_tone(&input, 0.2, 0.5, 2.5 * (double)i);
    lines_input_noise(&input, 1e-6, &seed);
    sc_lines_feed_double(lines, input.frames, input.count, true);
    lines_input_free(&input);
    fed += stretches[i];
  }
  struct sc_lines_result result;
  sc_lines_result(lines, &result);
  ck_assert_uint_eq(result.records, 5);
  ck_assert_double_eq_tol(result.coverage, 5.0 * LENGTH / (double)fed, 1e-9);
  ck_assert_uint_eq(result.count, 1);
  ck_assert_double_eq_tol(result.tones[0].level_db.value, -6.0206, 0.001);
  ck_assert_double_gt(result.tones[0].snr_db, 85);
  sc_lines_destroy(lines);
  lines_input_free(&whole);
}
END_TEST

/* No stretch is as long as a record: the longest one is used, wherever it comes. */
START_TEST(without_a_whole_record_the_longest_stretch_counts)
{
  for (size_t longest = 0; longest < 4; longest++) {
    struct lines_input whole = lines_input_make(LENGTH, true);
    struct sc_lines *lines = lines_input_finder(&whole, LENGTH, 0);
    for (size_t i = 0; i < 4; i++) {
      struct lines_input input = lines_input_make(i == longest ? 3000 : 1000 + 100 * i, true);
      uint64_t seed = support_seed("stretches", 15 + i);
      lines_input_tone(&input, 0.2, 0.5, 2.5 * (double)i);
      lines_input_noise(&input, 1e-6, &seed);
      sc_lines_feed_double(lines, input.frames, input.count, true);
      lines_input_free(&input);
    }
    struct sc_lines_result result;
    sc_lines_result(lines, &result);
    ck_assert_uint_eq(result.records, 1);
    ck_assert_double_eq_tol(result.record_s, 3000, 40);
    ck_assert_uint_eq(result.count, 1);
    ck_assert_double_eq_tol(result.tones[0].level_db.value, -6.0206, 0.001);
    double before = 0; /* frames before the longest stretch, in which the phase is known */
    for (size_t i = 0; i < longest; i++)
      before += 1000 + 100 * (double)i;
    ck_assert_double_eq_tol(result.phase_time_s, before, 1e-6);
    double turn = remainder(result.tones[0].phase_rad - 2.5 * (double)longest, two_pi);
    ck_assert_double_le(fabs(turn), 5 * result.tones[0].phase_uncertainty_rad);
    sc_lines_destroy(lines);
    lines_input_free(&whole);
  }
}
END_TEST

START_TEST(a_long_capture_is_sampled_over_its_length)
{
  enum { LENGTHS = 64 };
  struct lines_input input = lines_input_make(LENGTH, true);
  uint64_t seed = support_seed("long", 16);
  lines_input_tone(&input, 512.0 / LENGTH, 0.5, 0); /* whole cycles: one block is like the next */
  lines_input_noise(&input, 1e-4, &seed);
  struct sc_lines_settings settings = {.sample_rate_hz = 1, .complex_input = true};
  if (_i == 0) /* of known length: the default record would be far longer than a test wants */
    settings.expected_frames = (uint64_t)LENGTHS * SC_LINES_RECORD_MAX;
  struct sc_lines *lines;
  ck_assert_int_eq(sc_lines_create(&settings, &lines), SC_OK);
  size_t blocks = (_i == 0 ? LENGTHS : 7) * (SC_LINES_RECORD_MAX / LENGTH);
  size_t asked;
  support_watch_allocations(0);
  for (size_t i = 0; i < blocks; i++)
    sc_lines_feed_double(lines, input.frames, LENGTH, false);
  support_end_watch(&asked, NULL);
  struct sc_lines_result result;
  sc_lines_result(lines, &result);
  ck_assert_uint_eq(asked, 0);
  ck_assert_uint_eq(result.records, _i == 0 ? 8 : 5);
  ck_assert_double_eq_tol(result.coverage, _i == 0 ? 8.0 / LENGTHS : 5.0 / 7, 0.01);
  ck_assert_ptr_nonnull(lines_input_find(&result, 0.125, 1e-6));
  sc_lines_destroy(lines);
  lines_input_free(&input);
}
END_TEST

/* Three islands of 16 records' length in a capture of 1024; _i: what is between them is told at
 * once, in pieces, or not at all. */
START_TEST(records_are_spread_over_what_is_fed)
{
  enum { ISLANDS = 3, ISLAND = 16, BETWEEN = 300, PIECES = 30 };
  struct lines_input input = lines_input_make(LENGTH, true);
  uint64_t seed = support_seed("islands", 17);
  lines_input_tone(&input, 512.0 / LENGTH, 0.5, 0);
  lines_input_noise(&input, 1e-4, &seed);
  const struct sc_lines_settings settings = {.sample_rate_hz = 1,
                                             .complex_input = true,
                                             .record_max = LENGTH,
                                             .expected_frames = (uint64_t)1024 * LENGTH};
  struct sc_lines *lines;
  ck_assert_int_eq(sc_lines_create(&settings, &lines), SC_OK);
  for (int island = 0; island < ISLANDS; island++) {
    for (int i = 0; i < ISLAND; i++)
      sc_lines_feed_double(lines, input.frames, LENGTH, island > 0 && i == 0);
    for (int i = 0; _i == 1 && i < PIECES; i++)
      sc_lines_leave_out(lines, (uint64_t)BETWEEN / PIECES * LENGTH);
    if (_i == 0)
      sc_lines_leave_out(lines, (uint64_t)BETWEEN * LENGTH);
  }
  struct sc_lines_result result;
  sc_lines_result(lines, &result);
  /* Known only from the first pause on: one in the first island; then one in 6 to 10 lengths. */
  ck_assert_uint_eq(result.records, _i < 2 ? 4 : 1);
  ck_assert_double_eq_tol(result.coverage, (_i < 2 ? 4.0 : 1.0) / (ISLANDS * ISLAND), 1e-9);
  ck_assert_ptr_nonnull(lines_input_find(&result, 512.0 / LENGTH, 1e-6));
  sc_lines_destroy(lines);
  lines_input_free(&input);
}
END_TEST

START_TEST(only_the_part_asked_for_is_listed)
{
  struct lines_input input = lines_input_make(LENGTH, true);
  uint64_t seed = support_seed("part", 17);
  for (int i = -4; i <= 4; i++)
    lines_input_tone(&input, 0.1 * i, 1, 0);
  lines_input_noise(&input, 1e-2, &seed);
  struct sc_lines_settings settings = {.sample_rate_hz = 1,
                                       .complex_input = true,
                                       .expected_frames = LENGTH,
                                       .lower_hz = -0.25,
                                       .upper_hz = 0.35};
  struct sc_lines *lines;
  ck_assert_int_eq(sc_lines_create(&settings, &lines), SC_OK);
  struct sc_lines_result result = lines_input_measure(lines, &input);
  ck_assert_uint_eq(result.count, 6);
  for (int i = 0; i < 6; i++)
    ck_assert_double_eq_tol(result.tones[i].frequency_hz.value, 0.1 * (i - 2), 1e-4);
  sc_lines_destroy(lines);
  settings.without_lower_hz = -0.05;
  settings.without_upper_hz = 0.15;
  ck_assert_int_eq(sc_lines_create(&settings, &lines), SC_OK);
  result = lines_input_measure(lines, &input);
  ck_assert_uint_eq(result.count, 4);
  ck_assert_double_eq_tol(result.tones[1].frequency_hz.value, -0.1, 1e-4);
  ck_assert_double_eq_tol(result.tones[2].frequency_hz.value, 0.2, 1e-4);
  sc_lines_destroy(lines);
  lines_input_free(&input);
}
END_TEST

START_TEST(records_are_no_longer_than_allowed)
{
  struct lines_input input = lines_input_make(LENGTH, true);
  uint64_t seed = support_seed("record_max", 21);
  lines_input_tone(&input, 0.1, 1, 0);
  lines_input_noise(&input, 1e-2, &seed);
  struct sc_lines_settings settings = {
      .sample_rate_hz = 1, .complex_input = true, .expected_frames = LENGTH, .record_max = 1000};
  struct sc_lines *lines;
  ck_assert_int_eq(sc_lines_create(&settings, &lines), SC_OK);
  struct sc_lines_result result = lines_input_measure(lines, &input);
  ck_assert_double_eq_tol(result.record_s, 1000, 1e-9);
  ck_assert_uint_eq(result.records, 4);
  ck_assert_uint_eq(result.count, 1);
  sc_lines_destroy(lines);
  lines_input_free(&input);
}
END_TEST

START_TEST(the_strongest_are_kept)
{
  struct lines_input input = lines_input_make(LENGTH, false);
  uint64_t seed = support_seed("strongest", 18);
  for (int i = 1; i <= 20; i++)
    lines_input_tone(&input, 0.02 * i, pow(10, -0.05 * ((7 * i) % 20)), 0);
  lines_input_noise(&input, 1e-4, &seed);
  struct sc_lines_settings settings = {
      .sample_rate_hz = 1, .expected_frames = LENGTH, .lines_max = 6};
  struct sc_lines *lines;
  ck_assert_int_eq(sc_lines_create(&settings, &lines), SC_OK);
  struct sc_lines_result result = lines_input_measure(lines, &input);
  ck_assert_uint_eq(result.count, 6);
  ck_assert(result.full);
  for (size_t i = 0; i < 6; i++)
    ck_assert_double_gt(result.tones[i].level_db.value, -5.5 - 3.02);
  sc_lines_destroy(lines);
  lines_input_free(&input);
}
END_TEST

/* A row of impulses, which has as many lines of one level as it has frames between them: more than
 * can be followed. */
START_TEST(lines_that_found_no_room_are_no_secret)
{
  enum { APART = LINES_TRACKS_MAX + LINES_TRACKS_MAX / 8, FRAMES = 32 * APART };
  struct lines_input input = lines_input_make(FRAMES, true);
  uint64_t seed = support_seed("no room", 21);
  for (size_t i = 0; i < FRAMES; i += APART)
    input.frames[2 * i] = 1;
  lines_input_noise(&input, 1e-9, &seed);
  struct sc_lines *lines = lines_input_finder(&input, 0, 0);
  struct sc_lines_result result = lines_input_measure(lines, &input);
  ck_assert(result.full);
  sc_lines_destroy(lines);
  lines_input_free(&input);
}
END_TEST

/* 200 lines, as many as an account is asked for, 16 bins apart and more. */
START_TEST(two_hundred_lines_are_measured)
{
  enum { LINES = 200, FRAMES = 32768 };
  struct lines_input input = lines_input_make(FRAMES, true);
  uint64_t seed = support_seed("two_hundred", 19);
  double places[LINES], at = -0.3;
  for (int i = 0; i < LINES; i++) {
    places[i] = at += (i % 5 ? 20 + 4 * support_uniform(&seed) : 300) / FRAMES;
    lines_input_tone(&input, places[i], i % 3 ? 0.01 : 1, 5 * support_uniform(&seed));
  }
  lines_input_noise(&input, 1e-3, &seed);
  struct sc_lines *lines = lines_input_finder(&input, 0, 0);
  struct sc_lines_result result = lines_input_measure(lines, &input);
  ck_assert_uint_eq(result.count, LINES);
  unsigned within = 0;
  for (int i = 0; i < LINES; i++) {
    const struct sc_tone *tone = &result.tones[i];
    double error = fabs(tone->amplitude - (i % 3 ? 0.01 : 1));
    ck_assert_double_eq_tol(tone->frequency_hz.value, places[i], 1.0 / FRAMES);
    ck_assert_double_le(error, 5 * tone->amplitude_uncertainty);
    within += error <= tone->amplitude_uncertainty;
  }
  ck_assert_uint_ge(within, LINES * 55 / 100);
  sc_lines_destroy(lines);
  lines_input_free(&input);
}
END_TEST

START_TEST(too_little_is_no_result)
{
  double frames[2 * 127] = {0};
  struct sc_lines_settings settings = {.sample_rate_hz = 1, .complex_input = true};
  struct sc_lines *lines;
  struct sc_lines_result result;
  settings.expected_frames = 127;
  ck_assert_int_eq(sc_lines_create(&settings, &lines), SC_OK);
  sc_lines_feed_double(lines, frames, 127, false);
  sc_lines_result(lines, &result);
  ck_assert_uint_eq(result.records, 0);
  ck_assert_uint_eq(result.count, 0);
  sc_lines_destroy(lines);
}
END_TEST

START_TEST(silence_and_wrong_numbers_make_no_lines)
{
  struct lines_input input = lines_input_make(2 * LENGTH, true);
  struct sc_lines *lines = lines_input_finder(&input, LENGTH, 0);
  struct sc_lines_result result = lines_input_measure(lines, &input);
  ck_assert_uint_eq(result.count, 0);
  uint64_t seed = support_seed("wrong", 20);
  lines_input_tone(&input, 0.2, 1, 0);
  lines_input_noise(&input, 1e-3, &seed);
  input.frames[100] = (double)NAN; /* spoils the first record, not the last */
  result = lines_input_measure(lines, &input);
  ck_assert_uint_eq(result.count, 1);
  ck_assert_double_eq_tol(result.tones[0].level_db.value, 0, 0.01);
  sc_lines_destroy(lines);
  lines_input_free(&input);
}
END_TEST

START_TEST(unsound_settings_are_refused)
{
  struct sc_lines_settings good = {.sample_rate_hz = 1, .expected_frames = LENGTH}, bad[9];
  for (size_t i = 0; i < 9; i++)
    bad[i] = good;
  bad[0].sample_rate_hz = 0;
  bad[1].sample_rate_hz = (double)NAN;
  bad[2].sample_rate_hz = (double)INFINITY;
  bad[3].false_alarm = 1;
  bad[4].false_alarm = -1e-3;
  bad[5].lower_hz = (double)NAN;
  bad[6].upper_hz = (double)NAN;
  bad[7].without_lower_hz = (double)NAN;
  bad[8].without_upper_hz = (double)NAN;
  for (size_t i = 0; i < 9; i++) {
    struct sc_lines *lines = NULL;
    ck_assert_int_eq(sc_lines_create(&bad[i], &lines), SC_BAD_ARGUMENT);
    ck_assert_ptr_null(lines);
  }
  sc_lines_destroy(NULL);
}
END_TEST

/* No assertion here: what Check allocates for one would be counted. */
static bool create_and_destroy(void *context)
{
  struct sc_lines *lines = context; /* not NULL, so that create has to set it */
  enum sc_error error = sc_lines_create(context, &lines);
  bool consistent = error == (lines ? SC_OK : SC_NO_MEMORY);
  sc_lines_destroy(lines);
  return error == SC_OK && consistent;
}

START_TEST(every_failing_allocation_is_survived)
{
  struct sc_lines_settings settings = {
      .sample_rate_hz = 1, .complex_input = _i == 0, .expected_frames = LENGTH};
  size_t failures = support_fail_each_allocation(create_and_destroy, &settings);
  printf("%zu allocations failed one by one\n", failures);
  ck_assert_uint_ge(failures, 10);
}
END_TEST

Suite *lines_suite(void)
{
  Suite *suite = suite_create("lines");
  TCase *tcase = tcase_create("lines");
  tcase_add_test(tcase, block_length_does_not_matter);
  tcase_add_test(tcase, a_look_apart_finds_the_same);
  tcase_add_test(tcase, a_carrier_that_is_told_is_followed);
  tcase_add_test(tcase, the_floor_is_the_noise);
  tcase_add_test(tcase, asking_changes_nothing);
  tcase_add_test(tcase, single_precision_reaches_its_own_limit);
  tcase_add_test(tcase, records_never_straddle_a_gap);
  tcase_add_test(tcase, without_a_whole_record_the_longest_stretch_counts);
  tcase_add_loop_test(tcase, a_long_capture_is_sampled_over_its_length, 0, 2);
  tcase_add_loop_test(tcase, records_are_spread_over_what_is_fed, 0, 3);
  tcase_add_test(tcase, only_the_part_asked_for_is_listed);
  tcase_add_test(tcase, records_are_no_longer_than_allowed);
  tcase_add_test(tcase, the_strongest_are_kept);
  tcase_add_test(tcase, lines_that_found_no_room_are_no_secret);
  tcase_add_test(tcase, two_hundred_lines_are_measured);
  tcase_add_test(tcase, too_little_is_no_result);
  tcase_add_test(tcase, silence_and_wrong_numbers_make_no_lines);
  tcase_add_test(tcase, unsound_settings_are_refused);
  tcase_add_loop_test(tcase, every_failing_allocation_is_survived, 0, 2);
  suite_add_tcase(suite, tcase);
  return suite;
}
