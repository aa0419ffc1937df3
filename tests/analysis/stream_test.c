/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The chain as a stream: gaps, odd blocks, late carriers, questions before the end. */
#include <config.h>

#include <math.h>
#include <string.h>

#include "analysis/chain.h"
#include "analysis/suites.h"
#include "support/support.h"

static struct chain stereo(void)
{
  struct chain chain = chain_usual();
  chain.signal.rate_hz = 400e3;
  chain_add_pilot(&chain);
  return chain;
}

static void check_pilot(const struct sc_result *result)
{
  ck_assert_msg(result->pilot.present == SC_YES, "%s", result->pilot.why);
  ck_assert_double_eq_tol(result->pilot.frequency_hz.value, 19000, 0.01);
  ck_assert_double_eq_tol(result->pilot.deviation_khz.value, 6.75, 0.03);
}

START_TEST(the_length_of_blocks_does_not_matter)
{
  struct chain chain = stereo(), odd = stereo();
  odd.block = 777;
  struct sc_result result = chain_measure(&chain), other = chain_measure(&odd);
  ck_assert_double_eq_tol(other.carrier.offset_hz.value, result.carrier.offset_hz.value, 1e-6);
  ck_assert_double_eq_tol(other.pilot.frequency_hz.value, result.pilot.frequency_hz.value, 1e-7);
  ck_assert_uint_eq(other.air_lines.count, result.air_lines.count);
  ck_assert_uint_eq(other.composite_lines.count, result.composite_lines.count);
  sc_result_clear(&result);
  sc_result_clear(&other);
}
END_TEST

static void check_same_lines(const struct sc_line_list *list, const struct sc_line_list *other)
{
  ck_assert_uint_eq(list->count, other->count);
  for (size_t i = 0; i < list->count; i++) {
    const struct sc_line *a = &list->lines[i], *b = &other->lines[i];
    ck_assert_double_eq(a->offset_hz.value, b->offset_hz.value);
    ck_assert_double_eq(a->tone.amplitude, b->tone.amplitude);
  }
}

/* _i: of a capture that is said to be long, of which the threads have other shares. */
START_TEST(threads_change_nothing)
{
  struct chain alone = stereo();
  alone.signal.rate_hz = 1e6;
  alone.seconds = 2;
  alone.stated_frames = _i ? 200000000 : 0;
  alone.analysis.lines = true;
  struct sc_result one = {0};
  for (unsigned threads = 1; threads <= 4; threads++) {
    struct chain chain = alone;
    chain.analysis.threads = threads;
    struct sc_result result = chain_measure(&chain);
    if (threads == 1) {
      one = result;
      ck_assert_uint_gt(one.air_lines.count, 5);
      continue;
    }
    ck_assert_double_eq(result.pilot.deviation_khz.value, one.pilot.deviation_khz.value);
    ck_assert_double_eq(result.deviation.rms_khz.value, one.deviation.rms_khz.value);
    check_same_lines(&result.air_lines, &one.air_lines);
    check_same_lines(&result.composite_lines, &one.composite_lines);
    sc_result_clear(&result);
  }
  sc_result_clear(&one);
}
END_TEST

/* A gap shifts all phases; nothing coherent may reach across it. */
START_TEST(a_gap_spoils_nothing)
{
  struct chain chain = stereo();
  chain.seconds = 3;
  chain.gap_at = 600000;
  struct sc_result result = chain_measure(&chain);
  ck_assert_uint_eq(result.capture.gaps, 1);
  check_pilot(&result);
  bool said = false;
  for (size_t i = 0; i < result.warnings.count; i++)
    said |= strstr(result.warnings.text[i], "1 gap;") != NULL;
  ck_assert(said);
  sc_result_clear(&result);
}
END_TEST

/* _i: of a capture whose length is known nothing is said, nor of one that is searched whole. */
START_TEST(an_unknown_length_is_told)
{
  struct chain chain = stereo();
  chain.seconds = _i == 2 ? 2 : 7;
  chain.unstated = _i > 0;
  struct sc_result result = chain_measure(&chain);
  bool said = false;
  for (size_t i = 0; i < result.warnings.count; i++)
    said |= strstr(result.warnings.text[i], "length was not known") != NULL;
  ck_assert_int_eq(said, _i == 1);
  sc_result_clear(&result);
}
END_TEST

START_TEST(a_gap_in_the_first_second_too)
{
  struct chain chain = stereo();
  chain.gap_at = 150000;
  struct sc_result result = chain_measure(&chain);
  ck_assert_uint_eq(result.capture.gaps, 1);
  check_pilot(&result);
  sc_result_clear(&result);
}
END_TEST

START_TEST(a_transmitter_keyed_late_is_found)
{
  struct chain chain = stereo();
  chain.quiet_s = 1.5;
  chain.seconds = 2.5;
  struct sc_result result = chain_measure(&chain);
  ck_assert_int_eq(result.carrier.present, SC_YES);
  ck_assert_double_eq_tol(result.carrier.offset_hz.value, 60e3, 500);
  sc_result_clear(&result);
}
END_TEST

/* What was found at first is no transmitter: a receiver's own line at zero, a weak line elsewhere.
 */
START_TEST(a_transmitter_takes_the_place_of_what_was_there)
{
  static const struct sc_signal_tone others[] = {{0, 0.02, 0}, {-200e3, 0.05, 0}};
  struct chain chain = stereo();
  chain.signal.rate_hz = 600e3;
  chain.signal.carriers[chain.signal.carrier_count++] = others[_i];
  chain.quiet_s = 2.3;
  chain.seconds = 3;
  struct sc_result result = chain_measure(&chain);
  ck_assert_int_eq(result.carrier.present, SC_YES);
  ck_assert_double_eq_tol(result.carrier.offset_hz.value, 60e3, 1);
  ck_assert_double_eq_tol(result.carrier.level_dbfs.value, 20 * log10(0.5), 0.05);
  ck_assert_double_eq_tol(result.capture.left_out_s, 2.3, 0.2);
  check_pilot(&result);
  sc_result_clear(&result);
}
END_TEST

/* Another signal that comes later and is weaker, or not so much stronger, leaves the first. */
START_TEST(a_transmitter_keeps_its_place)
{
  static const double levels[] = {0.1, 0.5, 1.2};
  struct chain chain = stereo(), other = stereo();
  chain.signal.rate_hz = other.signal.rate_hz = 1e6;
  other.signal.carriers[other.signal.carrier_count++] =
      (struct sc_signal_tone){-300e3, levels[_i], 0};
  chain.seconds = other.seconds = 2.5;
  struct sc_source_info info = chain_info(&chain);
  struct sc_analysis *analysis;
  struct sc_result result;
  ck_assert_int_eq(sc_analysis_create(&info, &chain.analysis, &analysis, NULL), SC_OK);
  chain_feed(&chain, analysis);
  chain_feed(&other, analysis);
  ck_assert_int_eq(sc_analysis_result(analysis, &result), SC_OK);
  ck_assert_double_eq_tol(result.carrier.offset_hz.value, 60e3, 1);
  ck_assert_double_lt(result.capture.left_out_s, 0.1);
  sc_result_clear(&result);
  sc_analysis_destroy(analysis);
}
END_TEST

/* An afternoon's capture that is empty for the most part: what is measured is the transmitter, with
 * its channel found or given, or beside a receiver's direct current that has all of the pauses. */
START_TEST(pauses_are_left_out)
{
  struct chain chain = stereo();
  chain.quiet_s = 1.3;
  chain.seconds = 1.2;
  chain.times = 3;
  chain.analysis.channel_hz = _i == 1 ? 60e3 : (double)NAN;
  if (_i == 2)
    chain.signal.carriers[chain.signal.carrier_count++] = (struct sc_signal_tone){0, 0.05, 0};
  struct sc_result result = chain_measure(&chain);
  ck_assert_int_eq(result.carrier.present, SC_YES);
  check_pilot(&result);
  ck_assert_double_eq_tol(result.carrier.level_dbfs.value, 20 * log10(0.5), 0.02);
  ck_assert_double_lt(result.deviation.peak_khz.value, 25); /* silence has ten times that */
  ck_assert_double_eq_tol(result.capture.left_out_s, 3 * 1.3, 0.2);
  bool said = false;
  for (size_t i = 0; i < result.warnings.count; i++)
    said |= strstr(result.warnings.text[i], "the rest is left out") != NULL;
  ck_assert(said);
  sc_result_clear(&result);
}
END_TEST

START_TEST(asking_early_changes_nothing)
{
  struct chain chain = stereo();
  struct sc_source_info info = chain_info(&chain);
  struct sc_analysis *analysis;
  struct sc_result early, late, plain = chain_measure(&chain);
  ck_assert_int_eq(sc_analysis_create(&info, &chain.analysis, &analysis, NULL), SC_OK);
  ck_assert_int_eq(sc_analysis_result(analysis, &early), SC_OK);
  ck_assert_ptr_nonnull(early.unmeasured);
  sc_result_clear(&early);
  chain_feed(&chain, analysis);
  ck_assert_int_eq(sc_analysis_result(analysis, &early), SC_OK);
  ck_assert_int_eq(sc_analysis_result(analysis, &late), SC_OK);
  ck_assert_double_eq_tol(late.pilot.frequency_hz.value, plain.pilot.frequency_hz.value, 1e-9);
  ck_assert_double_eq_tol(late.pilot.frequency_hz.value, early.pilot.frequency_hz.value, 1e-9);
  ck_assert_uint_eq(late.air_lines.count, plain.air_lines.count);
  sc_result_clear(&early);
  sc_result_clear(&late);
  sc_result_clear(&plain);
  sc_analysis_destroy(analysis);
}
END_TEST

/* Of sums that are kept in other portions the last digits differ. */
static void check_like_lines(const struct sc_line_list *list, const struct sc_line_list *other)
{
  ck_assert_uint_eq(list->count, other->count);
  for (size_t i = 0; i < list->count; i++) {
    const struct sc_line *a = &list->lines[i], *b = &other->lines[i];
    ck_assert_double_eq_tol(a->offset_hz.value, b->offset_hz.value, 1e-4);
    ck_assert_double_eq_tol(a->tone.level_db.value, b->tone.level_db.value, 1e-6);
    ck_assert_int_eq(a->verdict, b->verdict);
  }
}

static struct chain two_tones(void)
{
  struct chain chain = stereo();
  chain.signal.cnr_db = 40;
  chain.seconds = 4.5;
  chain_add_audio(&chain, 1000, 20, 0);
  chain_add_audio(&chain, 1700, 0, 11);
  return chain;
}

static struct sc_result unasked;

static void measure_unasked(void)
{
  const struct chain chain = two_tones();
  unasked = chain_measure(&chain);
  ck_assert_uint_gt(unasked.air_lines.count, 50);
}

static void clear_unasked(void)
{
  sc_result_clear(&unasked);
}

/* _i: how often. The first comes before the channel is surely known, further ones while lines are
 * followed through the records, at frames that belong to no record. */
START_TEST(asking_on_the_way_changes_nothing)
{
  struct chain asked = two_tones();
  asked.asked_every = 70001 * (1 + 3 * (uint64_t)_i);
  struct sc_result result = chain_measure(&asked);
  ck_assert_double_eq_tol(result.carrier.offset_hz.value, unasked.carrier.offset_hz.value, 1e-6);
  check_like_lines(&unasked.air_lines, &result.air_lines);
  check_like_lines(&unasked.composite_lines, &result.composite_lines);
  sc_result_clear(&result);
}
END_TEST

START_TEST(samples_of_other_settings_are_left_out)
{
  struct chain chain = stereo();
  struct sc_source_info info = chain_info(&chain), other = info;
  other.centre_hz = 1e6;
  struct sc_analysis *analysis;
  struct sc_result result;
  ck_assert_int_eq(sc_analysis_create(&info, &chain.analysis, &analysis, NULL), SC_OK);
  float samples[200] = {0};
  struct sc_block block = {.frames = 100, .channels = 2, .samples = samples, .info = &other};
  ck_assert_int_eq(sc_analysis_feed(analysis, &block), SC_OK);
  chain_feed(&chain, analysis);
  ck_assert_int_eq(sc_analysis_result(analysis, &result), SC_OK);
  ck_assert_uint_eq(result.capture.frames, 400000);
  check_pilot(&result);
  sc_result_clear(&result);
  sc_analysis_destroy(analysis);
}
END_TEST

START_TEST(wrong_blocks_and_settings_are_refused)
{
  struct chain chain = stereo();
  struct sc_source_info info = chain_info(&chain);
  struct sc_analysis *analysis;
  struct sc_message message = {""};
  ck_assert_int_eq(sc_analysis_create(&info, &chain.analysis, &analysis, NULL), SC_OK);
  float sample = 0;
  struct sc_block block = {.frames = 1, .channels = 1, .samples = &sample, .info = &info};
  ck_assert_int_eq(sc_analysis_feed(analysis, &block), SC_BAD_ARGUMENT);
  sc_analysis_destroy(analysis);
  info.kind = SC_KIND_UNDECIDED;
  ck_assert_int_eq(sc_analysis_create(&info, &chain.analysis, &analysis, &message),
                   SC_BAD_ARGUMENT);
  ck_assert_ptr_null(analysis);
  ck_assert_uint_gt(strlen(message.text), 10);
  sc_analysis_destroy(NULL);
}
END_TEST

static void check_told(struct sc_analysis *analysis, const char *why)
{
  struct sc_result result;
  ck_assert_int_eq(sc_analysis_result(analysis, &result), SC_OK);
  ck_assert_ptr_nonnull(result.unmeasured);
  ck_assert_msg(strstr(result.unmeasured, why) != NULL, "%s", result.unmeasured);
  ck_assert_int_eq(result.carrier.present, SC_UNKNOWN);
  ck_assert_ptr_nonnull(strstr(result.account, why));
  sc_result_clear(&result);
}

static void feed_turning(struct sc_analysis *analysis, size_t frames, uint64_t invalid)
{
  static float samples[2 * 1024];
  const struct sc_block block = {
      .frames = frames, .channels = 2, .samples = samples, .invalid = invalid};
  for (size_t i = 0; i < frames; i++) {
    samples[2 * i] = invalid > 0 ? 0 : (float)(0.5 * cos(0.3 * (double)i));
    samples[2 * i + 1] = invalid > 0 ? 0 : (float)(0.5 * sin(0.3 * (double)i));
  }
  ck_assert_int_eq(sc_analysis_feed(analysis, &block), SC_OK);
}

static struct sc_analysis *analysis_of_iq(double rate_hz)
{
  const struct sc_source_info info = {.kind = SC_KIND_IQ, .channels = 2, .sample_rate_hz = rate_hz};
  const struct sc_analysis_settings settings = {.channel_hz = (double)NAN};
  struct sc_analysis *analysis;
  ck_assert_int_eq(sc_analysis_create(&info, &settings, &analysis, NULL), SC_OK);
  return analysis;
}

START_TEST(samples_that_are_no_numbers_are_told)
{
  struct sc_analysis *analysis = analysis_of_iq(192e3);
  for (int n = 0; n < 200; n++)
    feed_turning(analysis, 1024, 1024);
  check_told(analysis, "every sample is NaN, infinite or absurd");
  sc_analysis_destroy(analysis);
}
END_TEST

START_TEST(a_clean_carrier_that_is_too_short_is_no_noise)
{
  struct sc_analysis *analysis = analysis_of_iq(500e3);
  feed_turning(analysis, 1000, 0);
  check_told(analysis, "less than 10 ms");
  sc_analysis_destroy(analysis);
}
END_TEST

/* _i: the kind. Nothing of a signal can be told from a value that stays, whatever it is; the
 * smallest change ends that. */
START_TEST(samples_that_never_change_tell_nothing)
{
  static const enum sc_kind kinds[] = {SC_KIND_IQ, SC_KIND_COMPOSITE, SC_KIND_AUDIO};
  const struct sc_source_info info = {
      .kind = kinds[_i], .channels = _i == 1 ? 1 : 2, .sample_rate_hz = 192e3};
  const struct sc_analysis_settings settings = {.channel_hz = (double)NAN};
  static float samples[2 * 1024];
  struct sc_block block = {.frames = 1024, .channels = info.channels, .samples = samples};
  struct sc_analysis *analysis;
  struct sc_result result;
  for (size_t i = 0; i < 2 * 1024; i++)
    samples[i] = -1;
  ck_assert_int_eq(sc_analysis_create(&info, &settings, &analysis, NULL), SC_OK);
  check_told(analysis, "holds no samples");
  for (int n = 0; n < 200; n++)
    ck_assert_int_eq(sc_analysis_feed(analysis, &block), SC_OK);
  check_told(analysis, "the samples never change");
  samples[block.frames * info.channels - 1] = 0.9999f;
  ck_assert_int_eq(sc_analysis_feed(analysis, &block), SC_OK);
  ck_assert_int_eq(sc_analysis_result(analysis, &result), SC_OK);
  ck_assert(result.unmeasured == NULL || strstr(result.unmeasured, "never change") == NULL);
  sc_result_clear(&result);
  sc_analysis_destroy(analysis);
}
END_TEST

START_TEST(samples_of_other_settings_alone_are_told)
{
  struct chain chain = stereo();
  struct sc_source_info info = chain_info(&chain), other = info;
  other.centre_hz = 1e6;
  struct sc_analysis *analysis;
  float samples[200] = {0};
  struct sc_block block = {.frames = 100, .channels = 2, .samples = samples, .info = &other};
  ck_assert_int_eq(sc_analysis_create(&info, &chain.analysis, &analysis, NULL), SC_OK);
  ck_assert_int_eq(sc_analysis_feed(analysis, &block), SC_OK);
  check_told(analysis, "another tuned frequency");
  sc_analysis_destroy(analysis);
}
END_TEST

Suite *stream_suite(void)
{
  Suite *suite = suite_create("stream");
  TCase *streams = tcase_create("streams");
  tcase_add_test(streams, the_length_of_blocks_does_not_matter);
  tcase_add_loop_test(streams, threads_change_nothing, 0, 2);
  tcase_add_test(streams, a_gap_spoils_nothing);
  tcase_add_loop_test(streams, an_unknown_length_is_told, 0, (int)(3 / support_stride(3)));
  tcase_add_test(streams, a_gap_in_the_first_second_too);
  tcase_add_test(streams, a_transmitter_keyed_late_is_found);
  tcase_add_loop_test(streams, a_transmitter_takes_the_place_of_what_was_there, 0,
                      (int)(2 / support_stride(2)));
  tcase_add_loop_test(streams, a_transmitter_keeps_its_place, 0, (int)(3 / support_stride(3)));
  tcase_add_loop_test(streams, pauses_are_left_out, 0, (int)(3 / support_stride(3)));
  tcase_add_test(streams, asking_early_changes_nothing);
  tcase_add_test(streams, samples_of_other_settings_are_left_out);
  tcase_add_loop_test(streams, samples_that_never_change_tell_nothing, 0, 3);
  tcase_add_test(streams, samples_that_are_no_numbers_are_told);
  tcase_add_test(streams, a_clean_carrier_that_is_too_short_is_no_noise);
  tcase_add_test(streams, samples_of_other_settings_alone_are_told);
  tcase_add_test(streams, wrong_blocks_and_settings_are_refused);
  suite_add_tcase(suite, streams);
  TCase *asked = tcase_create("asked");
  tcase_add_unchecked_fixture(asked, measure_unasked, clear_unasked);
  tcase_add_loop_test(asked, asking_on_the_way_changes_nothing, 0, (int)(2 / support_stride(2)));
  suite_add_tcase(suite, asked);
  return suite;
}
