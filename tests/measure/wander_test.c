/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Wandering carriers against what moved them; modulation never is one. */
#include <config.h>

#include <math.h>
#include <stdlib.h>

#include "measure/movement.h"
#include "measure/suites.h"
#include "support/random.h"
#include "support/support.h"

#define PI 3.14159265358979323846

enum { RATE = 192000, BLOCK = 4096 };

/* Of a demodulated frequency, in kHz. */
struct moves {
  double drift_hz_s, wander_hz, wander_s, settle_hz, settle_s;
  double note_khz, note_hz; /* a programme of one note */
  double pink_khz;          /* rms of each of the octaves from 3 Hz to 3 kHz */
};

static struct measure_movement seen(const struct moves *m, double seconds, uint64_t seed)
{
  static struct measure_mover mover;
  static float khz[BLOCK];
  struct support_pink pink;
  uint64_t random = seed;
  struct dsp_taper taper;
  dsp_taper_reset(&taper);
  support_pink_start(&pink, RATE);
  measure_mover_reset(&mover, RATE);
  for (size_t at = 0; at < (size_t)(seconds * RATE); at += BLOCK) {
    for (size_t i = 0; i < BLOCK; i++) {
      const double t = (double)(at + i) / RATE;
      double hz = m->drift_hz_s * t;
      if (m->wander_hz != 0)
        hz += m->wander_hz * sin(2 * PI * t / m->wander_s);
      if (m->settle_hz != 0)
        hz += m->settle_hz * exp(-t / m->settle_s);
      khz[i] = (float)(1e-3 * hz + m->note_khz * sin(2 * PI * m->note_hz * t) +
                       (m->pink_khz > 0 ? m->pink_khz * support_pink(&pink, &random) : 0));
    }
    measure_mover_feed(&mover, &taper, khz, BLOCK);
  }
  return measure_movement_of(&mover);
}

static void check_sine(const struct moves *m, double seconds)
{
  const struct measure_movement of = seen(m, seconds, 1);
  ck_assert_msg(of.known && of.wanders && of.sine.found, "%g Hz in %g s, note %g Hz: %d %d %g",
                m->wander_hz, m->wander_s, m->note_hz, of.wanders, of.sine.found, of.rms_hz);
  /* Through a window it is up to 3 % less (dsp/hops.h, T f = 0.6); a straight line takes a little.
   */
  ck_assert_double_eq_tol(of.span_hz, 2 * m->wander_hz,
                          0.03 * m->wander_hz + 4 * of.span_uncertainty_hz);
  ck_assert_double_eq_tol(of.rms_hz, m->wander_hz / sqrt(2), 0.1 * m->wander_hz);
  ck_assert_double_eq_tol(of.sine.period_s, m->wander_s,
                          4 * of.sine.period_uncertainty_s + 1e-4 * m->wander_s);
}

START_TEST(a_sine_is_told_by_what_it_is)
{
  static const struct moves sines[] = {
      {.wander_hz = 200, .wander_s = 5},
      {.wander_hz = 200, .wander_s = 5, .note_khz = 20, .note_hz = 41},
      {.wander_hz = 200, .wander_s = 5, .note_khz = 5, .note_hz = 31},
      {.wander_hz = 3, .wander_s = 1.7},
      {.wander_hz = 30, .wander_s = 0.4},
      {.wander_hz = 30, .wander_s = 0.36, .note_khz = 20, .note_hz = 1000},
  };
  for (size_t i = 0; i < sizeof sines / sizeof *sines; i++)
    check_sine(&sines[i], 16);
}
END_TEST

/* It goes from all of it to nearly nothing, and has no period. */
START_TEST(settling_is_seen)
{
  const struct moves moves = {.settle_hz = 3000, .settle_s = 3, .note_khz = 8, .note_hz = 45};
  const struct measure_movement of = seen(&moves, 12, 1);
  ck_assert(of.wanders && !of.sine.found);
  /* The middle of the first window and of the last are 0.175 s from the ends. */
  ck_assert_double_eq_tol(of.span_hz, 3000 * (exp(-0.175 / 3) - exp(-11.8 / 3)), 10);
}
END_TEST

/* Notes of all kinds of periods, those of the distance of windows among them. */
START_TEST(notes_and_a_straight_drift_are_no_wander)
{
  const double most = support_long() ? 1.003 : 1.03;
  for (double hz = 18; hz < 400; hz *= most) {
    const struct moves moves = {.note_khz = 40, .note_hz = hz, .drift_hz_s = 20};
    const struct measure_movement of = seen(&moves, 4, 1);
    ck_assert_msg(of.known && !of.wanders, "%g Hz: %g Hz rms", hz, of.rms_hz);
  }
}
END_TEST

START_TEST(pink_noise_is_no_wander)
{
  const unsigned trials = support_trials(40);
  const uint64_t seed = support_seed("pink_noise_is_no_wander", 1950);
  for (unsigned t = 0; t < trials; t++) {
    const struct moves moves = {.pink_khz = 3};
    const struct measure_movement of = seen(&moves, t % 4 == 0 ? 8 : 3, seed + t);
    ck_assert(of.known && !of.wanders);
  }
}
END_TEST

/* Too short to be told from a straight line, and one too small to matter. */
START_TEST(what_cannot_be_seen_is_not_told)
{
  const struct moves wander = {.wander_hz = 200, .wander_s = 5},
                     small = {.wander_hz = 0.1, .wander_s = 5};
  ck_assert(!seen(&wander, 0.1, 1).known);
  ck_assert(seen(&small, 10, 1).known && !seen(&small, 10, 1).wanders);
}
END_TEST

Suite *wander_suite(void)
{
  Suite *suite = suite_create("wander");
  TCase *tcase = tcase_create("wander");
  tcase_add_test(tcase, a_sine_is_told_by_what_it_is);
  tcase_add_test(tcase, settling_is_seen);
  tcase_add_test(tcase, notes_and_a_straight_drift_are_no_wander);
  tcase_add_test(tcase, pink_noise_is_no_wander);
  tcase_add_test(tcase, what_cannot_be_seen_is_not_told);
  suite_add_tcase(suite, tcase);
  return suite;
}
