/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The kind of a capture from its samples alone: every signal here is made by the generator or
 * by plain tones and noise, and each has to be told apart from its look-alikes. */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include <sidecomb/signal.h>

#include "measure/kind.h"
#include "measure/suites.h"
#include "support/random.h"
#include "support/support.h"

static uint64_t state;

/* frames of two channels, and how they are to be judged. */
struct pair {
  double rate_hz;
  size_t frames;
  float *samples;
};

static struct pair pair_create(double rate_hz, double seconds)
{
  struct pair pair = {rate_hz, (size_t)(rate_hz * seconds), NULL};
  pair.samples = calloc(2 * pair.frames, sizeof *pair.samples);
  ck_assert_ptr_nonnull(pair.samples);
  return pair;
}

static void add_tone(struct pair *pair, unsigned channel, double hz, double amplitude,
                     double phase_deg)
{
  for (size_t i = 0; i < pair->frames; i++)
    pair->samples[2 * i + channel] +=
        (float)(amplitude *
                cos(2 * M_PI * (fmod(hz / pair->rate_hz * (double)i, 1) + phase_deg / 360)));
}

static void add_noise(struct pair *pair, unsigned channel, double rms)
{
  for (size_t i = 0; i < pair->frames; i++)
    pair->samples[2 * i + channel] += (float)(rms * support_normal(&state));
}

/* Low-passed noise, as programme material: one pole at `hz`, twice. */
static void add_programme(struct pair *pair, unsigned channel, double rms, double hz)
{
  double keep = exp(-2 * M_PI * hz / pair->rate_hz), first = 0, second = 0;
  /* Variance of white noise behind two equal poles. */
  double gain = rms / sqrt((1 - keep) * (1 + keep * keep) / pow(1 + keep, 3));
  for (size_t i = 0; i < pair->frames; i++) {
    first = keep * first + (1 - keep) * support_normal(&state);
    second = keep * second + (1 - keep) * first;
    pair->samples[2 * i + channel] += (float)(gain * second);
  }
}

/* A stereo transmitter's settings: pilot, tones in left and right. */
static struct sc_signal_settings stereo(double rate_hz)
{
  struct sc_signal_settings settings = {.rate_hz = rate_hz,
                                        .pilot_khz = 6.75,
                                        .left = {{1000, 30, 0}, {3150, 10, 1}},
                                        .left_count = 2,
                                        .right = {{1720, 25, 0}},
                                        .right_count = 1,
                                        .cnr_db = (double)NAN,
                                        .seed = 7};
  return settings;
}

static void add_iq(struct pair *pair, struct sc_signal_settings settings)
{
  struct sc_signal *signal = NULL;
  double *iq = malloc(2 * pair->frames * sizeof *iq);
  ck_assert_int_eq(sc_signal_create(&settings, &signal), SC_OK);
  sc_signal_iq(signal, iq, pair->frames);
  for (size_t i = 0; i < 2 * pair->frames; i++)
    pair->samples[i] += (float)iq[i];
  sc_signal_destroy(signal);
  free(iq);
}

/* 75 kHz is half of full scale. */
static void add_composite(struct pair *pair, unsigned channel, double gain,
                          struct sc_signal_settings settings)
{
  struct sc_signal *signal = NULL;
  double *khz = malloc(pair->frames * sizeof *khz);
  ck_assert_int_eq(sc_signal_create(&settings, &signal), SC_OK);
  sc_signal_composite(signal, khz, pair->frames);
  for (size_t i = 0; i < pair->frames; i++)
    pair->samples[2 * i + channel] += (float)(gain * khz[i] / 150);
  sc_signal_destroy(signal);
  free(khz);
}

/* A sound card's own noise, far below. */
static void add_floor(struct pair *pair)
{
  add_noise(pair, 0, 1e-4);
  add_noise(pair, 1, 1e-4);
}

static struct measure_kind judge(const struct pair *pair)
{
  struct measure_kind kind;
  ck_assert_int_eq(measure_kind(pair->samples, pair->frames, 2, pair->rate_hz, &kind), SC_OK);
  ck_assert_uint_gt(strlen(kind.reason), 10);
  return kind;
}

/* The left channel as a mono capture. */
static struct measure_kind judge_mono(const struct pair *pair)
{
  struct measure_kind kind;
  float *mono = malloc(pair->frames * sizeof *mono);
  for (size_t i = 0; i < pair->frames; i++)
    mono[i] = pair->samples[2 * i];
  ck_assert_int_eq(measure_kind(mono, pair->frames, 1, pair->rate_hz, &kind), SC_OK);
  free(mono);
  return kind;
}

static void check(struct measure_kind got, enum sc_kind wanted, const char *what, double rate_hz)
{
  printf("%s at %g: %s: %s\n", what, rate_hz, sc_kind_name(got.kind), got.reason);
  ck_assert_msg(got.kind == wanted, "%s at %g is %s, not %s: %s", what, rate_hz,
                sc_kind_name(got.kind), sc_kind_name(wanted), got.reason);
}

/* Judges, frees, compares. */
static void finish(struct pair *pair, enum sc_kind wanted, const char *what)
{
  check(judge(pair), wanted, what, pair->rate_hz);
  free(pair->samples);
}

static void finish_mono(struct pair *pair, enum sc_kind wanted, const char *what)
{
  check(judge_mono(pair), wanted, what, pair->rate_hz);
  free(pair->samples);
}

static const double sound_rates[] = {88200, 96000, 176400, 192000, 384000};
static const double iq_rates[] = {192000, 250000, 384000, 1024000, 2400000};
enum { RATES = 5 };

static void seed(const char *test)
{
  state = support_seed(test, 1234);
}

/* ---- the composite */

START_TEST(composite_in_one_channel)
{
  seed("composite_in_one_channel");
  for (unsigned channel = 0; channel < 2; channel++) {
    struct pair pair = pair_create(sound_rates[_i], 0.3);
    add_composite(&pair, channel, 1, stereo(pair.rate_hz));
    add_floor(&pair);
    struct measure_kind kind = judge(&pair);
    ck_assert_uint_eq(kind.channel, channel);
    ck_assert_ptr_nonnull(strstr(kind.reason, channel == 0 ? "below left" : "below right"));
    finish(&pair, SC_KIND_COMPOSITE, channel == 0 ? "composite left" : "composite right");
  }
}
END_TEST

START_TEST(composite_copied_into_both)
{
  static const double gains[] = {1, 0.97, 0.3, -1};
  seed("composite_copied_into_both");
  for (size_t i = 0; i < 4; i++) {
    struct pair pair = pair_create(sound_rates[_i], 0.3);
    add_composite(&pair, 0, 1, stereo(pair.rate_hz));
    add_composite(&pair, 1, gains[i], stereo(pair.rate_hz));
    add_floor(&pair);
    finish(&pair, SC_KIND_COMPOSITE, "composite in both");
  }
}
END_TEST

START_TEST(composite_beside_audio)
{
  seed("composite_beside_audio");
  struct pair pair = pair_create(sound_rates[_i], 0.3);
  add_composite(&pair, 1, 1, stereo(pair.rate_hz));
  add_programme(&pair, 0, 0.1, 2000);
  add_floor(&pair);
  ck_assert_uint_eq(judge(&pair).channel, 1);
  finish(&pair, SC_KIND_COMPOSITE, "composite right, audio left");
}
END_TEST

START_TEST(two_composites_leave_a_question)
{
  seed("two_composites_leave_a_question");
  struct sc_signal_settings other = stereo(192000);
  struct pair pair = pair_create(192000, 0.3);
  other.left_count = 0;
  other.pilot_hz = 19001;
  add_composite(&pair, 0, 1, stereo(pair.rate_hz));
  add_composite(&pair, 1, 1, other);
  add_floor(&pair);
  ck_assert_ptr_nonnull(strstr(judge(&pair).reason, "choose with --channel"));
  finish(&pair, SC_KIND_UNDECIDED, "two composites");
}
END_TEST

START_TEST(composite_in_mono)
{
  static const double pilots_hz[] = {18998, 19000, 19002, 18985, 19015};
  seed("composite_in_mono");
  for (size_t i = 0; i < 5; i++) {
    struct sc_signal_settings settings = stereo(sound_rates[_i]);
    struct pair pair = pair_create(settings.rate_hz, 0.3);
    settings.pilot_hz = pilots_hz[i];
    add_composite(&pair, 0, 1, settings);
    add_floor(&pair);
    finish_mono(&pair, SC_KIND_COMPOSITE, "composite");
  }
}
END_TEST

/* Only the pilot, as a transmitter with silent audio sends it; and one so short that the
 * resolution is coarse. */
START_TEST(pilot_alone)
{
  seed("pilot_alone");
  struct sc_signal_settings settings = {
      .rate_hz = sound_rates[_i], .pilot_khz = 6.75, .cnr_db = (double)NAN};
  for (int brief = 0; brief < 2; brief++) {
    struct pair pair = pair_create(settings.rate_hz, brief ? 0.1 : 0.3);
    add_composite(&pair, 0, 1, settings);
    add_floor(&pair);
    finish_mono(&pair, SC_KIND_COMPOSITE, brief ? "pilot alone, 0.1 s" : "pilot alone");
  }
}
END_TEST

START_TEST(no_pilot_no_composite)
{
  seed("no_pilot_no_composite");
  struct pair pair = pair_create(sound_rates[_i], 0.3);
  add_tone(&pair, 0, 18900, 0.1, 0);
  add_floor(&pair);
  finish_mono(&pair, SC_KIND_AUDIO, "a tone at 18.9 kHz");
  pair = pair_create(sound_rates[_i], 0.3);
  add_tone(&pair, 0, 1000, 0.3, 0);
  add_tone(&pair, 0, 19060, 0.1, 0);
  add_floor(&pair);
  finish_mono(&pair, SC_KIND_AUDIO, "a tone at 19.06 kHz");
}
END_TEST

/* ---- audio */

START_TEST(audio_without_a_pilot)
{
  seed("audio_without_a_pilot");
  struct pair pair = pair_create(sound_rates[_i], 0.3);
  add_programme(&pair, 0, 0.1, 800);
  add_floor(&pair);
  finish_mono(&pair, SC_KIND_AUDIO, "mono programme");
  pair = pair_create(sound_rates[_i], 0.3);
  add_tone(&pair, 0, 1000, 0.5, 0);
  add_floor(&pair);
  finish_mono(&pair, SC_KIND_AUDIO, "mono 1 kHz");
}
END_TEST

/* A receiver's output carries a rest of the pilot: that makes no composite of it. */
START_TEST(audio_with_a_rest_of_the_pilot)
{
  static const double rest_db[] = {-35, -45, -60};
  seed("audio_with_a_rest_of_the_pilot");
  for (size_t i = 0; i < 3; i++) {
    struct pair pair = pair_create(sound_rates[_i], 0.3);
    for (unsigned k = 0; k < 2; k++) {
      add_programme(&pair, k, 0.1, 800);
      add_tone(&pair, k, 19000.3, sqrt(2) * 0.1 * pow(10, rest_db[i] / 20), 0);
    }
    add_floor(&pair);
    struct measure_kind mono = judge_mono(&pair);
    check(mono, SC_KIND_AUDIO, "mono programme with a rest of the pilot", pair.rate_hz);
    finish(&pair, SC_KIND_AUDIO, "stereo programme with a rest of the pilot");
  }
}
END_TEST

START_TEST(stereo_audio)
{
  seed("stereo_audio");
  struct pair pair = pair_create(sound_rates[_i], 0.3);
  add_programme(&pair, 0, 0.1, 800);
  add_programme(&pair, 1, 0.02, 3000);
  add_floor(&pair);
  finish(&pair, SC_KIND_AUDIO, "stereo programme");
  pair = pair_create(sound_rates[_i], 0.3);
  add_tone(&pair, 0, 1000, 0.5, 0);
  add_tone(&pair, 1, 400, 0.5, 0);
  add_floor(&pair);
  finish(&pair, SC_KIND_AUDIO, "a tone in each channel");
  pair = pair_create(sound_rates[_i], 0.3);
  add_tone(&pair, 0, 1000, 0.5, 0);
  add_tone(&pair, 1, 1000, 0.01, 0);
  add_floor(&pair);
  finish(&pair, SC_KIND_AUDIO, "left only, with crosstalk");
}
END_TEST

/* Phase between the channels is the trap: at 90 degrees, left and right are like I and Q. */
START_TEST(stereo_audio_with_phase)
{
  static const double phases_deg[] = {10, 45, 60, 120, 170};
  seed("stereo_audio_with_phase");
  for (size_t i = 0; i < 5; i++) {
    struct pair pair = pair_create(sound_rates[_i], 0.3);
    for (double hz = 500; hz < 9000; hz *= 1.7) {
      add_tone(&pair, 0, hz, 0.1, hz);
      add_tone(&pair, 1, hz, 0.1, hz + phases_deg[i]);
    }
    add_floor(&pair);
    finish(&pair, SC_KIND_AUDIO, "stereo tones with phase");
  }
}
END_TEST

START_TEST(stereo_audio_of_ninety_degrees_leaves_a_question)
{
  seed("stereo_audio_of_ninety_degrees_leaves_a_question");
  struct pair pair = pair_create(192000, 0.3);
  add_tone(&pair, 0, 1000, 0.5, 0);
  add_tone(&pair, 1, 1000, 0.5, 90);
  add_floor(&pair);
  ck_assert_ptr_nonnull(strstr(judge(&pair).reason, "90 degrees"));
  finish(&pair, SC_KIND_UNDECIDED, "1 kHz with 90 degrees between the channels");
}
END_TEST

START_TEST(a_low_rate_is_audio)
{
  seed("a_low_rate_is_audio");
  for (double rate_hz = 8000; rate_hz < 88200; rate_hz *= 1.9) {
    struct pair pair = pair_create(rate_hz, 0.5);
    add_noise(&pair, 0, 0.1);
    add_noise(&pair, 1, 0.1);
    check(judge_mono(&pair), SC_KIND_AUDIO, "mono noise", rate_hz);
    finish(&pair, SC_KIND_AUDIO, "stereo noise");
  }
}
END_TEST

/* ---- IQ */

START_TEST(iq_of_a_transmitter)
{
  static const double offsets_hz[] = {0, 40, 3000, 25000, -60000};
  static const double cnrs_db[] = {(double)NAN, 30, 15};
  seed("iq_of_a_transmitter");
  for (size_t i = 0; i < 5; i++)
    for (size_t k = 0; k < 3; k++) {
      struct sc_signal_settings settings = stereo(iq_rates[_i]);
      struct pair pair = pair_create(settings.rate_hz, settings.rate_hz > 1e6 ? 0.1 : 0.25);
      settings.carrier_offset_hz = offsets_hz[i];
      settings.cnr_db = cnrs_db[k];
      add_iq(&pair, settings);
      finish(&pair, SC_KIND_IQ, "a stereo transmitter");
    }
}
END_TEST

/* The phase stays within a third of a radian and the carrier at zero: I and Q look as
 * different as two channels can. */
START_TEST(iq_of_a_silent_transmitter)
{
  static const double offsets_hz[] = {0, 40, 3000, 25000};
  seed("iq_of_a_silent_transmitter");
  for (size_t i = 0; i < 4; i++) {
    struct sc_signal_settings settings = {.rate_hz = iq_rates[_i],
                                          .pilot_khz = 6.75,
                                          .carrier_offset_hz = offsets_hz[i],
                                          .cnr_db = 40};
    struct pair pair = pair_create(settings.rate_hz, settings.rate_hz > 1e6 ? 0.1 : 0.25);
    add_iq(&pair, settings);
    finish(&pair, SC_KIND_IQ, "a transmitter with only its pilot");
  }
}
END_TEST

START_TEST(iq_of_an_unmodulated_carrier)
{
  static const double offsets_hz[] = {0, 31234.5, -55000, 700};
  seed("iq_of_an_unmodulated_carrier");
  for (size_t i = 0; i < 4; i++) {
    struct sc_signal_settings settings = {
        .rate_hz = iq_rates[_i], .carrier_offset_hz = offsets_hz[i], .cnr_db = 40};
    struct pair pair = pair_create(settings.rate_hz, settings.rate_hz > 1e6 ? 0.1 : 0.25);
    bool like_audio = settings.rate_hz <= 200e3 && fabs(offsets_hz[i]) < 20e3 && offsets_hz[i] != 0;
    add_iq(&pair, settings);
    finish(&pair, like_audio ? SC_KIND_UNDECIDED : SC_KIND_IQ, "an unmodulated carrier");
  }
}
END_TEST

/* The receiver's mismatch of I and Q, and a direct current on each. */
START_TEST(iq_with_a_poor_receiver)
{
  seed("iq_with_a_poor_receiver");
  struct sc_signal_settings settings = stereo(iq_rates[_i]);
  struct pair pair = pair_create(settings.rate_hz, settings.rate_hz > 1e6 ? 0.1 : 0.25);
  settings.carrier_offset_hz = 15000;
  settings.cnr_db = 25;
  add_iq(&pair, settings);
  for (size_t i = 0; i < pair.frames; i++) {
    pair.samples[2 * i + 1] = 0.9f * pair.samples[2 * i + 1] + 0.1f * pair.samples[2 * i] + 0.02f;
    pair.samples[2 * i] -= 0.03f;
  }
  finish(&pair, SC_KIND_IQ, "a poor receiver");
}
END_TEST

/* Noise alone could come from a receiver or from two open inputs; only speed tells. */
START_TEST(noise_alone)
{
  seed("noise_alone");
  for (size_t i = 0; i < RATES; i++) {
    struct pair pair = pair_create(iq_rates[i], iq_rates[i] > 1e6 ? 0.1 : 0.25);
    add_noise(&pair, 0, 0.1);
    add_noise(&pair, 1, 0.1);
    check(judge_mono(&pair), SC_KIND_UNDECIDED, "mono noise", pair.rate_hz);
    finish(&pair, pair.rate_hz > 800e3 ? SC_KIND_IQ : SC_KIND_UNDECIDED, "noise");
  }
}
END_TEST

START_TEST(nothing_at_all)
{
  for (size_t i = 0; i < RATES; i++) {
    struct pair pair = pair_create(sound_rates[i], 0.1);
    check(judge_mono(&pair), SC_KIND_UNDECIDED, "mono zeros", pair.rate_hz);
    finish(&pair, SC_KIND_UNDECIDED, "zeros");
  }
}
END_TEST

START_TEST(too_short_to_tell)
{
  static const float samples[400];
  struct measure_kind kind;
  for (size_t frames = 0; frames < 200; frames += 67) {
    ck_assert_int_eq(measure_kind(samples, frames, 2, 192000, &kind), SC_OK);
    ck_assert_int_eq(kind.kind, SC_KIND_UNDECIDED);
    ck_assert_ptr_nonnull(strstr(kind.reason, "too short"));
  }
}
END_TEST

Suite *kind_suite(void)
{
  Suite *suite = suite_create("kind");
  TCase *composite = tcase_create("composite");
  tcase_add_loop_test(composite, composite_in_one_channel, 0, RATES);
  tcase_add_loop_test(composite, composite_copied_into_both, 0, RATES);
  tcase_add_loop_test(composite, composite_beside_audio, 0, RATES);
  tcase_add_test(composite, two_composites_leave_a_question);
  tcase_add_loop_test(composite, composite_in_mono, 0, RATES);
  tcase_add_loop_test(composite, pilot_alone, 0, RATES);
  tcase_add_loop_test(composite, no_pilot_no_composite, 0, RATES);
  suite_add_tcase(suite, composite);
  TCase *audio = tcase_create("audio");
  tcase_add_loop_test(audio, audio_without_a_pilot, 0, RATES);
  tcase_add_loop_test(audio, audio_with_a_rest_of_the_pilot, 0, RATES);
  tcase_add_loop_test(audio, stereo_audio, 0, RATES);
  tcase_add_loop_test(audio, stereo_audio_with_phase, 0, RATES);
  tcase_add_test(audio, stereo_audio_of_ninety_degrees_leaves_a_question);
  tcase_add_test(audio, a_low_rate_is_audio);
  suite_add_tcase(suite, audio);
  TCase *iq = tcase_create("iq");
  tcase_add_loop_test(iq, iq_of_a_transmitter, 0, RATES);
  tcase_add_loop_test(iq, iq_of_a_silent_transmitter, 0, RATES);
  tcase_add_loop_test(iq, iq_of_an_unmodulated_carrier, 0, RATES);
  tcase_add_loop_test(iq, iq_with_a_poor_receiver, 0, RATES);
  suite_add_tcase(suite, iq);
  TCase *open = tcase_create("open");
  tcase_add_test(open, noise_alone);
  tcase_add_test(open, nothing_at_all);
  tcase_add_test(open, too_short_to_tell);
  suite_add_tcase(suite, open);
  return suite;
}
