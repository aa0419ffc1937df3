/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What stands above 53 kHz, against scenarios: places, kinds, names, and programme that reaches up
 * there. */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "analysis/scene.h"
#include "analysis/suites.h"
#include "support/random.h"
#include "support/support.h"

static void add_subcarrier(struct sc_scenario *s, double hz, double khz, double own_khz)
{
  struct sc_subcarrier *sub = &s->station.subcarriers[s->station.subcarrier_count++];
  *sub = (struct sc_subcarrier){.hz = hz, .khz = khz, .limit_hz = 4000, .programme_count = 1};
  sub->programme[0] =
      (struct sc_programme){.kind = SC_PROGRAMME_TONE, .to = SC_TO_BOTH, .hz = 700, .khz = own_khz};
}

static void ck_injection(const struct sc_injection *found, enum sc_injection_kind kind, double hz,
                         double khz)
{
  ck_assert_msg(found->kind == kind, "%s at %.0f Hz", sc_injection_kind_name(found->kind), hz);
  ck_assert_double_eq_tol(found->offset_hz.value, hz, kind == SC_INJECTION_TONE ? 100 : 700);
  ck_assert_double_eq_tol(found->deviation_khz.value, khz, 0.03 * khz);
  ck_assert_double_gt(found->bandwidth_hz.value, 0);
}

/* An FM subcarrier at 66.5 kHz stands where the second data stream would (IEC 62106-1:2018, from
 * memory), and is none; nor is a tone at 57 kHz RDS. */
START_TEST(a_position_alone_names_no_data)
{
  struct sc_scenario s = scene_silent(384e3, 50);
  s.station.tones[0] = (struct sc_scenario_line){.hz = 57e3, .amplitude = 2};
  s.station.tone_count = 1;
  add_subcarrier(&s, 66.4e3, 7.5, 3);
  struct sc_result r = scene_play(&s);
  ck_assert_uint_eq(r.injections.count, 2);
  ck_assert_ptr_null(r.injections.at[0].label);
  ck_assert_str_eq(r.injections.at[1].label, "auxiliary service");
  sc_result_clear(&r);
}
END_TEST

/* A tone anywhere between 53 and 99 kHz is no service for that; at 67 kHz, where the usual one has
 * its carrier (47 CFR 73.319, from memory), it may be one that rests. */
START_TEST(a_tone_is_a_service_at_its_place_alone)
{
  struct sc_scenario s = scene_silent(384e3, 50);
  s.station.tones[0] = (struct sc_scenario_line){.hz = 61300, .amplitude = 0.4};
  s.station.tones[1] = (struct sc_scenario_line){.hz = 67000, .amplitude = 7.5};
  s.station.tone_count = 2;
  struct sc_result r = scene_play(&s);
  ck_assert_uint_eq(r.injections.count, 2);
  ck_assert_ptr_null(r.injections.at[0].label);
  ck_assert_ptr_null(r.injections.at[0].customary);
  ck_assert_str_eq(r.injections.at[1].label, "auxiliary service");
  sc_result_clear(&r);
}
END_TEST

/* One of each kind, the FM one at no customary place; data are no FM. */
START_TEST(above_the_difference)
{
  struct sc_scenario s = scene_silent(480e3, 50);
  s.station.tones[0] = (struct sc_scenario_line){.hz = 61300, .amplitude = 0.4};
  s.station.tone_count = 1;
  add_subcarrier(&s, 84.5e3, 6, 3);
  s.station.bands[0] = (struct sc_band){.hz = 71e3, .width_hz = 12e3, .rms_khz = 2};
  s.station.band_count = 1;
  struct sc_result r = scene_play(&s);
  ck_assert_ptr_null(r.injections.why);
  ck_assert_uint_eq(r.injections.count, 3);
  ck_injection(&r.injections.at[0], SC_INJECTION_TONE, 61300, 0.4);
  ck_injection(&r.injections.at[1], SC_INJECTION_BAND, 71e3, 2 * sqrt(2));
  ck_injection(&r.injections.at[2], SC_INJECTION_FM, 84.5e3, 6);
  ck_assert_double_eq_tol(r.injections.at[2].own_rms_khz.value, 3 / sqrt(2), 0.3);
  ck_assert_double_eq_tol(r.injections.at[1].bandwidth_hz.value, 12e3, 1500);
  sc_result_clear(&r);
  s = scene_silent(480e3, 40);
  r = scene_play(&s);
  ck_assert_uint_eq(r.injections.count, 0);
  sc_result_clear(&r);
}
END_TEST

/* Programme whose low-pass lets some of it through above 15 kHz: the difference signal has it above
 * 53 kHz, and as much below 23 kHz (its side bands are equal: ITU-R BS.450-3, 2.1). A band in the
 * same place without that twin is what it was. */
START_TEST(the_edge_of_the_difference_is_no_service)
{
  struct sc_scenario s = scene_silent(384e3, 50);
  s.station.programme[0] =
      (struct sc_programme){.kind = SC_PROGRAMME_PINK, .to = SC_TO_LEFT, .khz = 15};
  s.station.programme_count = 1;
  struct sc_result r = scene_play(&s);
  ck_assert_uint_eq(r.injections.count, 1);
  ck_assert(r.injections.at[0].of_difference);
  ck_assert_str_eq(r.injections.at[0].label, "upper edge of the difference signal");
  sc_result_clear(&r);
  s = scene_silent(384e3, 50);
  s.station.bands[0] = (struct sc_band){.hz = 53.5e3, .width_hz = 2e3, .rms_khz = 0.5};
  s.station.band_count = 1;
  r = scene_play(&s);
  ck_assert_uint_eq(r.injections.count, 1);
  ck_assert(!r.injections.at[0].of_difference);
  sc_result_clear(&r);
}
END_TEST

/* At 20 dB the data stands out of the noise in two halves; under a strong difference signal its
 * lower end runs into that one's edge. Either is RDS, as the decoder has shown. */
START_TEST(data_is_one_service_whatever_stands_out_of_it)
{
  struct sc_scenario s = scene_silent(384e3, 20);
  s.station.rds.khz = 1.5;
  s.station.rds.pi = 0x1234;
  struct sc_result r = scene_play(&s);
  ck_assert_uint_eq(r.injections.count, 1);
  ck_assert_str_eq(r.injections.at[0].label, "RDS");
  ck_assert_double_eq_tol(r.injections.at[0].offset_hz.value, 57e3, 300);
  sc_result_clear(&r);
  s.cnr_db = 50;
  s.station.rds.khz = 4;
  s.station.programme[0] =
      (struct sc_programme){.kind = SC_PROGRAMME_WHITE, .to = SC_TO_LEFT, .khz = 20};
  s.station.programme_count = 1;
  r = scene_play(&s);
  ck_assert_uint_eq(r.injections.count, 1);
  ck_assert_str_eq(r.injections.at[0].label, "RDS");
  ck_assert_double_eq_tol(r.injections.at[0].deviation_khz.value, 4, 0.1);
  sc_result_clear(&r);
}
END_TEST

static void add_noise(struct sc_scenario *s, enum sc_programme_kind kind, double khz)
{
  s->station.programme_count = 2;
  s->station.programme[0] = (struct sc_programme){.kind = kind, .to = SC_TO_LEFT, .khz = khz};
  s->station.programme[1] = (struct sc_programme){.kind = kind, .to = SC_TO_RIGHT, .khz = khz};
}

/* The middle of the data is its suppressed subcarrier, three times the pilot (IEC 62106, from
 * memory), and 99 % of its power are within 3.9 kHz (computed of shaped biphase data), whatever the
 * programme has beside it. */
START_TEST(programme_does_not_move_the_data)
{
  static const struct {
    enum sc_programme_kind kind;
    double khz, limit_hz;
    bool wide; /* its width is hidden */
  } cases[] = {{SC_PROGRAMME_PINK, 10, 15e3, false},
               {SC_PROGRAMME_WHITE, 8, 15e3, false},
               {SC_PROGRAMME_PINK, 8, 17e3, false},
               {SC_PROGRAMME_WHITE, 3, 19.5e3, true}};
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct sc_scenario s = scene_silent(384e3, 50);
    s.station.rds.khz = 2;
    s.station.rds.pi = 0x1234;
    s.station.limit_hz = cases[i].limit_hz;
    add_noise(&s, cases[i].kind, cases[i].khz);
    struct sc_result r = scene_play(&s);
    ck_assert_uint_eq(r.injections.count, 1);
    const struct sc_injection *found = &r.injections.at[0];
    ck_assert_str_eq(found->label, "RDS");
    ck_assert(!found->of_difference);
    /* a few pieces of a record tell the uncertainty, so chance makes it too small now and then */
    ck_assert_double_lt(found->offset_hz.uncertainty, 0.01);
    ck_assert_double_eq_tol(found->offset_hz.value, 57e3, 10 * found->offset_hz.uncertainty);
    ck_assert((found->bandwidth_hz.why != NULL) == cases[i].wide);
    if (!cases[i].wide)
      ck_assert_double_eq_tol(found->bandwidth_hz.value, 3.7e3, 250);
    sc_result_clear(&r);
  }
}
END_TEST

/* Bands that no decoder knows stand where they were put, within four of their uncertainties; under
 * a difference signal that is far stronger they are not told apart from it, and no middle is made
 * up. */
START_TEST(programme_does_not_move_other_bands)
{
  static const struct {
    double hz, width_hz, rms_khz, programme_khz, limit_hz;
    enum { TOLD, HIDDEN, EDGE } state;
  } cases[] = {{55.5e3, 3e3, 1, 8, 15e3, TOLD},      {56.9e3, 3.7e3, 1, 3, 16e3, TOLD},
               {57.6e3, 2.2e3, 2, 3, 16e3, TOLD},    {56.4e3, 1.7e3, 0.3, 1, 15e3, TOLD},
               {55.9e3, 2e3, 0.3, 10, 16e3, HIDDEN}, {56.6e3, 1.5e3, 0.5, 10, 18e3, EDGE}};
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i += support_stride(4)) {
    struct sc_scenario s = scene_silent(384e3, 60);
    s.seed = i;
    s.station.limit_hz = cases[i].limit_hz;
    s.station.bands[0] = (struct sc_band){cases[i].hz, cases[i].width_hz, cases[i].rms_khz};
    s.station.band_count = 1;
    add_noise(&s, cases[i].state == TOLD ? SC_PROGRAMME_PINK : SC_PROGRAMME_WHITE,
              cases[i].programme_khz);
    struct sc_result r = scene_play(&s);
    ck_assert_uint_eq(r.injections.count, 1);
    const struct sc_injection *found = &r.injections.at[0];
    ck_assert_msg(found->of_difference == (cases[i].state == EDGE), "%g Hz of %zu: %g kHz",
                  found->offset_hz.value, i, found->deviation_khz.value);
    ck_assert((found->offset_hz.why != NULL) == (cases[i].state == HIDDEN));
    if (cases[i].state == TOLD)
      ck_assert_double_eq_tol(found->offset_hz.value, cases[i].hz,
                              4 * found->offset_hz.uncertainty);
    if (cases[i].state != EDGE)
      ck_assert_double_eq_tol(found->deviation_khz.value, sqrt(2) * cases[i].rms_khz,
                              4 * found->deviation_khz.uncertainty + 0.03 * cases[i].rms_khz);
    sc_result_clear(&r);
  }
}
END_TEST

/* FM: the centre of its power is its mean frequency, as its power does not move. */
START_TEST(programme_does_not_move_fm_subcarriers)
{
  static const double places[] = {67e3, 92e3};
  for (size_t i = 0; i < 2; i++) {
    struct sc_scenario s = scene_silent(384e3, 60);
    s.station.limit_hz = 17e3;
    add_noise(&s, SC_PROGRAMME_PINK, 4);
    add_subcarrier(&s, places[i], 4, 2);
    struct sc_result r = scene_play(&s);
    ck_assert_uint_eq(r.injections.count, 2);
    ck_assert(r.injections.at[0].of_difference);
    const struct sc_injection *found = &r.injections.at[1];
    ck_injection(found, SC_INJECTION_FM, places[i], 4);
    ck_assert_double_eq_tol(found->offset_hz.value, places[i], found->offset_hz.uncertainty);
    sc_result_clear(&r);
  }
}
END_TEST

/* FM subcarriers and data at random places, at 30 to 50 dB. */
START_TEST(kinds_are_told_by_their_envelope)
{
  const unsigned trials = support_trials(support_long() ? 100 : 1);
  uint64_t random = support_seed("kinds_are_told_by_their_envelope", 6765);
  unsigned open = 0;
  double worst_khz = 0;
  for (unsigned t = 0; t < trials; t++) {
    struct sc_scenario s = scene_silent(384e3, 40 + 10 * support_uniform(&random));
    s.seed = support_random(&random);
    s.station.rds.khz = 3;
    s.station.rds.pi = 0x1234;
    const double hz = 80e3 + 12e3 * support_uniform(&random); /* 68 to 92 kHz */
    const double khz = 6 + 1.5 * support_uniform(&random), own = 3 + support_uniform(&random);
    add_subcarrier(&s, hz, khz, own);
    struct sc_result r = scene_play(&s);
    ck_assert_uint_eq(r.injections.count, 2);
    ck_assert_int_eq(r.injections.at[0].kind, SC_INJECTION_BAND);
    /* one report, one injection: what is customary at 57 kHz is the peak deviation of RDS */
    ck_assert_str_eq(r.injections.at[0].label, "RDS");
    ck_assert_double_eq_tol(r.injections.at[0].deviation_khz.value, 3, 0.06);
    ck_assert_double_eq(r.injections.at[0].injection_percent.value, r.rds.injection_percent.value);
    const struct sc_injection *found = &r.injections.at[1];
    open += found->kind != SC_INJECTION_FM;
    ck_assert_double_eq_tol(found->deviation_khz.value, khz, 0.03 * khz);
    if (found->kind == SC_INJECTION_FM)
      worst_khz = fmax(worst_khz, fabs(found->own_rms_khz.value - own / sqrt(2)));
    sc_result_clear(&r);
  }
  printf("kinds: %u of %u FM subcarriers not told, no data taken for FM, own deviation within "
         "%.2f kHz rms\n",
         open, trials, worst_khz);
  ck_assert_uint_le(open, trials / 20);
}
END_TEST

Suite *above_suite(void)
{
  Suite *suite = suite_create("analysis/above");
  TCase *tests = tcase_create("above");
  tcase_add_test(tests, a_position_alone_names_no_data);
  tcase_add_test(tests, a_tone_is_a_service_at_its_place_alone);
  tcase_add_test(tests, above_the_difference);
  tcase_add_test(tests, the_edge_of_the_difference_is_no_service);
  tcase_add_test(tests, data_is_one_service_whatever_stands_out_of_it);
  tcase_add_test(tests, programme_does_not_move_the_data);
  tcase_add_test(tests, programme_does_not_move_other_bands);
  tcase_add_test(tests, programme_does_not_move_fm_subcarriers);
  tcase_add_test(tests, kinds_are_told_by_their_envelope);
  tcase_set_timeout(tests, 7200);
  suite_add_tcase(suite, tests);
  return suite;
}
