/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Captures of a composite and of audio. */
#include <config.h>

#include <math.h>

#include "analysis/chain.h"
#include "analysis/suites.h"

/* The generator makes kHz of deviation; here full scale stands for one kHz of them. */
static struct chain composite(void)
{
  struct chain chain = chain_usual();
  chain.kind = SC_KIND_COMPOSITE;
  chain.signal.rate_hz = 192e3;
  chain.seconds = 2;
  chain_add_pilot(&chain);
  chain_add_audio(&chain, 1000, 40, 20);
  return chain;
}

START_TEST(a_composite_without_scale_is_relative_to_its_pilot)
{
  struct chain chain = composite();
  struct sc_result result = chain_measure(&chain);
  ck_assert_ptr_null(result.unmeasured);
  ck_assert_ptr_null(result.composite_why);
  ck_assert(!result.composite_absolute);
  ck_assert_int_eq(result.carrier.present, SC_UNKNOWN);
  ck_assert_ptr_nonnull(result.carrier.offset_hz.why);
  ck_assert_int_eq(result.pilot.present, SC_YES);
  ck_assert_double_eq_tol(result.pilot.frequency_hz.value, 19000, 1e-3);
  ck_assert_ptr_nonnull(result.pilot.deviation_khz.why);
  const struct sc_line *sum = chain_line(&result.composite_lines, 1000);
  ck_assert_ptr_nonnull(sum);
  ck_assert_ptr_nonnull(sum->deviation_khz.why);
  ck_assert_double_eq_tol(sum->level_db_pilot.value, 20 * log10(30 / 6.75), 0.01);
  sc_result_clear(&result);
}
END_TEST

START_TEST(full_scale_makes_it_absolute)
{
  struct chain chain = composite();
  chain.analysis.full_scale_khz = 1;
  struct sc_result result = chain_measure(&chain);
  ck_assert(result.composite_absolute);
  ck_assert_double_eq_tol(result.pilot.deviation_khz.value, 6.75, 0.005 * 6.75);
  const struct sc_line *sum = chain_line(&result.composite_lines, 1000);
  ck_assert_ptr_nonnull(sum);
  ck_assert_double_eq_tol(sum->deviation_khz.value, 30, 0.01);
  ck_assert_double_eq_tol(sum->level_db75.value, 20 * log10(30.0 / 75), 0.01);
  const struct sc_line *lower = chain_line(&result.composite_lines, 37e3);
  ck_assert_ptr_nonnull(lower);
  ck_assert_double_eq_tol(lower->deviation_khz.value, 5, 0.005);
  /* what the decoder gives is heard too: full scale is 75 kHz, nothing of the test audio */
  static const double khz[2] = {40, 20};
  for (int c = 0; c < 2; c++) {
    const struct sc_audio_channel *channel = &result.audio.channel[c];
    ck_assert_double_eq_tol(channel->frequency_hz.value, 1000, 1e-3);
    ck_assert_double_eq_tol(channel->level_dbfs.value, 20 * log10(khz[c] / 75), 0.02);
    ck_assert_ptr_nonnull(channel->snr_db.why);
  }
  ck_assert_int_eq(result.audio.sequence, SC_NO);
  ck_assert_int_eq(result.audio.order, SC_ORDER_UNKNOWN);
  sc_result_clear(&result);
}
END_TEST

START_TEST(audio_has_lines_and_no_pilot)
{
  struct chain chain = chain_usual();
  chain.kind = SC_KIND_AUDIO;
  chain.signal.rate_hz = 48e3;
  chain.seconds = 4;
  chain_add_audio(&chain, 1000, 0.5, 0.5);
  struct sc_result result = chain_measure(&chain);
  ck_assert_ptr_null(result.unmeasured);
  ck_assert_ptr_nonnull(result.composite_why);
  ck_assert_int_eq(result.pilot.present, SC_UNKNOWN);
  const struct sc_line *tone = chain_line(&result.composite_lines, 1000);
  ck_assert_ptr_nonnull(tone);
  ck_assert_double_eq_tol(tone->tone.amplitude, 0.5, 1e-4);
  ck_assert_ptr_null(tone->level_dbfs.why);
  ck_assert_double_eq_tol(tone->level_dbfs.value, 20 * log10(0.5), 1e-3);
  ck_assert_double_eq_tol(result.audio.channel[0].level_dbfs.value, 20 * log10(0.5), 1e-3);
  ck_assert_ptr_nonnull(result.audio.channel[1].level_dbfs.why); /* the chain feeds one channel */
  ck_assert_ptr_nonnull(result.audio.separation_left_to_right_db.why);
  ck_assert_int_eq(result.audio.sequence, SC_NO);
  sc_result_clear(&result);
}
END_TEST

START_TEST(audio_of_an_odd_rate_is_not_judged)
{
  struct chain chain = chain_usual();
  chain.kind = SC_KIND_AUDIO;
  chain.signal.rate_hz = 22050;
  chain.seconds = 2;
  chain_add_audio(&chain, 1000, 0.5, 0.5);
  struct sc_result result = chain_measure(&chain);
  ck_assert_int_eq(result.audio.sequence, SC_UNKNOWN);
  ck_assert_ptr_nonnull(result.audio.why);
  ck_assert_ptr_nonnull(result.audio.order_why);
  ck_assert_ptr_nonnull(result.audio.channel[0].level_dbfs.why);
  ck_assert_ptr_nonnull(result.audio.points_why);
  ck_assert_ptr_nonnull(chain_line(&result.composite_lines, 1000));
  sc_result_clear(&result);
}
END_TEST

START_TEST(there_is_a_spectrum_of_the_composite_and_none_on_air)
{
  struct chain chain = composite();
  struct sc_source_info info = chain_info(&chain);
  struct sc_analysis *analysis;
  struct sc_trace trace;
  ck_assert_int_eq(sc_analysis_create(&info, &chain.analysis, &analysis, NULL), SC_OK);
  chain_feed(&chain, analysis);
  ck_assert_int_eq(sc_analysis_air(analysis, &trace), SC_UNSUPPORTED);
  ck_assert_int_eq(sc_analysis_composite(analysis, &trace), SC_OK);
  ck_assert_uint_gt(trace.points, 100);
  size_t pilot = (size_t)lround((19000 - trace.start_hz) / trace.step_hz);
  ck_assert_double_eq_tol(10 * log10((double)trace.mean[pilot]), 20 * log10(6.75), 1);
  sc_analysis_destroy(analysis);
}
END_TEST

Suite *real_suite(void)
{
  Suite *suite = suite_create("real");
  TCase *signals = tcase_create("signals");
  tcase_add_test(signals, a_composite_without_scale_is_relative_to_its_pilot);
  tcase_add_test(signals, full_scale_makes_it_absolute);
  tcase_add_test(signals, audio_has_lines_and_no_pilot);
  tcase_add_test(signals, audio_of_an_odd_rate_is_not_judged);
  tcase_add_test(signals, there_is_a_spectrum_of_the_composite_and_none_on_air);
  suite_add_tcase(suite, signals);
  return suite;
}
