/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The judgement of recordings whose way from the test audio on is known. */
#include <config.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include <sidecomb/preemphasis.h>

#include "dsp/weighting.h"
#include "measure/audio_radio.h"
#include "measure/suites.h"
#include "support/allocation.h"
#include "support/random.h"
#include "support/support.h"

#define TWO_PI 6.283185307179586476925286766559
/* Enough of the sequence for levels, order and separation at the marked tones. */
static const double first_parts_s = 19;
/* And for the walk; and for the combs. */
static const double walk_parts_s = 37.2, comb_parts_s = 49.2, filter_s = 1;
/* What the task asks for. */
static const double separation_tolerance_db = 0.3;
/* The line-up tone as sent. */
static const double line_up_dbfs = -6, line_up_hz = 997;

static double db(double amplitude)
{
  return 20 * log10(amplitude);
}

static void check_quantity(const struct sc_quantity *quantity, double wanted, double tolerance)
{
  ck_assert_msg(quantity->why == NULL, "not measured: %s", quantity->why);
  ck_assert_double_eq_tol(quantity->value, wanted, tolerance);
}

/* Within so much and four of its own standard uncertainties. */
static void check_estimate(const struct sc_quantity *quantity, double wanted, double slack)
{
  ck_assert_msg(quantity->why == NULL, "not measured: %s", quantity->why);
  ck_assert(isfinite(quantity->uncertainty));
  ck_assert_double_eq_tol(quantity->value, wanted, 4 * quantity->uncertainty + slack);
}

static void check_absent(const struct sc_quantity *quantity)
{
  ck_assert_ptr_nonnull(quantity->why);
  ck_assert(isnan(quantity->value));
}

/* Each of them takes a minute of sound; under sanitizers fewer do. */
#ifdef SC_SANITIZED
enum { SEPARATIONS_FROM = 2, SEPARATIONS_TO = 3, MONO_RADIOS = 1 };
#else
enum { SEPARATIONS_FROM = 0, SEPARATIONS_TO = 4, MONO_RADIOS = 2 };
#endif

/* ---- separation and order */

START_TEST(separations_are_measured)
{
  static const double separations[] = {24, 40, 50, 60};
  const double leak = pow(10, -separations[_i] / 20);
  const struct radio radio = {
      .rate_hz = 48000, .until_s = first_parts_s, .gain = {{1, leak}, {leak, 1}}, .noise = 3e-4};
  const struct sc_audio audio = radio_judge("separations_are_measured", &radio);
  ck_assert_int_eq(audio.order, SC_ORDER_NORMAL);
  check_quantity(&audio.separation_left_to_right_db, separations[_i], separation_tolerance_db);
  check_quantity(&audio.separation_right_to_left_db, separations[_i], separation_tolerance_db);
  check_estimate(&audio.separation_left_to_right_db, separations[_i], 0);
  check_estimate(&audio.separation_right_to_left_db, separations[_i], 0);
  ck_assert_double_gt(audio.separation_limit_db.value, separations[_i] + 6);
}
END_TEST

/* A silent channel of n bits is zero: half a step below it nothing is seen (2^n is the full scale's
 * peak over half a step, which bounds all separations of a tone of full scale). _i 1: noise of a
 * third of a step and more lets less be seen than the step alone. */
START_TEST(separation_is_seen_down_to_the_rounding)
{
  enum { BITS = 16 };
  const struct radio radio = {.rate_hz = 48000,
                              .until_s = first_parts_s,
                              .bits = BITS,
                              .noise = _i == 1 ? exp2(1 - BITS) : 0};
  const struct sc_audio audio = radio_judge("separation_is_seen_down_to_the_rounding", &radio);
  ck_assert_ptr_nonnull(audio.separation_left_to_right_db.why);
  ck_assert_double_le(audio.separation_limit_db.value,
                      _i == 1 ? 10 * log10(48000 * 3 * 1.5 * exp2(2 * BITS) / 20)
                              : 20 * log10(exp2(BITS)));
  ck_assert_double_ge(audio.separation_limit_db.value, 80);
}
END_TEST

/* S too weak by a gain error: separations worked out in closed form, (1 + g) / (1 - g). */
START_TEST(a_weak_difference_costs_separation)
{
  static const double errors[][2] = {{1, 24.79}, {0.1, 44.78}}; /* dB, dB */
  const double g = pow(10, -errors[_i][0] / 20);
  const struct radio radio = {.rate_hz = 44100,
                              .until_s = first_parts_s,
                              .gain = {{(1 + g) / 2, (1 - g) / 2}, {(1 - g) / 2, (1 + g) / 2}}};
  const struct sc_audio audio = radio_judge("a_weak_difference", &radio);
  check_quantity(&audio.separation_left_to_right_db, errors[_i][1], 0.02);
  check_quantity(&audio.separation_right_to_left_db, errors[_i][1], 0.02);
}
END_TEST

/* 0.02 % of clock, 10 s of other sound before and after, noise, different separations: all of it
 * judged, each comb tone's separation too. */
START_TEST(a_whole_recording_is_judged)
{
  const struct radio radio = {.rate_hz = 48000,
                              .clock_ppm = 200,
                              .before_s = 10,
                              .after_s = 10,
                              .gain = {{0.8, 0.008}, {0.04, 0.8}},
                              .noise = 1e-4};
  const struct sc_audio audio = radio_judge("a_whole_recording", &radio);
  ck_assert_int_eq(audio.sequence, SC_YES);
  ck_assert_msg(audio.why == NULL, "%s", audio.why);
  ck_assert_uint_eq(audio.sequences, 1);
  check_estimate(&audio.sequence_start_s, 10, 0);
  check_estimate(&audio.clock_error_ppm, 200, 0.01);
  check_estimate(&audio.slip_us, 0, 0);
  ck_assert_int_eq(audio.order, SC_ORDER_NORMAL);
  check_quantity(&audio.separation_left_to_right_db, db(0.8 / 0.04), separation_tolerance_db);
  check_quantity(&audio.separation_right_to_left_db, db(0.8 / 0.008), separation_tolerance_db);
  check_estimate(&audio.balance_db, db(0.808 / 0.84), 0);
  check_estimate(&audio.phase_deg, 0, 0);
  for (int i = 0; i < SC_AUDIO_POINTS; i++) {
    const struct sc_audio_point *point = &audio.points[i];
    check_quantity(&point->separation_db, point->right ? 40 : db(20), separation_tolerance_db);
    check_quantity(&point->response_db, 0, 0.02);
    ck_assert(i == 0 || point->frequency_hz > audio.points[i - 1].frequency_hz);
  }
  ck_assert_int_eq(audio.law, SC_LAW_FLAT);
  check_quantity(&audio.comb_compression_db, 0, 0.005);
  for (int c = 0; c < 2; c++) {
    check_estimate(&audio.channel[c].frequency_hz, line_up_hz / 1.0002, 1e-6);
    check_estimate(&audio.channel[c].level_dbfs, line_up_dbfs + db(c ? 0.84 : 0.808), 0.001);
    check_estimate(&audio.channel[c].compression_db, 0, 0.001);
  }
  /* L = 0.8 u + 0.008 u*: between (1 + r) and (1 - r); the right leaks most */
  check_quantity(&audio.walk_ripple_db, db(1.05 / 0.95), 0.01);
  check_quantity(&audio.walk_null_db, db((0.84 + 0.808) / (0.84 - 0.808)), 0.1);
}
END_TEST

/* Without noise the pauses are zeros, in which the search's own rounding is all that there is:
 * chirps may not be seen in it. */
START_TEST(silence_without_noise_holds_no_chirps)
{
  const struct radio radio = {
      .rate_hz = 48000, .after_s = 2, .bits = 16, .weighting = DSP_WEIGHTING_DEEMPHASIS_50};
  const struct sc_audio audio = radio_judge("silence_without_noise_holds_no_chirps", &radio);
  ck_assert_msg(audio.why == NULL, "%s", audio.why);
  ck_assert_int_eq(audio.sequence, SC_YES);
  ck_assert_uint_eq(audio.sequences, 1);
  ck_assert_int_eq(audio.law, SC_LAW_DEEMPHASIS_50);
}
END_TEST

START_TEST(swapped_channels_are_seen)
{
  const struct radio radio = {.rate_hz = 32000,
                              .until_s = comb_parts_s,
                              .clock_ppm = -200,
                              .gain = {{0.02, 1}, {1, 0.02}},
                              .noise = 1e-4};
  const struct sc_audio audio = radio_judge("swapped_channels", &radio);
  ck_assert_int_eq(audio.order, SC_ORDER_SWAPPED);
  ck_assert_str_eq(sc_channel_order_name(audio.order), "swapped");
  check_quantity(&audio.separation_left_to_right_db, db(50), separation_tolerance_db);
  check_quantity(&audio.separation_right_to_left_db, db(50), separation_tolerance_db);
  for (int i = 0; i < SC_AUDIO_POINTS; i++)
    check_quantity(&audio.points[i].separation_db, db(50), separation_tolerance_db);
  check_quantity(&audio.walk_phase_deg, 2 * 360 / TWO_PI * 0.02, 0.2);
  check_estimate(&audio.clock_error_ppm, -200, 0.01);
}
END_TEST

/* Half the sum on both channels: the walk falls to nothing at 180 degrees. The identity
 * M = |cos(phi/2)|; with amplitudes a and b its bottom is (a - b) / (a + b). */
START_TEST(a_mono_radio_follows_the_law_of_the_walk)
{
  const double weak = _i == 0 ? 1 : 0.9;
  const struct radio radio = {.rate_hz = 44100,
                              .until_s = walk_parts_s,
                              .gain = {{0.5, 0.5 * weak}, {0.5, 0.5 * weak}},
                              .noise = 1e-5,
                              .same_noise = true};
  const struct sc_audio audio = radio_judge("a_mono_radio", &radio);
  ck_assert_int_eq(audio.order, SC_ORDER_IDENTICAL);
  check_quantity(&audio.separation_left_to_right_db, 0, 0.001);
  check_quantity(&audio.walk_null_deg, 180, 0.1);
  if (_i == 0) {
    check_absent(&audio.walk_null_db);
    ck_assert_double_gt(audio.walk_null_limit_db.value, 60);
    ck_assert_double_lt(audio.walk_law_db.value, 0.05);
  } else {
    check_quantity(&audio.walk_null_db, db(1.9 / 0.1), 0.1);
    ck_assert_double_gt(audio.walk_law_db.value, 0.5);
  }
  check_absent(&audio.walk_ripple_db);
  check_quantity(&audio.correlation, 1, 1e-6);
}
END_TEST

START_TEST(one_channel_is_no_pair)
{
  const struct radio radio = {
      .rate_hz = 32000, .until_s = comb_parts_s, .channels = 1, .noise = 1e-5};
  const struct sc_audio audio = radio_judge("one_channel", &radio);
  ck_assert_int_eq(audio.sequence, SC_YES);
  ck_assert_int_eq(audio.order, SC_ORDER_UNKNOWN);
  ck_assert_ptr_nonnull(strstr(audio.order_why, "one channel"));
  check_absent(&audio.separation_left_to_right_db);
  check_absent(&audio.balance_db);
  check_absent(&audio.correlation);
  check_absent(&audio.channel[1].level_dbfs);
  check_quantity(&audio.channel[0].level_dbfs, line_up_dbfs, 0.001);
  check_quantity(&audio.walk_null_deg, 180, 0.1);
  ck_assert_double_lt(audio.walk_law_db.value, 0.05);
  ck_assert_int_eq(audio.law, SC_LAW_FLAT);
  check_absent(&audio.points[0].separation_db);
}
END_TEST

/* Neither a mono radio nor a pair. */
START_TEST(odd_channels_stay_open)
{
  static const double gains[][2][2] = {{{0.5, 0.5}, {-0.5, -0.5}}, {{1, 0}, {0.001, 0}}};
  struct radio radio = {.rate_hz = 32000, .until_s = first_parts_s, .noise = 1e-4};
  memcpy(radio.gain, gains[_i], sizeof radio.gain);
  const struct sc_audio audio = radio_judge("odd_channels", &radio);
  ck_assert_int_eq(audio.order, SC_ORDER_UNKNOWN);
  ck_assert_ptr_null(sc_channel_order_name(audio.order));
  ck_assert_ptr_nonnull(audio.order_why);
}
END_TEST

/* A decoder without de-emphasis shows the transmitter's curve: ITU-R BS.450-3, 1.2. From the air:
 * tests/analysis/test_audio_test.c. */
START_TEST(preemphasis_is_fitted)
{
  static const double taus_us[] = {75, 50, 0};
  const double tolerance_us = 0.3;
  const struct radio radio = {.rate_hz = 32000, .noise = 3e-4, .preemphasis_us = taus_us[_i]};
  const struct sc_audio audio = radio_judge("preemphasis_is_fitted", &radio);
  struct sc_preemphasis p;
  sc_preemphasis_fit(&audio, &p);
  ck_assert_msg(p.tau_us.why == NULL, "%s", p.tau_us.why);
  ck_assert_double_eq(p.tau_us.value, taus_us[_i]);
  ck_assert_double_eq_tol(p.fitted_us.value, taus_us[_i], taus_us[_i] > 0 ? tolerance_us : 10);
}
END_TEST

/* The chirps are found through a de-emphasis that nobody asked for, inverted, 30 dB weaker, and in
 * noise of the line-up tone's order. */
START_TEST(chirps_survive_a_bad_way)
{
  const struct radio radio = {.rate_hz = 44100,
                              .until_s = first_parts_s + filter_s,
                              .before_s = 3.3,
                              .clock_ppm = -1000,
                              .gain = {{-0.03, 0}, {0, -0.03}},
                              .weighting = DSP_WEIGHTING_DEEMPHASIS_75,
                              .noise = 0.005};
  const struct sc_audio audio = radio_judge("chirps_survive", &radio);
  ck_assert_int_eq(audio.sequence, SC_YES);
  ck_assert_int_eq(audio.order, SC_ORDER_NORMAL);
  check_estimate(&audio.clock_error_ppm, -1000, 0);
  check_absent(&audio.separation_left_to_right_db);
}
END_TEST

/* ---- response, distortion, noise */

START_TEST(deemphasis_is_recognised)
{
  static const enum sc_audio_law wanted[] = {SC_LAW_DEEMPHASIS_50, SC_LAW_DEEMPHASIS_75};
  static const enum dsp_weighting ways[] = {DSP_WEIGHTING_DEEMPHASIS_50,
                                            DSP_WEIGHTING_DEEMPHASIS_75};
  const struct radio radio = {.rate_hz = 48000,
                              .until_s = comb_parts_s + filter_s,
                              .weighting = ways[_i],
                              .noise = 1e-5,
                              .clock_ppm = 50};
  const struct sc_audio audio = radio_judge("deemphasis", &radio);
  ck_assert_int_eq(audio.law, wanted[_i]);
  ck_assert_double_lt(audio.law_rms_db.value, 0.02);
  ck_assert_double_lt(_i ? audio.deemphasis_75_db.value : audio.deemphasis_50_db.value, 0.02);
  /* Pre-emphasis is off by twice the curve, which rises by more than 5 dB. */
  ck_assert_double_gt(audio.preemphasis_50_db.value, 5);
  ck_assert_double_gt(audio.preemphasis_75_db.value, 5);
  for (int i = 0; i < SC_AUDIO_POINTS; i++) {
    const double hz = audio.points[i].frequency_hz, at = 1000;
    const double tau = _i ? 75e-6 : 50e-6; /* first order: -10 lg (1 + (2 pi f tau)^2) */
    const double fall =
        10 * log10((1 + pow(TWO_PI * at * tau, 2)) / (1 + pow(TWO_PI * hz * tau, 2)));
    check_quantity(&audio.points[i].response_db, fall, 0.05);
  }
}
END_TEST

/* A sin: x + a x^2 + b x^3 gives a A^2 / 2 at twice the frequency, b A^3 / 4 at three times, and
 * a fundamental of A (1 + 3 b A^2 / 4). */
START_TEST(distortion_is_that_of_the_curve)
{
  const struct radio radio = {
      .rate_hz = 48000, .until_s = first_parts_s, .second = 0.004, .third = 0.02};
  const struct sc_audio audio = radio_judge("distortion", &radio);
  const double a = pow(10, line_up_dbfs / 20), swing = 0.75 * 0.02 * a * a;
  const double harmonics = hypot(0.004 * a * a / 2, 0.02 * a * a * a / 4);
  const double wanted = db(harmonics / hypot(harmonics, a * (1 + swing)));
  for (int c = 0; c < 2; c++) {
    check_quantity(&audio.channel[c].thd_n_db, wanted, 0.05);
    check_quantity(&audio.channel[c].sinad_db, -wanted, 0.05);
    check_quantity(&audio.channel[c].compression_db, -db((1 + swing) / (1 + swing * pow(10, -0.6))),
                   0.001);
  }
}
END_TEST

/* White noise: its share from 30 Hz to 15 kHz, and the integral of the A weighting's table over
 * third octaves (IEC 61672-1, table 3, from 1 kHz on; below, it adds less than 0.1 dB). */
START_TEST(noise_is_that_which_was_added)
{
  static const double table_a[] = {0.0, 0.6,  1.0,  1.2,  1.3,  1.2,  1.0,
                                   0.5, -0.1, -1.1, -2.5, -4.3, -6.6, -9.3};
  const struct radio radio = {.rate_hz = 48000, .until_s = 26, .noise = 1e-3};
  const struct sc_audio audio = radio_judge("noise", &radio);
  const double density = 1e-6 / 24e3, tone = pow(10, line_up_dbfs / 10) / 2;
  double weighted = density * 891 * 0.62; /* below the first band, whose mean gain is -2.1 dB */
  for (size_t i = 0; i < sizeof table_a / sizeof table_a[0]; i++) {
    const double middle = 1000 * pow(10, (double)i / 10);
    const double width =
        i == 13 ? 20e3 - middle * pow(10, -0.05) : middle * (pow(10, 0.05) - pow(10, -0.05));
    weighted += density * width * pow(10, table_a[i] / 10);
  }
  for (int c = 0; c < 2; c++) {
    check_estimate(&audio.channel[c].snr_db, 10 * log10(tone / (density * 14970)), 0);
    check_quantity(&audio.channel[c].snr_a_db, 10 * log10(tone / weighted), 0.3);
    /* a meter's quasi-peak exceeds the rms of noise, by less than its peaks do */
    const double rms_468 = audio.channel[c].snr_weighted_db.value;
    ck_assert_double_lt(rms_468, audio.channel[c].snr_db.value - 8);
    ck_assert_double_gt(rms_468, audio.channel[c].snr_db.value - 16);
  }
}
END_TEST

/* ---- recordings that hold no whole sequence */

START_TEST(a_part_of_the_sequence_says_what_it_can)
{
  struct radio radio = {.rate_hz = 32000, .until_s = 30, .noise = 1e-5};
  struct sc_audio audio = radio_judge("a_part", &radio);
  ck_assert_int_eq(audio.sequence, SC_YES);
  ck_assert_ptr_nonnull(audio.why);
  ck_assert_int_eq(audio.order, SC_ORDER_NORMAL);
  ck_assert_ptr_null(audio.channel[0].snr_db.why);
  ck_assert_ptr_nonnull(audio.points_why);
  check_absent(&audio.walk_null_db);
  check_absent(&audio.law_rms_db);
  check_absent(&audio.slip_us);
  radio.gap_s = 20;
  audio = radio_judge("a gap", &radio);
  ck_assert_ptr_nonnull(audio.why);
  ck_assert_int_eq(audio.order, SC_ORDER_NORMAL);
  check_absent(&audio.channel[0].snr_db);
}
END_TEST

/* After so long a wait, the last seconds that are kept have been written over many times. */
START_TEST(a_sequence_after_a_long_wait_is_measured)
{
  const struct radio radio = {.rate_hz = 32000,
                              .until_s = first_parts_s + filter_s,
                              .before_s = 41.3,
                              .gain = {{1, 0.01}, {0.01, 1}},
                              .noise = 1e-5};
  const struct sc_audio audio = radio_judge("a long wait", &radio);
  ck_assert_int_eq(audio.sequence, SC_YES);
  ck_assert_int_eq(audio.order, SC_ORDER_NORMAL);
  check_quantity(&audio.separation_left_to_right_db, 40, separation_tolerance_db);
  check_quantity(&audio.separation_right_to_left_db, 40, separation_tolerance_db);
}
END_TEST

static struct sc_audio judge_samples(const double *samples, size_t frames, unsigned channels)
{
  const struct sc_audio_settings settings = {48000, channels, 0};
  struct sc_audio_meter *meter;
  struct sc_audio audio;
  ck_assert_int_eq(sc_audio_create(&settings, &meter), SC_OK);
  sc_audio_feed(meter, samples, frames, false);
  sc_audio_result(meter, &audio);
  sc_audio_destroy(meter);
  ck_assert_int_eq(audio.sequence, SC_NO);
  ck_assert_ptr_nonnull(audio.why);
  ck_assert_int_eq(audio.order, SC_ORDER_UNKNOWN);
  ck_assert_ptr_nonnull(audio.order_why);
  check_absent(&audio.separation_left_to_right_db);
  check_absent(&audio.channel[0].snr_db);
  check_absent(&audio.walk_null_db);
  ck_assert_ptr_nonnull(audio.points_why);
  return audio;
}

enum { GARBAGE_FRAMES = 3 * 48000 };

/* Silence, short files, noise, and samples that are no numbers. */
START_TEST(garbage_makes_no_numbers)
{
  double *x = calloc(2 * GARBAGE_FRAMES, sizeof *x);
  static const size_t lengths[] = {0, 1, 100, 4000, GARBAGE_FRAMES};
  for (size_t i = 0; i < sizeof lengths / sizeof lengths[0]; i++) {
    const struct sc_audio audio = judge_samples(x, lengths[i], 2);
    check_absent(&audio.channel[0].frequency_hz);
    check_absent(&audio.channel[1].thd_n_db);
    check_absent(&audio.correlation);
  }
  uint64_t random = support_seed("garbage", 5);
  for (size_t i = 0; i < 2 * GARBAGE_FRAMES; i++)
    x[i] = i % 7 == 0 ? (double)NAN : i % 11 == 0 ? (double)INFINITY : support_uniform(&random);
  const struct sc_audio audio = judge_samples(x, GARBAGE_FRAMES, 2);
  check_absent(&audio.channel[0].frequency_hz);
  ck_assert_double_eq_tol(audio.correlation.value, 0, 0.02);
  free(x);
}
END_TEST

/* A tone and a harmonic 40 dB below it: THD+N is sqrt(k^2 / (1 + k^2)). */
START_TEST(a_steady_tone_is_measured_without_the_sequence)
{
  double *x = calloc(2 * GARBAGE_FRAMES, sizeof *x);
  for (size_t i = 0; i < GARBAGE_FRAMES; i++) {
    const double t = (double)i / 48000;
    x[2 * i] = 0.25 * (sin(TWO_PI * 441.37 * t) + 0.01 * sin(TWO_PI * 882.74 * t));
    x[2 * i + 1] = 0.5 * x[2 * i];
  }
  const struct sc_audio audio = judge_samples(x, GARBAGE_FRAMES, 2);
  for (int c = 0; c < 2; c++) {
    const struct sc_audio_channel *channel = &audio.channel[c];
    check_quantity(&channel->frequency_hz, 441.37, 1e-4);
    check_quantity(&channel->level_dbfs, db(c ? 0.125 : 0.25), 0.01);
    check_quantity(&channel->thd_n_db, db(0.01 / hypot(1, 0.01)), 0.05);
    check_quantity(&channel->rms_dbfs, db((c ? 0.125 : 0.25) * hypot(1, 0.01)), 0.01);
    check_quantity(&channel->peak_dbfs, db(c ? 0.125 : 0.25), 0.1);
  }
  check_quantity(&audio.correlation, 1, 1e-9);
  free(x);
}
END_TEST

/* ---- the handle */

/* No assertion here: what Check allocates for one would be counted. */
static bool create_and_destroy(void *context)
{
  struct sc_audio_meter *meter = context; /* not NULL, so that create has to set it */
  const enum sc_error error = sc_audio_create(context, &meter);
  const bool consistent = error == (meter ? SC_OK : SC_NO_MEMORY);
  sc_audio_destroy(meter);
  return error == SC_OK && consistent;
}

START_TEST(settings_are_checked_and_memory_may_fail)
{
  static const struct sc_audio_settings bad[] = {{31999, 2, 0}, {192001, 2, 0},
                                                 {48000, 0, 0}, {(double)NAN, 2, 0},
                                                 {48000, 3, 0}, {-48000, 1, 0}};
  struct sc_audio_meter *meter;
  for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
    ck_assert_int_eq(sc_audio_create(&bad[i], &meter), SC_BAD_ARGUMENT);
    ck_assert_ptr_null(meter);
  }
  sc_audio_destroy(NULL);
  struct sc_audio_settings good = {48000, 2, 0};
  ck_assert_uint_gt(support_fail_each_allocation(create_and_destroy, &good), 20);
}
END_TEST

Suite *audio_suite(void)
{
  Suite *suite = suite_create("measure/audio");
  TCase *tests = tcase_create("audio");
  tcase_set_timeout(tests, 120);
  tcase_add_loop_test(tests, separation_is_seen_down_to_the_rounding, 0, 2);
  tcase_add_loop_test(tests, separations_are_measured, SEPARATIONS_FROM, SEPARATIONS_TO);
  tcase_add_loop_test(tests, a_weak_difference_costs_separation, 0, 2);
  tcase_add_test(tests, a_whole_recording_is_judged);
  tcase_add_test(tests, silence_without_noise_holds_no_chirps);
  tcase_add_test(tests, swapped_channels_are_seen);
  tcase_add_loop_test(tests, a_mono_radio_follows_the_law_of_the_walk, 0, MONO_RADIOS);
  tcase_add_test(tests, one_channel_is_no_pair);
  tcase_add_loop_test(tests, odd_channels_stay_open, 0, 2);
  tcase_add_test(tests, chirps_survive_a_bad_way);
  tcase_add_loop_test(tests, preemphasis_is_fitted, 0, support_long() ? 3 : 1);
  tcase_add_loop_test(tests, deemphasis_is_recognised, support_long() ? 0 : 1, 2);
  tcase_add_test(tests, distortion_is_that_of_the_curve);
  tcase_add_test(tests, noise_is_that_which_was_added);
  tcase_add_test(tests, a_part_of_the_sequence_says_what_it_can);
  tcase_add_test(tests, a_sequence_after_a_long_wait_is_measured);
  tcase_add_test(tests, garbage_makes_no_numbers);
  tcase_add_test(tests, a_steady_tone_is_measured_without_the_sequence);
  tcase_add_test(tests, settings_are_checked_and_memory_may_fail);
  suite_add_tcase(suite, tests);
  return suite;
}
