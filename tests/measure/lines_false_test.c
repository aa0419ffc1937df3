/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What is no line: noise, at the stated rate; programme; the edges of bands; the skirts of noisy
 * oscillators; carriers that drift. And lines on top of these, which must be found. */
#include <config.h>

#include <math.h>
#include <stdio.h>

#include <check.h>

#include "measure/lines_input.h"
#include "measure/suites.h"
#include "support/random.h"
#include "support/support.h"

static const double two_pi = 6.283185307179586476925286766559;

enum { SHORT = 4096, LONG = 65536 };

struct rate {
  bool complex_input;
  size_t length, records;
  double stated;
};
static const struct rate rates[] = {
    {true, SHORT, 1, 0.1},
    {false, SHORT, 1, 0.1},
    {true, SHORT, 4, 0.1},
    {false, LONG, 1, 0.3},
};
enum { RATES = sizeof rates / sizeof *rates };

/* The rate may be missed by chance, three sigmas, and must not be far below it either, or lines
 * would be lost for nothing. */
START_TEST(noise_makes_lines_at_the_stated_rate)
{
  const struct rate *rate = &rates[_i];
  uint64_t seed = support_seed("noise_makes_lines", 31415 + (uint64_t)_i);
  struct lines_input input = lines_input_make(rate->length * rate->records, rate->complex_input);
  struct sc_lines *lines = lines_input_finder(&input, rate->length, rate->stated);
  unsigned trials = support_trials(support_long() ? 20000 : 800), with = 0;
  trials = (unsigned)(trials * SHORT / (rate->length * rate->records)) + 1;
  for (unsigned i = 0; i < trials; i++) {
    lines_input_clear(&input);
    lines_input_noise(&input, 1, &seed);
    with += lines_input_measure(lines, &input).count > 0;
  }
  double expected = rate->stated * trials;
  printf("noise, %zu frames, %zu record(s): lines in %u of %u, stated %.0f at most\n", rate->length,
         rate->records, with, trials, expected);
  ck_assert_double_le(with, expected + 3 * sqrt(expected) + 1);
  if (trials > 500)
    ck_assert_double_ge(with, expected / 10);
  sc_lines_destroy(lines);
  lines_input_free(&input);
}
END_TEST

/* Noise through three poles, as audio; its deviation in radians per frame. */
struct programme {
  double stages[3];
};

static double next_programme(struct programme *programme, double share, uint64_t *seed)
{
  double value = support_normal(seed);
  for (int i = 0; i < 3; i++)
    value = programme->stages[i] += share * (value - programme->stages[i]);
  return value;
}

static void add_programme(struct lines_input *input, double deviation, double pilot, uint64_t *seed)
{
  struct programme programme = {{0}};
  double phase = 0;
  for (size_t i = 0; i < input->count; i++) {
    double pilot_now = pilot * sin(two_pi * remainder(0.019 * (double)i, 1));
    phase += deviation * next_programme(&programme, 0.1, seed) + pilot_now;
    input->frames[2 * i] += cos(phase);
    input->frames[2 * i + 1] += sin(phase);
  }
}

START_TEST(programme_makes_no_lines_and_hides_none)
{
  const double carrier = 0.0537, strength = 0.2;
  double e_db = 0;
  uint64_t seed = support_seed("programme", 27182);
  struct lines_input input = lines_input_make(LONG, true);
  struct sc_lines *lines = lines_input_finder(&input, 0, 0);
  unsigned trials = support_trials(20), found = 0, others = 0;
  for (unsigned i = 0; i < trials; i++) {
    lines_input_clear(&input);
    add_programme(&input, 1, 0.04, &seed);
    lines_input_noise(&input, 1e-6, &seed);
    lines_input_tone(&input, carrier, strength, 1);
    struct sc_lines_result result = lines_input_measure(lines, &input);
    const struct sc_tone *tone = lines_input_find(&result, carrier, 1.0 / LONG);
    found += tone != NULL;
    others += (unsigned)result.count - (tone != NULL);
    if (!tone)
      continue;
    e_db += tone->snr_db / trials;
    ck_assert_double_le(fabs(tone->amplitude - strength), 4.5 * tone->amplitude_uncertainty);
  }
  printf("programme: the line found in %u of %u, E %.1f dB, %u other lines\n", found, trials, e_db,
         others);
  ck_assert_uint_eq(found, trials);
  ck_assert_uint_le(others, trials / 100);
  sc_lines_destroy(lines);
  lines_input_free(&input);
}
END_TEST

/* A carrier whose phase walks, `step` rad a frame: skirts that fall by 20 dB a decade. */
START_TEST(skirts_of_an_oscillator_are_no_lines)
{
  static const double steps[] = {1e-3, 1e-4, 1e-5};
  uint64_t seed = support_seed("skirts", 161803 + (uint64_t)_i);
  struct lines_input input = lines_input_make(LONG, true);
  struct sc_lines *lines = lines_input_finder(&input, 0, 0);
  unsigned trials = support_trials(40), carriers = 0, others = 0;
  for (unsigned i = 0; i < trials; i++) {
    double phase = 0;
    lines_input_clear(&input);
    for (size_t k = 0; k < LONG; k++) {
      phase += two_pi * 0.1234567 + steps[_i] * support_normal(&seed);
      input.frames[2 * k] = cos(phase);
      input.frames[2 * k + 1] = sin(phase);
    }
    lines_input_noise(&input, 2e-6, &seed);
    struct sc_lines_result result = lines_input_measure(lines, &input);
    unsigned carrier = lines_input_find(&result, 0.1234567, 10.0 / LONG) != NULL;
    carriers += carrier;
    others += (unsigned)result.count - carrier;
  }
  printf("phase noise %g: carrier in %u of %u, %u other lines\n", steps[_i], carriers, trials,
         others);
  ck_assert_uint_ge(carriers, trials - trials / 20);
  ck_assert_uint_le(others, 1);
  sc_lines_destroy(lines);
  lines_input_free(&input);
}
END_TEST

/* Noise in bands with steep edges: three resonators in a row. The stated rate is that of white
 * noise; here one result in fifty has a line (36 in 1800 trials), and many more are too many. */
START_TEST(edges_of_bands_are_no_lines)
{
  const double widths[] = {0.1, 0.01, 0.002};
  double r = 1 - widths[_i], turn = 2 * r * cos(two_pi * 0.05);
  uint64_t seed = support_seed("edges", 577 + (uint64_t)_i);
  struct lines_input input = lines_input_make(LONG, false);
  struct sc_lines *lines = lines_input_finder(&input, 0, 0);
  unsigned trials = support_trials(support_long() ? 600 : 40), found = 0;
  for (unsigned i = 0; i < trials; i++) {
    double memory[3][2] = {{0}};
    for (size_t k = 0; k < LONG; k++) {
      double value = support_normal(&seed);
      for (int s = 0; s < 3; s++) {
        value = value * widths[_i] + turn * memory[s][0] - r * r * memory[s][1];
        memory[s][1] = memory[s][0];
        memory[s][0] = value;
      }
      input.frames[k] = value;
    }
    lines_input_noise(&input, 1e-8, &seed);
    found += (unsigned)lines_input_measure(lines, &input).count;
  }
  printf("bands of noise, width %g: %u lines in %u\n", widths[_i], found, trials);
  ck_assert_uint_le(found, 1 + trials / 20);
  sc_lines_destroy(lines);
  lines_input_free(&input);
}
END_TEST

/* What moves by many bins in a record is no line; by less than one it is, and says how badly. */
START_TEST(a_drifting_carrier_is_measured_honestly_or_not_at_all)
{
  const double drifts[] = {0.3, 1, 3, 10, 30, 300}; /* bins in a record */
  uint64_t seed = support_seed("drift", 1414);
  struct lines_input input = lines_input_make(LONG, true);
  struct sc_lines *lines = lines_input_finder(&input, 0, 0);
  for (size_t i = 0; i < sizeof drifts / sizeof *drifts; i++) {
    lines_input_clear(&input);
    for (size_t k = 0; k < LONG; k++) {
      double part = (double)k / LONG,
             phase = two_pi * (1234.3 * part + drifts[i] * part * part / 2);
      input.frames[2 * k] = cos(phase);
      input.frames[2 * k + 1] = sin(phase);
    }
    lines_input_noise(&input, 2e-6, &seed);
    struct sc_lines_result result = lines_input_measure(lines, &input);
    ck_assert_uint_eq(result.count, drifts[i] < 5 ? 1 : 0);
    if (result.count == 0)
      continue;
    const struct sc_tone *tone = &result.tones[0];
    double middle = (1234.3 + drifts[i] / 2) / LONG;
    ck_assert_double_le(fabs(tone->frequency_hz.value - middle),
                        3 * tone->frequency_hz.uncertainty);
    ck_assert_double_le(fabs(tone->level_db.value), 3 * tone->level_db.uncertainty);
  }
  sc_lines_destroy(lines);
  lines_input_free(&input);
}
END_TEST

/* Two floors 60 dB apart in one spectrum: the threshold follows. */
START_TEST(the_floor_is_followed)
{
  uint64_t seed = support_seed("floor", 1732);
  struct lines_input input = lines_input_make(LONG, false);
  struct sc_lines *lines = lines_input_finder(&input, 0, 0);
  double before = 0;
  for (size_t k = 0; k < LONG; k++) { /* first difference, twice: quiet at low frequencies */
    double value = support_normal(&seed);
    input.frames[k] = value - before;
    before = value;
  }
  for (size_t k = LONG - 1; k > 0; k--)
    input.frames[k] -= input.frames[k - 1];
  const double places[] = {0.01, 0.03, 0.1, 0.3, 0.45};
  double strengths[5];
  for (size_t i = 0; i < 5; i++) {
    double gain = pow(2 * sin(two_pi * places[i] / 2), 2);
    strengths[i] = lines_input_amplitude(26, LONG, false) * gain;
    lines_input_tone(&input, places[i], strengths[i], 0);
  }
  struct sc_lines_result result = lines_input_measure(lines, &input);
  ck_assert_uint_eq(result.count, 5);
  for (size_t i = 0; i < 5; i++) {
    const struct sc_tone *tone = lines_input_find(&result, places[i], 1.0 / LONG);
    ck_assert_ptr_nonnull(tone);
    ck_assert_double_eq_tol(tone->snr_db, 26, 2.5);
  }
  sc_lines_destroy(lines);
  lines_input_free(&input);
}
END_TEST

Suite *lines_false_suite(void)
{
  Suite *suite = suite_create("lines: false and hidden");
  TCase *tcase = tcase_create("false");
  tcase_add_loop_test(tcase, noise_makes_lines_at_the_stated_rate, 0, RATES);
  tcase_add_test(tcase, programme_makes_no_lines_and_hides_none);
  tcase_add_loop_test(tcase, skirts_of_an_oscillator_are_no_lines, 0, 3);
  tcase_add_loop_test(tcase, edges_of_bands_are_no_lines, 0, 3);
  tcase_add_test(tcase, a_drifting_carrier_is_measured_honestly_or_not_at_all);
  tcase_add_test(tcase, the_floor_is_followed);
  suite_add_tcase(suite, tcase);
  return suite;
}
