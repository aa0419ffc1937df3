/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What the first sentence says of results made by hand. */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "account/account.h"
#include "account/suites.h"

/* _i: what comes back in the right channel is as sent, inverted, or shifted by a filter; then the
 * same where the order is not known. */
START_TEST(an_inverted_channel_is_named)
{
  static const double phase_deg[] = {0.3, 180, 60, -179.6};
  static const bool inverted[] = {false, true, false, true};
  static struct sc_result result;
  result = (struct sc_result){.composite_why = "audio holds no composite"};
  result.capture.info.kind = SC_KIND_AUDIO;
  result.audio.sequence = SC_YES;
  result.audio.order = _i < 4 ? SC_ORDER_NORMAL : SC_ORDER_UNKNOWN;
  result.audio.phase_deg = sc_measured(phase_deg[_i % 4], 0.01);
  result.air_lines.why = "audio holds no carrier";
  account_sentence(&result);
  ck_assert_ptr_nonnull(strstr(result.account, "the test audio is in it"));
  ck_assert_msg((strstr(result.account, "one channel is inverted") != NULL) == inverted[_i % 4],
                "%s", result.account);
  result.audio.phase_deg = sc_not_measured("noise");
  account_sentence(&result);
  ck_assert_ptr_null(strstr(result.account, "inverted"));
}
END_TEST

/* Samples of another type fill the range as well, which tells nothing of the gain. */
START_TEST(a_wrong_sample_type_comes_first)
{
  static struct sc_result result;
  result = (struct sc_result){.composite_why = "there is no carrier"};
  result.capture.info.kind = SC_KIND_IQ;
  result.capture.frames = 100;
  result.capture.clipped = 50;
  account_sentence(&result);
  ck_assert_int_eq(strncmp(result.account, "Overloaded: 50 %", 16), 0);
  snprintf(result.capture.info.likely_type, sizeof result.capture.info.likely_type, "cu8");
  account_sentence(&result);
  ck_assert_int_eq(strncmp(result.account, "The samples look like cu8 and", 29), 0);
  ck_assert_ptr_nonnull(strstr(result.account, "--type cu8"));
  ck_assert_ptr_null(strstr(result.account, "Overloaded"));
}
END_TEST

START_TEST(a_refused_baseline_is_named)
{
  static struct sc_result result;
  result = (struct sc_result){.composite_why = "there is no carrier"};
  result.capture.info.kind = SC_KIND_IQ;
  account_sentence(&result);
  ck_assert_ptr_null(strstr(result.account, "baseline"));
  result.baseline_refused = true;
  account_sentence(&result);
  ck_assert_ptr_nonnull(strstr(result.account, "The baseline is not used"));
}
END_TEST

/* Tried with a tone of 30 kHz beside the pilot and records of 1.09 s: of 541 lines at 0.6 Hz/s 541
 * are found, at 1 Hz/s nine. */
START_TEST(a_drift_that_blurs_is_named)
{
  static struct sc_result result;
  result = (struct sc_result){.composite_why = "not wanted"};
  result.capture.info.kind = SC_KIND_IQ;
  result.carrier.present = SC_YES;
  result.carrier.drifts = SC_YES;
  result.carrier.drift_hz_s = sc_measured(-1.2, 0.1);
  result.air_lines.record_s = 1;
  account_sentence(&result);
  ck_assert_ptr_nonnull(strstr(result.account, "drifts by -1.2 Hz/s"));
  result.carrier.drift_hz_s = sc_measured(-0.8, 0.1);
  account_sentence(&result);
  ck_assert_ptr_null(strstr(result.account, "drifts"));
  result.carrier.drift_hz_s = sc_measured(-20, 15);
  result.carrier.drifts = SC_NO;
  account_sentence(&result);
  ck_assert_ptr_null(strstr(result.account, "drifts"));
}
END_TEST

/* Within so much and how often, and what it does to the lines; a straight drift is then no more. */
START_TEST(a_wander_is_named)
{
  static struct sc_result result;
  result = (struct sc_result){.composite_why = "not wanted"};
  result.capture.info.kind = SC_KIND_IQ;
  result.carrier.present = result.carrier.wanders = result.carrier.drifts = SC_YES;
  result.carrier.wander_span_hz = sc_measured(400, 1);
  result.carrier.wander_rms_hz = sc_measured(141, 1);
  result.carrier.wander_period_s = sc_measured(5, 0.01);
  result.air_lines.record_s = 1;
  result.air_lines.followed = true;
  account_sentence(&result);
  ck_assert_ptr_nonnull(strstr(result.account, "wanders within 400 Hz, to and fro in 5 s; its "
                                               "lines are followed"));
  ck_assert_ptr_null(strstr(result.account, "drifts"));
  result.air_lines.followed = false;
  result.carrier.wander_period_s = sc_not_measured("a random walk");
  account_sentence(&result);
  ck_assert_ptr_nonnull(strstr(result.account, "wanders within 400 Hz; its lines are blurred"));
  result.carrier.wander_rms_hz = sc_measured(0.3, 0.1);
  account_sentence(&result);
  ck_assert_ptr_null(strstr(result.account, "its lines"));
}
END_TEST

START_TEST(a_composite_that_is_cut_off_is_named)
{
  static struct sc_result result;
  result = (struct sc_result){.composite_why = NULL};
  result.capture.info.kind = SC_KIND_COMPOSITE;
  result.deviation.cut_off_khz = sc_measured(60.1, 0.9);
  account_sentence(&result);
  ck_assert_ptr_nonnull(strstr(result.account, "cut off at 60 kHz"));
  result.deviation.cut_off_khz = sc_not_measured("nothing shows");
  account_sentence(&result);
  ck_assert_ptr_null(strstr(result.account, "cut off"));
}
END_TEST

static void recorded(struct sc_result *result, double left_dbfs, double right_dbfs)
{
  *result = (struct sc_result){.composite_why = "audio holds no composite"};
  result->capture.info.kind = SC_KIND_AUDIO;
  result->capture.info.channels = 2;
  result->audio.sequence = SC_NO;
  result->audio.channel[0].rms_dbfs = sc_measured(left_dbfs, (double)NAN);
  result->audio.channel[1].rms_dbfs = sc_measured(right_dbfs, (double)NAN);
  for (int c = 0; c < 2; c++) {
    result->audio.channel[c].peak_dbfs = sc_measured(-1, (double)NAN);
    result->audio.channel[c].flat_percent = sc_not_measured("no flat tops");
  }
}

START_TEST(a_dead_channel_and_silence_are_named)
{
  static struct sc_result result;
  recorded(&result, -20, -62);
  account_sentence(&result);
  ck_assert_ptr_nonnull(strstr(result.account, "the right channel is 42.0 dB below the other"));
  recorded(&result, -20, -24);
  account_sentence(&result);
  ck_assert_ptr_null(strstr(result.account, "below the other"));
  result.audio.channel[0].rms_dbfs = sc_not_measured("there is nothing of it");
  account_sentence(&result);
  ck_assert_ptr_nonnull(strstr(result.account, "the left channel is dead"));
  recorded(&result, -83, -85);
  account_sentence(&result);
  ck_assert_ptr_nonnull(strstr(result.account, "it is silent but for -83.0 dBFS"));
}
END_TEST

START_TEST(a_clipped_recording_is_named)
{
  static struct sc_result result;
  recorded(&result, -20, -21);
  result.audio.channel[1].flat_percent = sc_measured(1.5, (double)NAN);
  account_sentence(&result);
  ck_assert_ptr_nonnull(strstr(result.account, "the right channel is clipped: 1.5 %"));
  ck_assert_ptr_null(strstr(result.account, "the left channel"));
}
END_TEST

static void add_audio_line(struct sc_result *result, double hz, double level_dbfs)
{
  result->composite_lines.lines[result->composite_lines.count++] = (struct sc_line){
      .offset_hz = sc_measured(hz, 1e-3), .level_dbfs = sc_measured(level_dbfs, 0.1)};
}

/* 10 lg(1e-4 + 1e-5) is -39.6. 230 Hz is no multiple. */
START_TEST(hum_in_a_recording_is_named)
{
  static struct sc_result result;
  static struct sc_line lines[4];
  recorded(&result, -20, -21);
  result.composite_lines = (struct sc_line_list){.lines = lines, .record_s = 1, .resolution_hz = 1};
  add_audio_line(&result, 50.03, -40);
  add_audio_line(&result, 150.09, -50);
  add_audio_line(&result, 230, -40);
  account_sentence(&result);
  ck_assert_msg(strstr(result.account, "2 lines at multiples of 50.03 Hz as of mains hum, "
                                       "-39.6 dBFS together") != NULL,
                "%s", result.account);
  result.composite_lines.count = 1;
  account_sentence(&result);
  ck_assert_ptr_nonnull(strstr(result.account, "mains hum if it is no tone of the programme"));
  lines[0].offset_hz = sc_measured(52, 1e-3); /* the mains keep to 1 % */
  account_sentence(&result);
  ck_assert_ptr_null(strstr(result.account, "hum"));
}
END_TEST

static void add_composite_line(struct sc_result *result, double hz, double khz)
{
  result->composite_lines.lines[result->composite_lines.count++] =
      (struct sc_line){.offset_hz = sc_measured(hz, 1e-3),
                       .deviation_khz = sc_measured(khz, 1e-4),
                       .tone.level_db = sc_measured(20 * log10(khz), 1e-3)};
}

/* 48 kS/s stated of 44.1: 19 kHz come at 20680.3, 38 kHz and 1.7 kHz beside at 41360.5 and 1850.3.
 * _i 1: no tones beside it; 2: a tone that is no pilot's; 3: two of them; 4: with a pilot. */
START_TEST(a_wrong_rate_is_hinted_at)
{
  static struct sc_result result;
  static struct sc_line lines[8];
  const double scale = 48 / 44.1;
  result = (struct sc_result){.composite_why = NULL};
  result.capture.info.kind = SC_KIND_IQ;
  result.pilot.present = _i == 4 ? SC_YES : SC_NO;
  result.composite_lines = (struct sc_line_list){.lines = lines, .record_s = 1, .resolution_hz = 1};
  add_composite_line(&result, 1700 * scale, 10);
  add_composite_line(&result, 19000 * scale, _i == 2 ? 0.3 : 6.75);
  if (_i == 0) {
    add_composite_line(&result, 36300 * scale, 3);
    add_composite_line(&result, 39700 * scale, 3);
  }
  if (_i == 3)
    add_composite_line(&result, 17000, 5);
  account_sentence(&result);
  const char *hint = strstr(result.account, "is stated 1.0884 times as high");
  ck_assert_msg((hint != NULL) == (_i < 2), "%s", result.account);
  ck_assert_int_eq(strstr(result.account, "pairs about twice that") != NULL, _i == 0);
}
END_TEST

/* No pilot, but a tone of its level beside a programme's. */
static const char *sentence_of_tone(double tone_hz)
{
  static struct sc_result result;
  static struct sc_line lines[8];
  result = (struct sc_result){.composite_why = NULL};
  result.capture.info.kind = SC_KIND_IQ;
  result.pilot.present = SC_NO;
  result.composite_lines = (struct sc_line_list){.lines = lines, .record_s = 1, .resolution_hz = 1};
  add_composite_line(&result, 1700, 10);
  add_composite_line(&result, tone_hz, 6.75);
  account_sentence(&result);
  return result.account;
}

/* A pilot whose level is turned while it is captured is no steady one. */
START_TEST(the_pilots_own_place_needs_no_other_rate)
{
  const char *told = sentence_of_tone(19000.4);
  ck_assert_msg(strstr(told, "sample rate") == NULL, "%s", told);
}
END_TEST

/* 100 Hz below its place, as an encoder's oscillator may be: the rate is not alone to blame. */
START_TEST(an_encoder_may_be_off)
{
  const char *told = sentence_of_tone(_i == 0 ? 18900 : 18700);
  const char *encoder = "the pilot if the encoder is off by 0.53 %, or if the sample rate";
  ck_assert_msg((strstr(told, encoder) != NULL) == (_i == 0), "%s", told);
  ck_assert_ptr_nonnull(strstr(told, "if the sample rate is stated 0.9"));
}
END_TEST

/* A file of two channels read as one of twice the rate, 1.024 MS/s as 2.4, and the other ways.
 * Frequencies and deviations are wrong by one factor. Alone a tone at 9.5 kHz may be the
 * programme's, and what deviates otherwise than a pilot at that scale is none. */
START_TEST(a_rate_of_another_setting_is_hinted_at)
{
  static const struct {
    double scale, pilot_khz;
    bool pairs, hint;
  } ways[] = {{2, 6.75, true, true},           {2, 6.75, false, true},
              {2, 0.5, true, false},           {0.5, 6.75, true, true},
              {0.5, 6.75, false, false},       {0.5, 0.5, true, false},
              {0.5, 30, true, false},          {2.34375, 6.75, true, true},
              {2.34375, 6.75, false, true},    {2.34375, 0.5, true, false},
              {1 / 2.34375, 6.75, true, true}, {1 / 2.34375, 6.75, false, false}};
  static struct sc_result result;
  static struct sc_line lines[8];
  const double scale = ways[_i].scale;
  result = (struct sc_result){.composite_why = NULL};
  result.capture.info.kind = SC_KIND_IQ;
  result.pilot.present = SC_NO;
  result.composite_lines = (struct sc_line_list){.lines = lines, .record_s = 1, .resolution_hz = 1};
  add_composite_line(&result, 1700 * scale, 10 * scale);
  add_composite_line(&result, 19000.4 * scale, ways[_i].pilot_khz * scale);
  if (ways[_i].pairs) {
    add_composite_line(&result, 36300.8 * scale, 3);
    add_composite_line(&result, 39700.8 * scale, 3);
  }
  account_sentence(&result);
  char hint[40];
  snprintf(hint, sizeof hint, "is stated %.5g times as high", scale * 19000.4 / 19000);
  ck_assert_msg((strstr(result.account, hint) != NULL) == ways[_i].hint, "%s", result.account);
}
END_TEST

Suite *sentence_suite(void)
{
  Suite *suite = suite_create("sentence");
  TCase *sentences = tcase_create("sentences");
  tcase_add_loop_test(sentences, an_inverted_channel_is_named, 0, 8);
  tcase_add_test(sentences, the_pilots_own_place_needs_no_other_rate);
  tcase_add_loop_test(sentences, an_encoder_may_be_off, 0, 2);
  tcase_add_test(sentences, a_wrong_sample_type_comes_first);
  tcase_add_test(sentences, a_refused_baseline_is_named);
  tcase_add_test(sentences, a_drift_that_blurs_is_named);
  tcase_add_test(sentences, a_wander_is_named);
  tcase_add_test(sentences, a_composite_that_is_cut_off_is_named);
  tcase_add_test(sentences, a_dead_channel_and_silence_are_named);
  tcase_add_test(sentences, a_clipped_recording_is_named);
  tcase_add_test(sentences, hum_in_a_recording_is_named);
  tcase_add_loop_test(sentences, a_wrong_rate_is_hinted_at, 0, 5);
  tcase_add_loop_test(sentences, a_rate_of_another_setting_is_hinted_at, 0, 12);
  suite_add_tcase(suite, sentences);
  return suite;
}
