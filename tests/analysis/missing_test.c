/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A capture of which buffers are lost, unmarked, or filled with zeros: the pilot is one, nothing of
 * the transmitter's is called spurious, and what a jump of the carrier's phase spoils is not
 * stated. 6.75 kHz are 9 % of 75 kHz (ITU-R BS.450). */
#include <config.h>

#include <math.h>

#include "analysis/scene.h"
#include "analysis/suites.h"

enum { RATE = 500000, BLOCK = 10000, BLOCKS = 250, LOST = 2507 };
enum loss { NONE, TAKEN_OUT, ZEROS };

/* Five seconds of pilot, data and a kilohertz on the left; of blocks 60 and 160 `part` frames are
 * lost, or none. */
static struct sc_result measure(enum loss loss, size_t part)
{
  struct sc_message message;
  struct sc_scenario s = scene_silent(RATE, 45);
  struct sc_analysis *analysis;
  struct sc_generator *generator;
  struct sc_result result;
  static float samples[2 * BLOCK];
  static double made[2 * BLOCK];
  ck_assert_int_eq(sc_scenario_ready("data", &s, &message), SC_OK);
  s.rate_hz = RATE;
  s.seconds = 5;
  s.cnr_db = 45;
  s.offset_hz = 900;
  s.station.programme_count = 0;
  s.station.rds.khz = 2;
  scene_add_tone(&s, SC_TO_LEFT, 1000, 30);
  struct sc_analysis_settings settings = scene_settings(&s);
  settings.lines = true;
  const struct sc_source_info info = {.kind = SC_KIND_IQ,
                                      .sample_rate_hz = RATE,
                                      .nominal_rate_hz = RATE,
                                      .clock_relative_uncertainty = (double)NAN,
                                      .channels = 2};
  ck_assert_int_eq(sc_generator_create(&s, &generator, &message), SC_OK);
  ck_assert_int_eq(sc_analysis_create(&info, &settings, &analysis, &message), SC_OK);
  uint64_t first = 0;
  for (size_t k = 0; k < BLOCKS; k++) {
    /* 20 ms are 380 periods of the pilot: it is a part of a block that is lost */
    const bool here = k == 60 || k == 160;
    const size_t frames = loss == TAKEN_OUT && here ? BLOCK - part : BLOCK;
    const size_t whole = loss == ZEROS && here ? BLOCK - part : frames;
    sc_generator_run(generator, made, BLOCK);
    for (size_t i = 0; i < 2 * frames; i++)
      samples[i] = i < 2 * whole ? (float)made[i] : 0;
    const struct sc_block block = {
        .first = first, .frames = frames, .channels = 2, .samples = samples, .info = &info};
    ck_assert_int_eq(sc_analysis_feed(analysis, &block), SC_OK);
    first += frames;
  }
  ck_assert_int_eq(sc_analysis_result(analysis, &result), SC_OK);
  sc_analysis_destroy(analysis);
  sc_generator_destroy(generator);
  return result;
}

START_TEST(lost_buffers_leave_the_pilot_and_no_made_up_peak)
{
  struct sc_result result = measure(TAKEN_OUT, LOST);
  ck_assert_int_eq(result.pilot.present, SC_YES);
  ck_assert_uint_eq(result.pilot.jumps, 2);
  ck_assert_double_eq_tol(result.pilot.deviation_khz.value, 6.75, 0.02);
  ck_assert_ptr_nonnull(result.deviation.peak_khz.why);
  ck_assert_ptr_nonnull(result.deviation.corrected_khz.why);
  ck_assert_ptr_nonnull(result.rds.injection_khz.why);
  for (size_t i = 0; i < result.composite_lines.count; i++)
    ck_assert_int_ne(result.composite_lines.lines[i].verdict, SC_VERDICT_SPURIOUS);
  sc_result_clear(&result);
}
END_TEST

/* The clicks at the ends of the zeros would be hundreds of kilohertz: the highest deviations are as
 * without a loss, but for what the rest of the capture happens to reach. */
START_TEST(zeros_in_place_of_samples_are_left_out)
{
  static const size_t parts[] = {LOST, 8};
  struct sc_result whole = measure(NONE, 0), holed = measure(ZEROS, parts[_i]);
  ck_assert_uint_eq(whole.capture.holes, 0);
  ck_assert_double_eq(whole.capture.left_out_s, 0);
  ck_assert_uint_eq(holed.capture.holes, 2);
  ck_assert_double_gt(holed.capture.left_out_s, 0);
  ck_assert_double_lt(holed.capture.left_out_s, 0.15);
  ck_assert_uint_eq(whole.capture.carried.count, 0);
  ck_assert_uint_eq(holed.capture.carried.count, 3);
  double carried_s = 0;
  for (size_t i = 0; i < 3; i++)
    carried_s += holed.capture.carried.at[i].to_s - holed.capture.carried.at[i].from_s;
  ck_assert_double_eq_tol(carried_s, 5 - holed.capture.left_out_s, 0.001);
  ck_assert_double_lt(holed.capture.carried.at[0].to_s, 60 * (double)BLOCK / RATE + 0.02);
  ck_assert_double_gt(holed.capture.carried.at[1].from_s, 61 * (double)BLOCK / RATE - 0.02);
  ck_assert_uint_eq(holed.pilot.jumps, 0);
  ck_assert_double_eq_tol(holed.pilot.deviation_khz.value, 6.75, 0.02);
  ck_assert_double_eq_tol(holed.deviation.peak_khz.value, whole.deviation.peak_khz.value, 0.5);
  ck_assert_double_eq_tol(holed.deviation.rms_khz.value, whole.deviation.rms_khz.value, 0.02);
  ck_assert_double_eq_tol(holed.rds.injection_khz.value, 2, 0.02);
  for (size_t i = 0; i < holed.composite_lines.count; i++)
    ck_assert_int_ne(holed.composite_lines.lines[i].verdict, SC_VERDICT_SPURIOUS);
  sc_result_clear(&whole);
  sc_result_clear(&holed);
}
END_TEST

START_TEST(without_loss_all_is_stated)
{
  struct sc_result result = measure(NONE, 0);
  ck_assert_int_eq(result.pilot.present, SC_YES);
  ck_assert_uint_eq(result.pilot.jumps, 0);
  ck_assert_ptr_null(result.deviation.peak_khz.why);
  ck_assert_double_eq_tol(result.rds.injection_khz.value, 2, 0.02);
  sc_result_clear(&result);
}
END_TEST

Suite *missing_suite(void)
{
  Suite *suite = suite_create("missing");
  TCase *tests = tcase_create("missing");
  tcase_add_test(tests, lost_buffers_leave_the_pilot_and_no_made_up_peak);
  tcase_add_loop_test(tests, zeros_in_place_of_samples_are_left_out, 0, 2);
  tcase_add_test(tests, without_loss_all_is_stated);
  suite_add_tcase(suite, tests);
  return suite;
}
