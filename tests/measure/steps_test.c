/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Jumps of a carrier against where they were put; a modulation, a drift and a wander have none. */
#include <config.h>

#include <math.h>
#include <stdlib.h>

#include <check.h>

#include "measure/steps.h"
#include "measure/suites.h"
#include "support/random.h"
#include "support/support.h"

#define PI 3.14159265358979323846

enum { RATE = 250000, FRAMES = 256 * DSP_TAPER_BLOCK };

/* Of a demodulated frequency. */
struct course {
  double jump_hz[2], jump_s[2];
  double noise_khz, tone_khz, tone_hz;
  double drift_hz_s, wander_hz, wander_s, settle_hz, settle_s;
  double pink_khz; /* rms of each of the octaves from 3 Hz to 3 kHz */
  double burst_khz, burst_hz, burst_from_s, burst_s;
  double thump_khz, thump_s; /* one half of a sine */
  double spike_khz;          /* of one frame, as lost samples make it */
};

static const double least_hz = 1;

static double slow_hz(const struct course *c, double t)
{
  double hz = c->drift_hz_s * t;
  for (int i = 0; i < 2; i++)
    hz += t >= c->jump_s[i] ? c->jump_hz[i] : 0;
  if (c->wander_hz > 0)
    hz += c->wander_hz * sin(2 * PI * t / c->wander_s);
  return c->settle_hz > 0 ? hz + c->settle_hz * exp(-t / c->settle_s) : hz;
}

static double events_khz(const struct course *c, double t)
{
  static const double at_s = 0.45;
  double khz = 0;
  if (t >= c->burst_from_s && t < c->burst_from_s + c->burst_s)
    khz += c->burst_khz * sin(2 * PI * c->burst_hz * (t - c->burst_from_s));
  if (c->thump_s > 0 && t >= at_s && t < at_s + c->thump_s)
    khz += c->thump_khz * sin(PI * (t - at_s) / c->thump_s);
  if (t >= at_s && t < at_s + 1.0 / RATE)
    khz += c->spike_khz;
  return khz;
}

static struct measure_steps seen(const struct course *c, uint64_t seed)
{
  static struct dsp_hops hops;
  struct dsp_taper taper;
  float khz[DSP_TAPER_BLOCK];
  struct support_pink pink;
  uint64_t random = seed;
  dsp_taper_reset(&taper);
  support_pink_start(&pink, RATE);
  dsp_hops_reset(&hops);
  for (size_t at = 0; at < FRAMES; at += DSP_TAPER_BLOCK) {
    for (size_t i = 0; i < DSP_TAPER_BLOCK; i++) {
      const double t = (double)(at + i) / RATE;
      double value = 1e-3 * slow_hz(c, t) + events_khz(c, t);
      value += c->tone_khz * sin(2 * PI * c->tone_hz * t) + c->noise_khz * support_normal(&random);
      khz[i] =
          (float)(c->pink_khz > 0 ? value + c->pink_khz * support_pink(&pink, &random) : value);
    }
    dsp_hops_feed(&hops, &taper, khz, DSP_TAPER_BLOCK);
  }
  return measure_steps_of(&hops, least_hz);
}

static void check_found(const struct course *c, size_t count)
{
  const struct measure_steps steps = seen(c, 1);
  ck_assert_msg(steps.count == count, "%g Hz at %g s, tone %g Hz: %zu", c->jump_hz[0], c->jump_s[0],
                c->tone_hz, steps.count);
  for (size_t i = 0; i < count; i++) {
    ck_assert_double_le(steps.from[i], c->jump_s[i] * RATE);
    ck_assert_double_ge(steps.to[i], c->jump_s[i] * RATE);
    ck_assert_double_le(steps.to[i] - steps.from[i], 0.25 * RATE);
  }
}

START_TEST(a_jump_is_found_where_it_is)
{
  static const double sizes_hz[] = {50, -300, 5000}, places_s[] = {0.15, 0.5, 0.9};
  for (size_t i = 0; i < 9; i++) {
    struct course c = {{sizes_hz[i % 3], 0}, {places_s[i / 3], 0}, .noise_khz = 0.03};
    check_found(&c, 1);
    c.tone_khz = 20;
    c.tone_hz = 1000;
    check_found(&c, 1);
  }
}
END_TEST

START_TEST(low_notes_and_a_programme_hide_no_large_jump)
{
  check_found(&(struct course){{3000, 0}, {0.5, 0}, .tone_khz = 20, .tone_hz = 60}, 1);
  check_found(&(struct course){{5000, 0}, {0.5, 0}, .noise_khz = 0.03, .pink_khz = 0.03}, 1);
}
END_TEST

START_TEST(two_jumps_are_found)
{
  check_found(&(struct course){{700, -900}, {0.3, 0.7}, .noise_khz = 0.03}, 2);
}
END_TEST

START_TEST(what_moves_otherwise_does_not_jump)
{
  static const struct course courses[] = {
      {.noise_khz = 0.03},
      {.noise_khz = 0.03, .drift_hz_s = 2000},
      {.wander_hz = 500, .wander_s = 2},
      {.wander_hz = 500, .wander_s = 0.3},
      {.wander_hz = 300, .wander_s = 10},
      {.settle_hz = 3000, .settle_s = 1},
      {.settle_hz = 3000, .settle_s = 0.2},
      {.tone_khz = 40, .tone_hz = 5},
      {.tone_khz = 40, .tone_hz = 31.7},
      {.noise_khz = 0.1, .spike_khz = 120},
  };
  for (size_t i = 0; i < sizeof courses / sizeof *courses; i++)
    ck_assert_msg(seen(&courses[i], 1).count == 0, "course %zu", i);
}
END_TEST

/* A note that began before the row, or goes on behind it: the rest of the row is silent. */
START_TEST(what_is_left_of_a_note_is_no_jump)
{
  static const double hz[] = {16, 25, 41};
  for (size_t i = 0; i < 30; i++) {
    const double left_s = 0.05 + 0.01 * (double)(i / 3), all_s = (double)FRAMES / RATE;
    struct course note = {.noise_khz = 0.003, .burst_khz = 40, .burst_hz = hz[i % 3]};
    note.burst_s = 0.2;
    note.burst_from_s = left_s - note.burst_s;
    ck_assert_msg(seen(&note, 1).count == 0, "%g Hz until %g s", note.burst_hz, left_s);
    note.burst_from_s = all_s - left_s;
    ck_assert_msg(seen(&note, 1).count == 0, "%g Hz from %g s", note.burst_hz, note.burst_from_s);
  }
}
END_TEST

/* Notes that begin and end anywhere, in silence, where nothing else moves the mean. */
START_TEST(notes_and_thumps_are_no_jumps)
{
  static const double hz[] = {16, 25, 41, 80, 440}, lasts_s[] = {0.05, 0.1, 0.2, 0.4, 2};
  uint64_t random = support_seed("notes", 1);
  for (size_t i = 0; i < 25; i++) {
    const struct course note = {.noise_khz = 0.1,
                                .burst_khz = 40,
                                .burst_hz = hz[i % 5],
                                .burst_s = lasts_s[i / 5 % 5],
                                .burst_from_s = 0.5 + 0.4 * support_uniform(&random)};
    ck_assert_msg(seen(&note, i + 1).count == 0, "%g Hz for %g s from %g s", note.burst_hz,
                  note.burst_s, note.burst_from_s);
  }
  for (double s = 0.01; s < 0.08; s *= 1.3)
    ck_assert_msg(
        seen(&(struct course){.noise_khz = 0.1, .thump_khz = 30, .thump_s = s}, 1).count == 0,
        "thump of %g s", s);
}
END_TEST

START_TEST(a_programme_is_no_jump)
{
  const struct course programme = {.noise_khz = 0.03, .pink_khz = 5};
  const unsigned trials = support_trials(24);
  for (unsigned i = 0; i < trials; i++)
    ck_assert_uint_eq(seen(&programme, support_seed("programme", i)).count, 0);
}
END_TEST

/* A jump that is a few times what a programme makes may be the programme's; one that is much more
 * is told, once. */
START_TEST(what_a_programme_may_make_is_no_jump)
{
  unsigned small = 0, large = 0;
  for (unsigned seed = 1; seed <= 8; seed++) {
    struct course c = {.jump_hz = {3000}, .jump_s = {0.52}, .pink_khz = 0.3};
    small += seen(&c, seed).count > 0;
    c.jump_hz[0] = 20e3;
    large += seen(&c, seed).count == 1;
  }
  ck_assert_uint_eq(small, 0);
  ck_assert_uint_eq(large, 8);
}
END_TEST

Suite *steps_suite(void)
{
  Suite *suite = suite_create("steps");
  TCase *tcase = tcase_create("steps");
  tcase_add_test(tcase, a_jump_is_found_where_it_is);
  tcase_add_test(tcase, low_notes_and_a_programme_hide_no_large_jump);
  tcase_add_test(tcase, two_jumps_are_found);
  tcase_add_test(tcase, what_moves_otherwise_does_not_jump);
  tcase_add_test(tcase, what_is_left_of_a_note_is_no_jump);
  tcase_add_test(tcase, notes_and_thumps_are_no_jumps);
  tcase_add_test(tcase, a_programme_is_no_jump);
  tcase_add_test(tcase, what_a_programme_may_make_is_no_jump);
  suite_add_tcase(suite, tcase);
  return suite;
}
