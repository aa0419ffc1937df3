/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Amplitude modulation against its definition: a sine of the share m is 20 log10(m) re 100 %. */
#include <config.h>

#include <math.h>
#include <stdlib.h>

#include <sidecomb/am.h>

#include "measure/suites.h"
#include "measure/turns.h"
#include "support/support.h"

#define TWO_PI 6.283185307179586476925286766559

enum { RATE = 96000, BLOCK = 1000 };

/* A carrier that is frequency-modulated by 19 kHz, so that its phase turns. */
static struct sc_am measure(double share, double hz, double seconds, double noise_per_hz)
{
  const struct sc_am_settings settings = {RATE, 80e3};
  struct sc_am_meter *meter;
  struct sc_am am;
  ck_assert_int_eq(sc_am_create(&settings, &meter), SC_OK);
  const size_t frames = (size_t)(seconds * RATE);
  for (size_t n = 0; n < frames; n += BLOCK) {
    float channel[2 * BLOCK];
    for (size_t k = 0; k < BLOCK; k++) {
      const double t = (double)(n + k) / RATE, phase = 0.35 * sin(TWO_PI * 19e3 * t);
      const double envelope = 0.5 * (1.0 + share * sin(TWO_PI * hz * t));
      channel[2 * k] = (float)(envelope * cos(phase));
      channel[2 * k + 1] = (float)(envelope * sin(phase));
    }
    sc_am_feed(meter, channel, BLOCK);
  }
  sc_am_result(meter, noise_per_hz, &am);
  sc_am_destroy(meter);
  return am;
}

START_TEST(a_sine_has_its_depth)
{
  static const double hz[] = {60.0, 1000.0, 10e3};
  static const double shares[] = {0.3, 0.01, 1e-4};
  for (size_t i = 0; i < sizeof hz / sizeof *hz; i++) {
    const struct sc_am am = measure(shares[i], hz[i], 3.0, 1e-18);
    ck_assert_ptr_null(am.depth_db.why);
    ck_assert_double_eq_tol(am.depth_db.value, 20.0 * log10(shares[i]), 0.03);
  }
}
END_TEST

/* What comes after ten seconds is looked at by stretches; they add nothing of their own. */
START_TEST(stretches_read_the_same)
{
  const struct sc_am am = measure(1e-3, 400.0, 21.0, 1e-18);
  ck_assert_ptr_null(am.depth_db.why);
  ck_assert_double_eq_tol(am.depth_db.value, -60.0, 0.03);
  ck_assert_ptr_nonnull(measure(0.0, 400.0, 21.0, 1e-14).depth_db.why);
}
END_TEST

START_TEST(one_of_four_has_its_turn)
{
  srand((unsigned)support_seed("one_of_four_has_its_turn", 20261128));
  struct measure_turns turns = {.whole = 1000, .each = 100};
  size_t at = 0, on = 0, firsts = 0;
  while (at < 9000) {
    const struct measure_turn turn = measure_turns_next(&turns, 1 + (size_t)rand() % 300);
    ck_assert_uint_gt(turn.frames, 0);
    ck_assert(turn.on == (at < 1000 || (at - 1000) % 400 >= 300));
    ck_assert(turn.first == (at >= 1000 && (at - 1000) % 400 == 300));
    on += turn.on ? turn.frames : 0;
    firsts += turn.first;
    at += turn.frames;
  }
  ck_assert_uint_ge(on, 1000 + (at - 1000) / 400 * 100);
  ck_assert_uint_eq(firsts, (at - 1000 + 99) / 400);
}
END_TEST

Suite *am_suite(void)
{
  Suite *suite = suite_create("measure/am");
  TCase *tests = tcase_create("am");
  tcase_add_test(tests, a_sine_has_its_depth);
  tcase_add_test(tests, stretches_read_the_same);
  tcase_add_test(tests, one_of_four_has_its_turn);
  suite_add_tcase(suite, tests);
  return suite;
}
