/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A capture of which buffers are lost, unmarked: the pilot is one, nothing of the transmitter's is
 * called spurious, and what a jump of the carrier's phase spoils is not stated. 6.75 kHz are 9 % of
 * 75 kHz (ITU-R BS.450). */
#include <config.h>

#include <math.h>

#include "analysis/scene.h"
#include "analysis/suites.h"

enum { RATE = 500000, BLOCK = 10000, BLOCKS = 250 };

/* Five seconds of pilot, data and a kilohertz on the left; blocks 60 and 160 are lost, or none. */
static struct sc_result measure(bool lost)
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
    const size_t frames = lost && (k == 60 || k == 160) ? BLOCK - 2507 : BLOCK;
    sc_generator_run(generator, made, BLOCK);
    for (size_t i = 0; i < 2 * frames; i++)
      samples[i] = (float)made[i];
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
  struct sc_result result = measure(true);
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

START_TEST(without_loss_all_is_stated)
{
  struct sc_result result = measure(false);
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
  tcase_add_test(tests, without_loss_all_is_stated);
  suite_add_tcase(suite, tests);
  return suite;
}
