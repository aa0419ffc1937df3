/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What is measured of the composite, through the whole chain, against scenarios: rates, images,
 * amplitude modulation, hum. */
#include <config.h>

#include <math.h>
#include <stdio.h>

#include "analysis/scene.h"
#include "analysis/suites.h"
#include "support/random.h"
#include "support/support.h"

static void ck_within(const char *what, double rate_hz, const struct sc_quantity *q, double truth,
                      double sigmas)
{
  if (q->why == NULL)
    ck_assert_msg(fabs(q->value - truth) <= sigmas * q->uncertainty,
                  "%s at %.0f: %g +- %g instead of %g", what, rate_hz, q->value, q->uncertainty,
                  truth);
}

/* One tone in the left channel alone at `share` of the highest modulation: 47 CFR 73.322(a)(7). */
static void check_rate(double rate_hz, double share, bool must_measure)
{
  struct sc_scenario s = scene_silent(rate_hz, 60);
  const double khz = 0.91 * 75 * share;
  double peak;
  scene_add_tone(&s, SC_TO_LEFT, 5000, khz);
  const struct sc_analysis_settings settings = scene_settings(&s);
  struct sc_result r = scene_measure(&s, &settings, &peak, NULL, NULL);
  const double rms = khz / 2 / sqrt(2);
  ck_within("sum", rate_hz, &r.stereo.sum_rms_khz, rms, 3);
  ck_within("difference", rate_hz, &r.stereo.difference_rms_khz, rms, 3);
  /* the generator's peak is of samples too, up to half a percent low */
  r.deviation.corrected_khz.uncertainty += 0.0025 * peak;
  ck_within("peak", rate_hz, &r.deviation.corrected_khz, peak, 2);
  ck_within("pilot", rate_hz, &r.pilot.deviation_khz, 6.75, 3);
  ck_within("rms", rate_hz, &r.deviation.rms_khz, sqrt(1.5 * rms * rms + 6.75 * 6.75 / 2), 3);
  ck_assert_int_ne(r.stereo.residual_present, SC_YES);
  const struct sc_quantity *separation = &r.stereo.separation_left_to_right_db;
  ck_assert(separation->why != NULL || separation->value > 45);
  if (must_measure) {
    ck_assert_ptr_null(r.stereo.difference_rms_khz.why);
    ck_assert_double_le(r.deviation.corrected_khz.uncertainty, 0.05 * peak);
    ck_assert_double_le(r.stereo.difference_rms_khz.uncertainty, 0.01 * rms);
  }
  sc_result_clear(&r);
}

START_TEST(rates_agree)
{
  static const double rates_hz[] = {384e3, 480e3, 1.024e6, 2.048e6, 2.4e6};
  for (size_t i = 0; i < sizeof rates_hz / sizeof *rates_hz; i++)
    check_rate(rates_hz[i], 0.9, true);
}
END_TEST

START_TEST(narrow_rates_say_what_they_lose)
{
  static const double rates_hz[] = {192e3, 228e3, 240e3, 250e3, 256e3};
  for (size_t i = 0; i < sizeof rates_hz / sizeof *rates_hz; i += support_stride(2)) {
    check_rate(rates_hz[i], 0.45, true);
    check_rate(rates_hz[i], 0.9, false);
  }
}
END_TEST

/* Noise of 30 dB in 200 kHz reads -38 dB: where there is no AM none is claimed, and 0.5 % (-46.02
 * dB) is read within its uncertainty. */
START_TEST(amplitude_modulation_below_the_noise)
{
  const unsigned trials = support_trials(support_long() ? 100 : 6);
  uint64_t seed = support_seed("amplitude_modulation_below_the_noise", 32);
  double squares = 0;
  for (unsigned i = 0; i < trials; i++) {
    struct sc_scenario s = scene_silent(1.024e6, 30);
    s.seed = support_random(&seed);
    s.seconds = 3;
    s.station.pilot_khz = i % 2 == 0 ? 6.75 : 0;
    struct sc_result r = scene_play(&s);
    ck_assert_msg(r.noise.am_unmodulated_db.why != NULL, "%.2f dB",
                  r.noise.am_unmodulated_db.value);
    ck_assert_msg(r.noise.envelope_percent.why != NULL, "%.3f %%", r.noise.envelope_percent.value);
    sc_result_clear(&r);
    s.am[s.am_count++] = (struct sc_scenario_line){.hz = 400, .amplitude = 0.5};
    r = scene_play(&s);
    ck_assert_ptr_null(r.noise.am_unmodulated_db.why);
    squares += pow((r.noise.am_unmodulated_db.value - 20 * log10(0.005)) /
                       r.noise.am_unmodulated_db.uncertainty,
                   2);
    sc_result_clear(&r);
  }
  printf("AM below the noise: %.2f sigma rms\n", sqrt(squares / trials));
  fflush(stdout);
  ck_assert_double_lt(squares / trials, support_mean_square_limit(trials));
}
END_TEST

/* A difference far below the noise in its band, at 14 dB, and one so strong that the pilot's phase
 * is less sure: the subcarrier stands at 0 degrees. Of the squares of standard normal values the
 * mean passes the limit once in 30 000 times. */
START_TEST(the_phase_of_a_difference_is_within_its_uncertainty)
{
  const double khz = _i == 0 ? 1.4 : 40;
  const unsigned trials = support_trials(support_long() ? 100 : 8);
  uint64_t seed = support_seed("the_phase_of_a_difference_is_within_its_uncertainty", 31);
  double squares = 0;
  for (unsigned i = 0; i < trials; i++) {
    struct sc_scenario s = scene_silent(500e3, 14);
    s.seed = support_random(&seed);
    s.seconds = 2;
    scene_add_tone(&s, SC_TO_BOTH, 1000, 10);
    scene_add_tone(&s, SC_TO_APART, 700, khz);
    struct sc_result r = scene_play(&s);
    ck_assert_ptr_null(r.stereo.phase_error_deg.why);
    squares += pow(r.stereo.phase_error_deg.value / r.stereo.phase_error_deg.uncertainty, 2);
    sc_result_clear(&r);
  }
  printf("phase of a difference of %g kHz: %.2f sigma rms\n", khz, sqrt(squares / trials));
  fflush(stdout);
  ck_assert_double_lt(squares / trials, support_mean_square_limit(trials));
}
END_TEST

/* Near the threshold noise makes clicks: 2 pi turns of the phase, some in this record at 13 dB in
 * 200 kHz (9.9 dB in the channel; S. O. Rice, Noise in FM Receivers, 1963, from memory: about one
 * and a half). At 16 dB there are none, and the truth is what was sent. */
START_TEST(noise_near_the_threshold_is_no_deviation)
{
  struct sc_scenario s = scene_silent(1.024e6, 13);
  double peak_khz;
  s.seconds = 4;
  scene_add_tone(&s, SC_TO_BOTH, 1000, 40);
  struct sc_analysis_settings settings = scene_settings(&s);
  struct sc_result r = scene_measure(&s, &settings, &peak_khz, NULL, NULL);
  ck_assert_double_gt(r.deviation.peak_khz.value, 75);
  ck_assert_ptr_nonnull(r.deviation.corrected_khz.why);
  ck_assert_ptr_nonnull(r.deviation.exceeded_percent.why);
  ck_assert_ptr_nonnull(r.deviation.intervals_exceeded_percent.why);
  sc_result_clear(&r);
  s.cnr_db = 16;
  r = scene_measure(&s, &settings, &peak_khz, NULL, NULL);
  ck_assert_double_gt(r.deviation.peak_khz.value, 75);
  ck_assert_ptr_null(r.deviation.corrected_khz.why);
  ck_assert_double_lt(r.deviation.corrected_khz.uncertainty, 4);
  ck_assert_double_eq_tol(r.deviation.corrected_khz.value, peak_khz,
                          2 * r.deviation.corrected_khz.uncertainty);
  ck_assert_ptr_nonnull(r.deviation.exceeded_percent.why);
  sc_result_clear(&r);
  s.station.pilot_khz = 0; /* above the limit it stays counted */
  s.station.programme[0].khz = 80;
  r = scene_measure(&s, &settings, &peak_khz, NULL, NULL);
  ck_assert_double_gt(r.deviation.exceeded_percent.value, 10);
  sc_result_clear(&r);
}
END_TEST

/* A sine of 1 % amplitude modulation is 40 dB below 100 % by definition; a captured noise of N0 / C
 * reads 10 log10(2 N0 / C B): 60 dB in 200 kHz give -68.2 dB for 15 kHz, and the filter falls from
 * there to 18 kHz, which adds 1 kHz or so. */
START_TEST(amplitude_modulation)
{
  struct sc_scenario s = scene_silent(1.024e6, 60);
  s.am[0] = (struct sc_scenario_line){.hz = 1000, .amplitude = 1};
  s.am_count = 1;
  struct sc_result r = scene_play(&s);
  ck_assert_double_eq_tol(r.noise.am_unmodulated_db.value, -40, 0.05);
  ck_assert_double_eq_tol(r.noise.am_limit_db.value, -67.96, 0.15);
  ck_assert_ptr_nonnull(r.noise.am_synchronous_db.why);
  ck_assert_ptr_nonnull(r.noise.am_unmodulated_at_most_db.why); /* it was measured */
  sc_result_clear(&r);
  /* level follows deviation: 0.5 dB at 75 kHz; 40 kHz of sine are 0.267 dB, 3.07 % */
  s = scene_silent(1.024e6, 60);
  s.station.pilot_khz = 0;
  s.tilt_db = 0.5;
  scene_add_tone(&s, SC_TO_BOTH, 1000, 40);
  r = scene_play(&s);
  const double depth = log(10) / 20 * 0.5 * 40 / 75;
  ck_assert_double_eq_tol(r.noise.am_synchronous_db.value, 20 * log10(depth), 0.2);
  ck_assert_int_eq(r.stereo.mode, SC_MODE_MONO);
  sc_result_clear(&r);
}
END_TEST

/* Half of the mains' frequencies and they themselves, where hum stands: 1 % is -40 dB, 75 Hz of
 * 75 kHz are -60 dB. What the filters may take is 0.02 dB. */
START_TEST(low_tones_are_read_whole)
{
  static const double tones_hz[] = {30, 50, 60};
  for (size_t i = 0; i < sizeof tones_hz / sizeof *tones_hz; i++) {
    struct sc_scenario s = scene_silent(1.024e6, 60);
    s.seconds = 3;
    s.am[0] = (struct sc_scenario_line){.hz = tones_hz[i], .amplitude = 1};
    s.station.tones[0] = (struct sc_scenario_line){.hz = tones_hz[i], .amplitude = 0.075};
    s.am_count = s.station.tone_count = 1;
    struct sc_analysis_settings settings = scene_settings(&s);
    settings.deemphasis_us = 0;
    struct sc_result r = scene_measure(&s, &settings, NULL, NULL, NULL);
    ck_assert_double_eq_tol(r.noise.am_unmodulated_db.value, -40, 0.02);
    ck_assert_double_eq_tol(r.noise.fm_noise_db.value, -60, 0.02);
    ck_within("AM", tones_hz[i], &r.noise.am_unmodulated_db, -40, 2);
    ck_within("hum", tones_hz[i], &r.noise.fm_noise_db, -60, 2);
    sc_result_clear(&r);
  }
}
END_TEST

/* 100 Hz of 0.1 kHz: 20 log10(0.1 / 75) = -57.5 dB. */
START_TEST(hum)
{
  struct sc_scenario s = scene_silent(384e3, 60);
  s.station.tones[0] = (struct sc_scenario_line){.hz = 100, .amplitude = 0.1};
  s.station.tone_count = 1;
  struct sc_result r = scene_play(&s);
  ck_assert_double_eq_tol(r.noise.fm_noise_db.value, -57.50, 0.1);
  ck_assert_double_le(r.noise.fm_noise_limit_db.value, -80);
  ck_assert_int_eq(r.stereo.mode, SC_MODE_PILOT_ONLY);
  sc_result_clear(&r);
}
END_TEST

static void check_bound(const struct sc_quantity *quantity, const struct sc_quantity *at_most,
                        double truth_db, double limit_db)
{
  ck_assert_ptr_nonnull(quantity->why);
  ck_assert_ptr_null(at_most->why);
  ck_assert_double_ge(at_most->value, truth_db);
  ck_assert_double_le(at_most->value, limit_db);
}

/* AM of 0.1 % (-60 dB) and hum of 20 log10(0.005 / 75) = -83.5 dB, both below what the noise of N0
 * / C = -83 dB reads: 10 log10(2 N0 / C 15 kHz) = -38.2 dB of AM. The bound is the truth or more,
 * and no more than a decibel above the noise. */
START_TEST(what_the_noise_hides_has_a_bound)
{
  struct sc_scenario s = scene_silent(1.024e6, 30);
  s.am[0] = (struct sc_scenario_line){.hz = 1000, .amplitude = 0.1};
  s.station.tones[0] = (struct sc_scenario_line){.hz = 100, .amplitude = 0.005};
  s.am_count = s.station.tone_count = 1;
  struct sc_result r = scene_play(&s);
  const struct sc_noise *n = &r.noise;
  check_bound(&n->am_unmodulated_db, &n->am_unmodulated_at_most_db, -60, -38.2 + 1);
  check_bound(&n->fm_noise_db, &n->fm_noise_at_most_db, -83.5, n->fm_noise_limit_db.value + 1);
  ck_assert_ptr_nonnull(n->am_synchronous_at_most_db.why);
  ck_assert_ptr_nonnull(r.stereo.crosstalk_sum_to_difference_at_most_db.why);
  sc_result_clear(&r);
  s = scene_silent(1.024e6, 30); /* a sum without a difference: no crosstalk at all */
  scene_add_tone(&s, SC_TO_BOTH, 1000, 40);
  r = scene_play(&s);
  check_bound(&r.stereo.crosstalk_sum_to_difference_db,
              &r.stereo.crosstalk_sum_to_difference_at_most_db, -200,
              r.stereo.crosstalk_limit_db.value);
  ck_assert_ptr_nonnull(r.stereo.crosstalk_difference_to_sum_at_most_db.why);
  sc_result_clear(&r);
}
END_TEST

/* What a narrow capture takes from RDS its uncertainty holds; where not even its own first side
 * lines are kept, nothing is stated. */
START_TEST(narrow_rates_widen_rds)
{
  static const double rates_hz[] = {200e3, 220e3, 250e3};
  static const double tones_hz[] = {1000, 5000, 12000};
  for (size_t i = 0; i < 3; i++)
    for (size_t t = 0; t < 3; t += support_stride(3)) {
      struct sc_scenario s = scene_silent(rates_hz[i], 45);
      s.station.rds.khz = 2;
      s.station.rds.pi = 0x1234;
      scene_add_tone(&s, SC_TO_LEFT, tones_hz[t], 40);
      struct sc_result r = scene_play(&s);
      ck_assert_ptr_null(r.rds.injection_khz.why);
      ck_within("RDS", rates_hz[i], &r.rds.injection_khz, 2, 2);
      sc_result_clear(&r);
    }
  struct sc_scenario s = scene_silent(500e3, 45); /* 250 kHz less 200 kHz, less an edge */
  s.offset_hz = 200e3;
  s.station.rds.khz = 2;
  s.station.rds.pi = 0x1234;
  scene_add_tone(&s, SC_TO_LEFT, 1000, 40);
  struct sc_result r = scene_play(&s);
  ck_assert_ptr_null(r.composite_why);
  ck_assert_ptr_nonnull(r.rds.injection_khz.why);
  sc_result_clear(&r);
}
END_TEST

/* With the carrier at the centre the image makes a line at 38 kHz of the pilot alone; with the
 * carrier beside it, it makes none. */
START_TEST(image_is_no_residual)
{
  for (int beside = 0; beside < 2; beside++) {
    struct sc_scenario s = scene_silent(480e3, 50);
    s.offset_hz = beside ? 900 : 0;
    s.iq_gain_db = 0.3;
    s.iq_phase_rad = 0.03;
    struct sc_result r = scene_play(&s);
    ck_assert_int_eq(r.stereo.residual_present, SC_NO);
    ck_within("residual", 480e3, &r.stereo.residual_percent, 0, 3);
    ck_within("pilot", 480e3, &r.pilot.deviation_khz, 6.75, beside ? 5 : 3);
    printf("image %s: residual %.4f +- %.4f %%\n", beside ? "beside" : "centred",
           r.stereo.residual_percent.value, r.stereo.residual_percent.uncertainty);
    sc_result_clear(&r);
  }
}
END_TEST

/* A composite at 192 kS/s in a sound file: full scale is known. */
START_TEST(captured_composite)
{
  struct sc_scenario s = scene_silent(192e3, (double)NAN);
  s.what = SC_WHAT_COMPOSITE;
  s.level_dbfs = -6.0206; /* of 100 kHz: full scale is 200 kHz */
  scene_add_tone(&s, SC_TO_LEFT, 1000, 40);
  struct sc_result r = scene_play(&s);
  ck_assert_double_eq_tol(r.stereo.left_rms_khz.value, 40 / sqrt(2), 0.02);
  ck_assert_double_eq_tol(r.pilot.deviation_khz.value, 6.75, 0.001);
  ck_assert_int_eq(r.stereo.mode, SC_MODE_STEREO);
  ck_assert_ptr_nonnull(r.deviation.corrected_khz.why);
  ck_assert_ptr_nonnull(r.noise.am_synchronous_db.why);
  sc_result_clear(&r);
}
END_TEST

/* ---- random stations, from the air */

struct tally {
  const char *what;
  double worst_share, worst_sigmas; /* of values above `large`, below */
  unsigned within_one, beyond_three, count;
};

static void score(struct tally *tally, const struct sc_quantity *found, double truth, double large)
{
  ck_assert_msg(found->why == NULL, "%s: %s", tally->what, found->why);
  const double error = fabs(found->value - truth), sigmas = error / found->uncertainty;
  tally->count++;
  tally->within_one += sigmas <= 1;
  tally->beyond_three += sigmas > 3;
  if (truth >= large)
    tally->worst_share = fmax(tally->worst_share, error / truth);
  else
    tally->worst_sigmas = fmax(tally->worst_sigmas, sigmas);
}

static void print_tally(const struct tally *t)
{
  printf("%s: within %.3f %%, small ones within %.2f sigma; %u of %u within one sigma, %u beyond "
         "three\n",
         t->what, 100 * t->worst_share, t->worst_sigmas, t->within_one, t->count, t->beyond_three);
  fflush(stdout);
}

/* Tones apart from each other, so that their beats average out; powers of sum and difference. */
static void add_random_tones(struct sc_scenario *s, uint64_t *random, double *sum,
                             double *difference)
{
  static const double bands_hz[][2] = {{50, 800}, {1e3, 4e3}, {4.2e3, 9e3}, {9.2e3, 14.9e3}};
  *sum = *difference = 0;
  for (int i = 0; i < 4; i++) {
    const double middle = (bands_hz[i][0] + bands_hz[i][1]) / 2;
    const double hz = middle + (bands_hz[i][1] - middle) * support_uniform(random);
    const double left = 7 + 4 * support_uniform(random), right = 6 + 5 * support_uniform(random);
    const double phase = 3 * support_uniform(random);
    scene_add_tone(s, SC_TO_LEFT, hz, left);
    scene_add_tone(s, SC_TO_RIGHT, hz, right);
    s->station.programme[s->station.programme_count - 1].phase_rad = phase;
    *sum += (left * left + right * right + 2 * left * right * cos(phase)) / 8;
    *difference += (left * left + right * right - 2 * left * right * cos(phase)) / 8;
  }
  *sum = sqrt(*sum);
  *difference = sqrt(*difference);
}

static struct sc_scenario random_station(uint64_t *random)
{
  static const double rates_hz[] = {384e3, 384e3, 480e3, 1.024e6};
  struct sc_scenario s =
      scene_silent(rates_hz[support_random(random) % 4], 45 + 15 * support_uniform(random));
  s.seconds = support_long() ? 4 + 2 * support_uniform(random) : 2;
  s.seed = support_random(random);
  s.offset_hz = 2000 + 1500 * support_uniform(random);
  s.station.pilot_khz = 6.75 + 0.7 * support_uniform(random);
  s.station.pilot_hz = 19000 + 2 * support_uniform(random);
  s.station.pilot_phase_rad = 3 * support_uniform(random);
  s.station.residual_khz = 0.4 + 0.4 * support_uniform(random);
  s.station.residual_phase_rad = 3 * support_uniform(random);
  s.station.rds.khz = support_random(random) % 2 == 0 ? 2 : 0;
  s.station.rds.pi = 0x1234;
  return s;
}

START_TEST(random_stations)
{
  const unsigned trials = support_trials(support_long() ? 200 : 1);
  uint64_t random = support_seed("random_stations", 30);
  struct tally pilot = {.what = "pilot"}, sum = {.what = "sum"},
               difference = {.what = "difference"}, residual = {.what = "residual"},
               peak = {.what = "peak"};
  for (unsigned t = 0; t < trials; t++) {
    double sum_khz, difference_khz, peak_khz;
    struct sc_scenario s = random_station(&random);
    add_random_tones(&s, &random, &sum_khz, &difference_khz);
    const struct sc_analysis_settings settings = scene_settings(&s);
    struct sc_result r = scene_measure(&s, &settings, &peak_khz, NULL, NULL);
    score(&pilot, &r.pilot.deviation_khz, s.station.pilot_khz, 2);
    score(&sum, &r.stereo.sum_rms_khz, sum_khz, 2);
    score(&difference, &r.stereo.difference_rms_khz, difference_khz, 2);
    score(&residual, &r.stereo.residual_percent, s.station.residual_khz / 0.75, INFINITY);
    /* the generator's is of samples too, up to half a percent low */
    r.deviation.corrected_khz.uncertainty += 0.0025 * peak_khz;
    score(&peak, &r.deviation.corrected_khz, 1.0025 * peak_khz, 2);
    ck_assert_double_le(fabs(r.stereo.phase_error_deg.value), 0.2);
    ck_assert_int_eq(r.stereo.mode, SC_MODE_STEREO);
    sc_result_clear(&r);
  }
  const struct tally *const all[] = {&pilot, &sum, &difference, &residual, &peak};
  for (size_t i = 0; i < sizeof all / sizeof *all; i++) {
    print_tally(all[i]);
    ck_assert_double_le(all[i]->worst_share, all[i] == &peak ? 0.03 : 0.005);
    ck_assert_double_le(all[i]->worst_sigmas, 4.5);
    ck_assert_uint_le(all[i]->beyond_three, 1 + trials / 50);
  }
}
END_TEST

Suite *composite_suite(void)
{
  Suite *suite = suite_create("analysis/composite");
  TCase *tests = tcase_create("composite");
  tcase_set_timeout(tests, 600);
  tcase_add_test(tests, rates_agree);
  tcase_add_test(tests, narrow_rates_say_what_they_lose);
  tcase_add_loop_test(tests, the_phase_of_a_difference_is_within_its_uncertainty, 0, 2);
  tcase_add_test(tests, noise_near_the_threshold_is_no_deviation);
  tcase_add_test(tests, amplitude_modulation);
  tcase_add_test(tests, amplitude_modulation_below_the_noise);
  tcase_add_test(tests, low_tones_are_read_whole);
  tcase_add_test(tests, narrow_rates_widen_rds);
  tcase_add_test(tests, hum);
  tcase_add_test(tests, what_the_noise_hides_has_a_bound);
  tcase_add_test(tests, image_is_no_residual);
  tcase_add_test(tests, captured_composite);
  suite_add_tcase(suite, tests);
  TCase *stations = tcase_create("composite-stations");
  tcase_set_timeout(stations, 7200);
  tcase_add_test(stations, random_stations);
  suite_add_tcase(suite, stations);
  return suite;
}
