/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* How near lines are measured to the physical limit, and whether their stated uncertainties are
 * true. The limit is the Cramer-Rao bound of one tone in white noise: D. C. Rife and R. R.
 * Boorstyn, IEEE Trans. Inf. Theory IT-20, 1974 (formulae from memory, checked against a
 * numerical Fisher matrix). */
#include <config.h>

#include <math.h>
#include <stdio.h>

#include <check.h>

#include "measure/lines_input.h"
#include "measure/suites.h"
#include "support/random.h"
#include "support/support.h"

static const double two_pi = 6.283185307179586476925286766559;
static const double decibels = 8.685889638065035; /* 20 / ln 10 */

/* Bars of the measurement. */
static const double level_bar = 1.2, level_bar_db = 0.005, frequency_bar = 1.3;
static const double every_level_bar_db = 0.05, every_level_from_db = 55;

/* Room for chance beside the bars: trials of a fair 68.3 %, three of their sigmas. */
struct share {
  double low, high;
};
static const struct share usual_share = {0.58, 0.78}, long_share = {0.65, 0.71};

enum { LENGTH = 4096, TRIALS = 200, LONG_TRIALS = 2000 };

struct scene {
  bool complex_input;
  size_t records;
};
static const struct scene scenes[] = {{true, 1}, {false, 1}, {true, 6}};
enum { SCENES = sizeof scenes / sizeof *scenes };

struct errors {
  double level, frequency, phase; /* sums of squares, in sigmas of the bound */
  double worst_level_db;
  unsigned level_within, frequency_within, phase_within, trials;
};

static unsigned within(double error, double uncertainty)
{
  return fabs(error) <= uncertainty ? 1 : 0;
}

static void try_once(struct sc_lines *lines, struct lines_input *input, double e_db, uint64_t *seed,
                     struct errors *errors)
{
  double amplitude = lines_input_amplitude(e_db, LENGTH, input->complex_input);
  double frequency = 0.25 + 0.23 * support_uniform(seed), phase = 3 * support_uniform(seed);
  double e = pow(10, e_db / 10);
  lines_input_clear(input);
  lines_input_tone(input, frequency, amplitude, phase);
  lines_input_noise(input, 1, seed);
  struct sc_lines_result result = lines_input_measure(lines, input);
  const struct sc_tone *tone = lines_input_find(&result, frequency, 2.0 / LENGTH);
  ck_assert_msg(tone != NULL, "no line at E = %g dB", e_db);
  double power = amplitude * amplitude / (input->complex_input ? 1 : 2);
  double level = tone->level_db.value - 10 * log10(power);
  double shift = tone->frequency_hz.value - frequency;
  double first = (double)(input->count - LENGTH); /* frame of the last record */
  double turn = remainder(tone->phase_rad - phase - two_pi * frequency * first, two_pi);
  errors->level += pow(level / (decibels / sqrt(2 * e)), 2);
  errors->frequency += pow(shift / (sqrt(6 / e) / two_pi / LENGTH), 2);
  errors->worst_level_db = fmax(errors->worst_level_db, fabs(level));
  errors->level_within += within(level, tone->level_db.uncertainty);
  errors->frequency_within += within(shift, tone->frequency_hz.uncertainty);
  errors->phase_within += within(turn, tone->phase_uncertainty_rad);
  errors->trials++;
}

static void check_share(const char *what, unsigned count, unsigned trials)
{
  struct share wanted = support_long() ? long_share : usual_share;
  double share = (double)count / (double)trials;
  printf(" %s %.3f", what, share);
  if (trials >= TRIALS)
    ck_assert_msg(share >= wanted.low && share <= wanted.high, "%s within one sigma: %.3f", what,
                  share);
}

static void check_errors(const struct errors *errors, double e_db, size_t records)
{
  double trials = (double)errors->trials, bound = decibels / sqrt(2 * pow(10, e_db / 10));
  double level = sqrt(errors->level / trials), frequency = sqrt(errors->frequency / trials);
  printf("E %2.0f dB, %zu record(s): level %.3f, frequency %.3f of the bound, worst level %.4f dB; "
         "within one sigma:",
         e_db, records, level, frequency, errors->worst_level_db);
  ck_assert_double_le(level, level_bar + level_bar_db / bound);
  ck_assert_double_le(frequency, frequency_bar);
  if (e_db >= every_level_from_db)
    ck_assert_double_lt(errors->worst_level_db, every_level_bar_db);
  check_share("level", errors->level_within, errors->trials);
  check_share("frequency", errors->frequency_within, errors->trials);
  check_share("phase", errors->phase_within, errors->trials);
  printf("\n");
}

START_TEST(tones_reach_the_bound_with_honest_uncertainties)
{
  const struct scene *scene = &scenes[_i];
  uint64_t seed = support_seed("tones_reach_the_bound", 20250701 + (uint64_t)_i);
  struct lines_input input = lines_input_make(scene->records * LENGTH, scene->complex_input);
  struct sc_lines *lines = lines_input_finder(&input, LENGTH, 0);
  unsigned trials = support_trials(support_long() ? LONG_TRIALS : TRIALS);
  if (scene->records > 1 && !support_long())
    trials = trials > TRIALS / 2 ? TRIALS / 2 : trials;
  for (double e_db = 20; e_db <= 70; e_db += scene->records > 1 ? 25 : 10) {
    struct errors errors = {0};
    for (unsigned i = 0; i < trials; i++)
      try_once(lines, &input, e_db, &seed, &errors);
    check_errors(&errors, e_db, scene->records);
  }
  sc_lines_destroy(lines);
  lines_input_free(&input);
}
END_TEST

/* Several records know more than one: levels by the square root of their number. */
START_TEST(records_are_combined)
{
  enum { RECORDS = 8 };
  uint64_t seed = support_seed("records_are_combined", 4711);
  struct lines_input input = lines_input_make(RECORDS * LENGTH, false);
  struct sc_lines *lines = lines_input_finder(&input, LENGTH, 0);
  double frequency = 0.1234, amplitude = lines_input_amplitude(40, LENGTH, false);
  lines_input_tone(&input, frequency, amplitude, 1);
  lines_input_noise(&input, 1, &seed);
  struct sc_lines_result result = lines_input_measure(lines, &input);
  ck_assert_uint_eq(result.records, RECORDS);
  ck_assert_double_eq_tol(result.coverage, 1, 1e-12);
  const struct sc_tone *tone = lines_input_find(&result, frequency, 1.0 / LENGTH);
  ck_assert_ptr_nonnull(tone);
  double one = decibels / sqrt(2 * pow(10, 4));
  ck_assert_double_eq_tol(tone->level_db.uncertainty / one, 1 / sqrt(RECORDS), 0.06);
  ck_assert_double_eq_tol(tone->snr_db, 40, 0.4);
  ck_assert_double_gt(tone->coherence, 0.99);
  double first = (RECORDS - 1) * (double)LENGTH; /* frame of the last record */
  ck_assert_double_eq_tol(result.phase_time_s, first, 1e-6);
  double phase = 1 + two_pi * frequency * first;
  ck_assert_double_le(fabs(remainder(tone->phase_rad - phase, two_pi)),
                      4 * tone->phase_uncertainty_rad);
  sc_lines_destroy(lines);
  lines_input_free(&input);
}
END_TEST

/* A line whose phase has no memory from record to record is one, but shows it. */
START_TEST(coherence_tells_a_steady_phase_from_a_jumping_one)
{
  enum { RECORDS = 12 };
  uint64_t seed = support_seed("coherence", 815);
  struct lines_input input = lines_input_make(LENGTH, true);
  struct sc_lines *lines = lines_input_finder(&input, 0, 0);
  for (int i = 0; i < RECORDS; i++) {
    lines_input_clear(&input);
    lines_input_tone(&input, 0.2, 0.5, 3.14 * support_uniform(&seed));
    lines_input_noise(&input, 1e-3, &seed);
    sc_lines_feed_double(lines, input.frames, input.count, true);
  }
  struct sc_lines_result result;
  sc_lines_result(lines, &result);
  ck_assert_uint_eq(result.records, RECORDS);
  const struct sc_tone *tone = lines_input_find(&result, 0.2, 1.0 / LENGTH);
  ck_assert_ptr_nonnull(tone);
  printf("coherence of %d random phases: %.2f\n", RECORDS, tone->coherence);
  ck_assert_double_lt(tone->coherence, 0.7);
  ck_assert_double_eq_tol(tone->level_db.value, -6.0206, 0.01);
  sc_lines_destroy(lines);
  lines_input_free(&input);
}
END_TEST

START_TEST(noise_density_is_per_hertz)
{
  const bool complex_input = _i == 0;
  uint64_t seed = support_seed("noise_density", 99 + (uint64_t)_i);
  struct lines_input input = lines_input_make(65536, complex_input);
  struct sc_lines *lines = lines_input_finder(&input, 0, 0);
  lines_input_tone(&input, 0.3, 1, 0);
  lines_input_noise(&input, 1e-4, &seed);
  struct sc_lines_result result = lines_input_measure(lines, &input);
  const struct sc_tone *tone = lines_input_find(&result, 0.3, 1e-4);
  ck_assert_ptr_nonnull(tone);
  /* The rate is 1 Hz: noise of power 1e-4 over 1 Hz, or over half that on one side. */
  double density = complex_input ? 1e-4 : 2e-4;
  ck_assert_double_eq_tol(tone->noise_density / density, 1, 0.12);
  ck_assert_double_eq_tol(tone->level_db.value, complex_input ? 0 : -3.0103, 0.001);
  ck_assert_double_eq_tol(tone->amplitude, 1, 1e-4);
  double e = pow(10, tone->level_db.value / 10) * result.record_s / tone->noise_density;
  ck_assert_double_eq_tol(10 * log10(e), tone->snr_db, 1e-6);
  sc_lines_destroy(lines);
  lines_input_free(&input);
}
END_TEST

Suite *lines_accuracy_suite(void)
{
  Suite *suite = suite_create("lines: accuracy");
  TCase *tcase = tcase_create("accuracy");
  tcase_add_loop_test(tcase, tones_reach_the_bound_with_honest_uncertainties, 0, SCENES);
  tcase_add_test(tcase, records_are_combined);
  tcase_add_test(tcase, coherence_tells_a_steady_phase_from_a_jumping_one);
  tcase_add_loop_test(tcase, noise_density_is_per_hertz, 0, 2);
  suite_add_tcase(suite, tcase);
  return suite;
}
