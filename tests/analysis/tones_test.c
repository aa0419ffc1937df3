/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Two and three tones with indices up to 3: every line on air is predicted from the measured
 * composite, as a modulation worked out by numbers (one transform of exp(j phase) over a period
 * of all tones) has it. */
#include <config.h>

#include <complex.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include <fftw3.h>

#include "analysis/chain.h"
#include "analysis/suites.h"
#include "support/random.h"
#include "support/support.h"

enum { POINTS = 1 << 19, TONES_MAX = 3 }; /* of a second: a hertz each */
static const double pi = 3.14159265358979323846;
static const double weakest_dbc = -60, near_null = 1.7783e-4; /* -75 dBc */
static const double energy_db = 46, right_db = 0.1;
static const double cnr_db = 60; /* in 200 kHz: a line of -60 dBc has an energy of 53 dB in 1 s */

struct scene {
  double hz[TONES_MAX], index[TONES_MAX];
  size_t count;
};

static double between(uint64_t *state, double low, double high)
{
  return low + (high - low) * (support_uniform(state) + 1) / 2;
}

/* Whole hertz; no combination of low orders comes within 30 Hz of another. */
static bool crowded(const struct scene *scene)
{
  enum { ORDERS = 8 };
  for (int a = -ORDERS; a <= ORDERS; a++)
    for (int b = -ORDERS; b <= ORDERS; b++)
      for (int c = scene->count > 2 ? -ORDERS : 0; c <= (scene->count > 2 ? ORDERS : 0); c++) {
        double hz = a * scene->hz[0] + b * scene->hz[1] + c * scene->hz[2];
        if ((a != 0 || b != 0 || c != 0) && fabs(hz) < 30)
          return true;
      }
  return false;
}

static struct scene choose(uint64_t *state, size_t count)
{
  struct scene scene = {.count = count};
  do
    for (size_t i = 0; i < count; i++) {
      scene.hz[i] = round(between(state, 1500, 14000));
      scene.index[i] = between(state, 0.3, 3);
    }
  while (crowded(&scene));
  return scene;
}

static fftw_complex *modulate(const struct scene *scene)
{
  fftw_complex *signal = fftw_malloc(POINTS * sizeof *signal);
  ck_assert_ptr_nonnull(signal);
  fftw_plan plan = fftw_plan_dft_1d(POINTS, signal, signal, FFTW_FORWARD, FFTW_ESTIMATE);
  for (size_t t = 0; t < POINTS; t++) {
    double phase = 0;
    for (size_t i = 0; i < scene->count; i++)
      phase += scene->index[i] * sin(2 * pi * fmod(scene->hz[i] * (double)t, POINTS) / POINTS);
    signal[t] = cexp(I * phase) / POINTS;
  }
  fftw_execute(plan);
  fftw_destroy_plan(plan);
  return signal;
}

static struct sc_result measure(const struct scene *scene, uint64_t seed)
{
  struct chain chain = chain_usual();
  chain.signal.cnr_db = cnr_db;
  chain.signal.seed = seed;
  for (size_t i = 0; i < scene->count; i++) {
    double khz = 1e-3 * scene->index[i] * scene->hz[i];
    chain_add_audio(&chain, scene->hz[i], khz, khz);
  }
  return chain_measure(&chain);
}

struct tally {
  unsigned lines, nulls, complete, beyond; /* beyond: rests of more than three stated sigma */
  double worst_db, worst_null;
};

/* Measured and predicted against the numbers; near a null the complex amplitude has to do. */
static void compare(const struct sc_line *line, double size, struct tally *tally)
{
  ck_assert_msg(line->verdict == SC_VERDICT_EXPLAINED, "%g Hz: %s", line->offset_hz.value,
                line->cause);
  ck_assert_ptr_null(line->predicted_dbc.why);
  double predicted = pow(10, line->predicted_dbc.value / 20);
  double off_db = fabs(line->predicted_dbc.value - 20 * log10(size));
  if (off_db > right_db) {
    tally->nulls++;
    tally->worst_null = fmax(tally->worst_null, fabs(predicted - size));
  } else {
    tally->worst_db = fmax(tally->worst_db, off_db);
  }
  if (line->tone.snr_db >= energy_db && off_db <= right_db)
    ck_assert_double_lt(fabs(line->rest_db.value), right_db);
  tally->beyond += fabs(line->rest_db.value) > 3 * line->rest_db.uncertainty;
  tally->lines++;
}

/* A search lists its strongest lines, and says so when there are more. */
static void try_scene(const struct scene *scene, uint64_t seed, struct tally *tally)
{
  fftw_complex *spectrum = modulate(scene);
  struct sc_result result = measure(scene, seed);
  double power = 0;
  bool complete = true;
  for (long hz = -POINTS / 2; hz < POINTS / 2; hz++) {
    double size = cabs(spectrum[hz < 0 ? hz + POINTS : hz]);
    if (size < pow(10, weakest_dbc / 20) || labs(hz) > 170000)
      continue;
    const struct sc_line *line = chain_line(&result.air_lines, (double)hz);
    ck_assert_msg(line != NULL || result.air_lines.full, "no line at %ld Hz", hz);
    complete = complete && line != NULL;
    if (line == NULL)
      continue;
    compare(line, size, tally);
    power += pow(10, line->predicted_dbc.value / 10);
  }
  /* Parseval: what is predicted is all of the carrier but for lines below -60 dBc. */
  if (complete)
    ck_assert_double_eq_tol(10 * log10(power), 0, 0.01);
  tally->complete += complete;
  sc_result_clear(&result);
  fftw_free(spectrum);
}

START_TEST(tones_are_predicted_as_numbers_have_them)
{
  uint64_t state = support_seed("tones_are_predicted_as_numbers_have_them", 515);
  unsigned scenes = support_trials(support_long() ? 100 : 2);
  struct tally tally = {0};
  for (unsigned i = 0; i < scenes; i++) {
    struct scene scene = choose(&state, 2 + i % 2);
    try_scene(&scene, 100 + i, &tally);
  }
  printf("%u lines of %u scenes: predicted within %.4f dB; %u near nulls within %.1f dBc\n",
         tally.lines, scenes, tally.worst_db, tally.nulls,
         20 * log10(fmax(tally.worst_null, 1e-9)));
  printf("%u rests beyond three sigma; %u scenes complete\n", tally.beyond, tally.complete);
  ck_assert_uint_gt(tally.complete, 0);
  ck_assert_uint_gt(tally.lines, 40 * scenes);
  ck_assert_uint_le(tally.beyond, tally.lines / 100 + 3); /* 0.3 % by chance */
  ck_assert_double_lt(tally.worst_null, near_null);
}
END_TEST

Suite *tones_suite(void)
{
  Suite *suite = suite_create("tones");
  TCase *air = tcase_create("air");
  tcase_add_test(air, tones_are_predicted_as_numbers_have_them);
  suite_add_tcase(suite, air);
  return suite;
}
