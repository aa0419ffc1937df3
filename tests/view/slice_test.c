/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The spectrum of a passage: from samples in memory, with a pilot of known deviation. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <sidecomb/signal.h>

#include "view/slice.h"
#include "view/suites.h"

enum { RATE = 384000, FRAMES = 2 * RATE };

static const double carrier_hz = -20000, pilot_khz = 7;
static const double signal_dbfs =
    -6.02; /* what the generator makes of a level of 0: half of full scale */

static float *samples;
static uint64_t position;
static double farthest_s; /* read so far */
static bool moved;
static const struct sc_source_info info = {
    .kind = SC_KIND_IQ, .channels = 2, .sample_rate_hz = RATE, .frames = FRAMES};

static void make_samples(void)
{
  enum { CHUNK = 4800 };
  static double iq[2 * CHUNK];
  struct sc_signal *signal;
  struct sc_signal_settings settings;
  sc_signal_settings_init(&settings);
  settings.rate_hz = RATE;
  settings.pilot_khz = pilot_khz;
  settings.carrier_offset_hz = carrier_hz;
  settings.cnr_db = 50;
  settings.seed = 19;
  samples = malloc(2 * FRAMES * sizeof *samples);
  ck_assert_ptr_nonnull(samples);
  ck_assert_int_eq(sc_signal_create(&settings, &signal), SC_OK);
  for (size_t done = 0; done < FRAMES; done += CHUNK) {
    sc_signal_iq(signal, iq, CHUNK);
    for (size_t i = 0; i < 2 * CHUNK; i++)
      samples[2 * done + i] = (float)iq[i];
  }
  sc_signal_destroy(signal);
}

static void free_samples(void)
{
  free(samples);
}

static enum sc_error read_memory(void *context, size_t most, struct sc_block *block)
{
  (void)context;
  size_t frames = FRAMES - position < most ? (size_t)(FRAMES - position) : most;
  *block = (struct sc_block){.first = position,
                             .frames = frames,
                             .channels = 2,
                             .samples = samples + 2 * position,
                             .discontinuity = moved,
                             .info = &info};
  position += frames;
  farthest_s = fmax(farthest_s, (double)position / RATE);
  moved = false;
  return SC_OK;
}

static enum sc_error seek_memory(void *context, uint64_t frame)
{
  (void)context;
  moved = moved || frame != position;
  position = frame;
  return SC_OK;
}

static struct view_slice *open_slice(void)
{
  struct view_blocks blocks = {NULL, read_memory, seek_memory, &info, NULL};
  position = 0;
  struct view_slice *slice = view_slice_create(&blocks);
  ck_assert_ptr_nonnull(slice);
  return slice;
}

static struct view_request on_air(double centre_hz, double span_hz)
{
  return (struct view_request){.view = VIEW_AIR,
                               .centre_hz = centre_hz,
                               .span_hz = span_hz,
                               .rbw_hz = span_hz / 800,
                               .window = SC_WINDOW_BLACKMAN_HARRIS,
                               .length_s = 0.5,
                               .channel_hz = carrier_hz};
}

static struct view_spectrum read_all(struct view_slice *slice, const struct view_request *request)
{
  struct view_spectrum spectrum;
  view_slice_ask(slice, request);
  while (view_slice_step(slice))
    continue;
  view_slice_result(slice, &spectrum);
  return spectrum;
}

static double highest_between(const struct sc_trace *trace, double low_hz, double high_hz,
                              double *level_db)
{
  double most = -1, at = NAN;
  for (size_t i = 0; i < trace->points; i++) {
    double hz = trace->start_hz + (double)i * trace->step_hz;
    if (hz < low_hz || hz > high_hz || trace->mean[i] <= most)
      continue;
    most = trace->mean[i];
    at = hz;
  }
  *level_db = 10 * log10(most);
  return at;
}

START_TEST(a_passage_is_read_and_no_more)
{
  struct view_slice *slice = open_slice();
  struct view_request request = on_air(0, RATE);
  request.from_s = 0.75;
  struct view_spectrum spectrum = read_all(slice, &request);
  double level;
  ck_assert_double_eq_tol(spectrum.from_s, 0.75, 1e-9);
  ck_assert_double_eq_tol(spectrum.to_s, 1.25, 1e-9);
  ck_assert(!spectrum.refining);
  ck_assert_uint_gt(spectrum.trace.records, 50);
  ck_assert_double_eq_tol(highest_between(&spectrum.trace, -RATE, RATE, &level), carrier_hz,
                          spectrum.trace.step_hz);
  view_slice_destroy(slice);
}
END_TEST

/* The first picture of a long passage is of all of it, and in the end nothing is left out. */
START_TEST(a_long_passage_is_read_from_places_spread_over_it)
{
  /* 32 records of 2.0044 / rbw (the window's noise bandwidth, Harris 1978) are 32.07 ms, which
   * is less than a block: 63 stretches. */
  enum { STRETCHES = 63 };
  struct view_slice *slice = open_slice();
  struct view_request request = on_air(0, RATE);
  struct view_spectrum spectrum;
  request.rbw_hz = 2000;
  request.length_s = 2;
  farthest_s = 0;
  view_slice_ask(slice, &request);
  for (int i = 0; i < 2; i++)
    ck_assert(view_slice_step(slice));
  view_slice_result(slice, &spectrum);
  ck_assert_double_gt(farthest_s, 1);
  ck_assert(spectrum.refining);
  ck_assert_double_eq_tol(spectrum.share, 0.03207, 1e-4);
  ck_assert_double_eq(spectrum.from_s, 0);
  ck_assert_double_eq(spectrum.to_s, 2);
  int steps = 2;
  while (view_slice_step(slice))
    steps++;
  view_slice_result(slice, &spectrum);
  ck_assert_int_eq(steps, STRETCHES);
  ck_assert(!spectrum.refining);
  ck_assert_double_eq(spectrum.share, 1);
  double level;
  ck_assert_double_eq_tol(highest_between(&spectrum.trace, -RATE, RATE, &level), carrier_hz,
                          spectrum.trace.step_hz);
  view_slice_destroy(slice);
}
END_TEST

START_TEST(the_passage_stays_within_the_capture)
{
  struct view_slice *slice = open_slice();
  struct view_request request = on_air(0, RATE);
  request.from_s = 1.9;
  struct view_spectrum spectrum = read_all(slice, &request);
  ck_assert_double_eq_tol(spectrum.to_s, 2, 1e-9);
  ck_assert_double_eq_tol(spectrum.from_s, 1.5, 1e-9);
  view_slice_destroy(slice);
}
END_TEST

START_TEST(a_zoom_makes_the_resolution_finer_and_the_passage_longer)
{
  struct view_slice *slice = open_slice();
  struct view_request request = on_air(carrier_hz + 19000, 4000);
  struct view_spectrum spectrum = read_all(slice, &request);
  double level;
  ck_assert_double_eq_tol(spectrum.trace.rbw_hz, 5, 0.5);
  ck_assert_double_ge(spectrum.to_s - spectrum.from_s, 1);
  ck_assert_double_eq_tol(highest_between(&spectrum.trace, -RATE, RATE, &level), carrier_hz + 19000,
                          spectrum.trace.step_hz);
  view_slice_destroy(slice);
}
END_TEST

START_TEST(the_composite_is_in_kilohertz)
{
  struct view_slice *slice = open_slice();
  struct view_request request = on_air(50000, 100000);
  request.view = VIEW_COMPOSITE;
  request.window = SC_WINDOW_FLAT_TOP;
  struct view_spectrum spectrum = read_all(slice, &request);
  double level;
  double hz = highest_between(&spectrum.trace, 1000, 100000, &level);
  ck_assert_double_eq_tol(hz, 19000, spectrum.trace.step_hz);
  /* A flat-top window loses 0.01 dB at most between two points: Heinzel and others, 2002. */
  ck_assert_double_eq_tol(level, 20 * log10(pilot_khz), 0.02);
  view_slice_destroy(slice);
}
END_TEST

START_TEST(without_a_transmitter_there_is_no_composite)
{
  struct view_slice *slice = open_slice();
  struct view_request request = on_air(50000, 100000);
  request.view = VIEW_COMPOSITE;
  request.channel_hz = NAN;
  struct view_spectrum spectrum = read_all(slice, &request);
  ck_assert_ptr_nonnull(spectrum.why);
  ck_assert_uint_eq(spectrum.trace.points, 0);
  view_slice_destroy(slice);
}
END_TEST

START_TEST(following_keeps_what_was_averaged)
{
  struct view_slice *slice = open_slice();
  struct view_request request = on_air(0, RATE);
  request.follow = true;
  request.length_s = 0.1;
  request.until_s = 0.2;
  read_all(slice, &request);
  request.until_s = 0.25;
  struct view_spectrum spectrum = read_all(slice, &request);
  uint64_t records = spectrum.trace.records;
  ck_assert_double_eq_tol(spectrum.to_s, 0.25, 1e-9);
  ck_assert_double_eq_tol(spectrum.from_s, 0.15, 1e-9);
  request.until_s = 0.3;
  spectrum = read_all(slice, &request);
  ck_assert_double_eq_tol(spectrum.to_s, 0.3, 1e-9);
  ck_assert_uint_gt(spectrum.trace.records, records);
  view_slice_destroy(slice);
}
END_TEST

/* A record at 10 Hz takes longer than the 0.05 s that are averaged. */
START_TEST(following_says_the_whole_of_a_record)
{
  struct view_slice *slice = open_slice();
  struct view_request request = on_air(0, RATE);
  request.follow = true;
  request.rbw_hz = 10;
  request.length_s = 0.05;
  for (int n = 1; n <= 16; n++) {
    request.until_s = 0.05 * n;
    read_all(slice, &request);
  }
  struct view_spectrum spectrum = read_all(slice, &request);
  ck_assert_uint_gt(spectrum.trace.points, 0);
  ck_assert_double_ge(spectrum.trace.record_s, 0.1);
  ck_assert_double_eq_tol(spectrum.to_s - spectrum.from_s, spectrum.trace.record_s, 1e-9);
  view_slice_destroy(slice);
}
END_TEST

START_TEST(following_leaves_out_what_it_cannot_catch_up_with)
{
  struct view_slice *slice = open_slice();
  struct view_request request = on_air(0, RATE);
  request.follow = true;
  request.length_s = 0.1;
  request.until_s = 0.1;
  read_all(slice, &request);
  request.until_s = 1.9;
  view_slice_ask(slice, &request);
  unsigned steps = 0;
  while (view_slice_step(slice))
    steps++;
  ck_assert_uint_lt(steps, 4); /* 0.1 s and not 1.8 s of blocks of 43 ms */
  request.until_s = 0.5;       /* the user jumped back */
  struct view_spectrum spectrum = read_all(slice, &request);
  ck_assert_double_eq_tol(spectrum.to_s, 0.5, 1e-9);
  view_slice_destroy(slice);
}
END_TEST

/* A pilot and noise: all that stands in the channel is expected, in the passage and when zoomed,
 * where few records leave more to chance. */
START_TEST(the_composite_is_sent_again_beside_the_trace)
{
  struct view_slice *slice = open_slice();
  struct view_request request = on_air(carrier_hz, 100e3);
  request.expected = true;
  request.noise_dbfs_hz = signal_dbfs - 50 - 10 * log10(200e3);
  static const double chance_db[] = {3, 8};
  double middle_hz = carrier_hz;
  for (int zoom = 0; zoom < 2; zoom++) {
    struct view_spectrum spectrum = read_all(slice, &request);
    double level, air, most = 0;
    ck_assert_ptr_nonnull(spectrum.difference_db);
    highest_between(&spectrum.trace, middle_hz - 1e3, middle_hz + 1e3, &air);
    double at = highest_between(&spectrum.expected, middle_hz - 1e3, middle_hz + 1e3, &level);
    ck_assert_double_eq_tol(at, middle_hz, spectrum.expected.step_hz);
    ck_assert_double_eq_tol(level, air, 1);
    for (size_t i = 0; i < spectrum.trace.points; i++)
      if (!isnan(spectrum.difference_db[i]))
        most = fmax(most, fabs((double)spectrum.difference_db[i]));
    ck_assert_double_lt(most, chance_db[zoom]);
    request.centre_hz = carrier_hz + 19e3;
    request.span_hz = 4000;
    request.rbw_hz = 20;
    middle_hz = request.centre_hz;
  }
  request.expected = false;
  struct view_spectrum without = read_all(slice, &request);
  ck_assert_ptr_null(without.difference_db);
  view_slice_destroy(slice);
}
END_TEST

START_TEST(without_a_channel_the_trace_stands_alone)
{
  struct view_slice *slice = open_slice();
  struct view_request request = on_air(0, RATE);
  request.expected = true;
  request.channel_hz = (double)NAN;
  struct view_spectrum spectrum = read_all(slice, &request);
  ck_assert_ptr_null(spectrum.why);
  ck_assert_uint_gt(spectrum.trace.points, 0);
  ck_assert_uint_eq(spectrum.expected.points, 0);
  view_slice_destroy(slice);
}
END_TEST

static void scale(double from_s, double to_s, float factor)
{
  for (size_t i = (size_t)(2 * from_s * RATE); i < (size_t)(2 * to_s * RATE); i++)
    samples[i] *= factor;
}

/* A fall by 20 dB for the second half of the capture, which is 2 s long. */
START_TEST(rows_over_time_follow_the_level)
{
  struct view_slice *slice = open_slice();
  struct view_request request = on_air(0, RATE);
  scale(1, 2, 0.1F);
  request.course = true;
  request.length_s = 2;
  struct view_course course = read_all(slice, &request).course;
  ck_assert_uint_gt(course.rows, 20);
  ck_assert_uint_eq(course.filled, course.rows);
  ck_assert_double_eq_tol(course.each_s * (double)course.rows, 2, 1e-6);
  ck_assert_double_eq_tol(course.spread_db, 20, 0.2);
  size_t column = (size_t)llround((carrier_hz - course.start_hz) / course.step_hz);
  /* J0(7/19) = 0.9664: -0.30 dB; between two points a Blackman-Harris window loses 0.8 dB */
  for (size_t row = 0; row < course.rows; row++) {
    double fall = (double)row + 0.5 < (double)course.rows / 2 ? 0 : 20;
    float most = fmaxf(course.level_db[row * course.columns + column],
                       course.level_db[row * course.columns + column - 1]);
    if (fabs((double)row + 0.5 - (double)course.rows / 2) > 1)
      ck_assert_double_eq_tol((double)most, signal_dbfs - 0.3 - fall, 1);
  }
  scale(1, 2, 10);
  view_slice_destroy(slice);
}
END_TEST

START_TEST(rows_are_appended_while_following)
{
  struct view_slice *slice = open_slice();
  struct view_request request = on_air(0, RATE);
  request.course = request.follow = true;
  request.length_s = 0.4;
  size_t rows = 0;
  for (int tenth = 1; tenth <= 15; tenth++) {
    request.until_s = tenth / 10.0;
    struct view_course course = read_all(slice, &request).course;
    ck_assert_uint_ge(course.rows, rows);
    rows = course.rows;
    if (rows > 0)
      ck_assert_double_eq_tol(course.from_s + course.each_s * (double)rows, request.until_s, 0.13);
  }
  /* an eighth of the length each, but blocks are not cut: 16384 frames are 0.043 s */
  ck_assert_uint_ge(rows, 15);
  ck_assert_uint_le(rows, 30);
  request.until_s = 0.3; /* back: begins afresh */
  ck_assert_uint_lt(read_all(slice, &request).course.rows, 8);
  view_slice_destroy(slice);
}
END_TEST

Suite *slice_suite(void)
{
  Suite *suite = suite_create("slice");
  TCase *passages = tcase_create("passages");
  tcase_add_unchecked_fixture(passages, make_samples, free_samples);
  tcase_add_test(passages, a_passage_is_read_and_no_more);
  tcase_add_test(passages, a_long_passage_is_read_from_places_spread_over_it);
  tcase_add_test(passages, the_passage_stays_within_the_capture);
  tcase_add_test(passages, a_zoom_makes_the_resolution_finer_and_the_passage_longer);
  tcase_add_test(passages, the_composite_is_in_kilohertz);
  tcase_add_test(passages, without_a_transmitter_there_is_no_composite);
  tcase_add_test(passages, following_keeps_what_was_averaged);
  tcase_add_test(passages, following_says_the_whole_of_a_record);
  tcase_add_test(passages, following_leaves_out_what_it_cannot_catch_up_with);
  tcase_add_test(passages, the_composite_is_sent_again_beside_the_trace);
  tcase_add_test(passages, without_a_channel_the_trace_stands_alone);
  tcase_add_test(passages, rows_over_time_follow_the_level);
  tcase_add_test(passages, rows_are_appended_while_following);
  suite_add_tcase(suite, passages);
  return suite;
}
