/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Tones that swing the carrier farther than the 200 kHz it is looked for with: the channel is
 * around the carrier that was sent all the same, and the account is complete. */
#include <config.h>

#include <math.h>
#include <string.h>

#include "analysis/chain.h"
#include "analysis/scene.h"
#include "analysis/suites.h"
#include "support/support.h"

static const double sent_hz = 900; /* scene_silent */

static struct sc_scenario loud(double rate_hz, double pilot_khz, double hz, double khz)
{
  struct sc_scenario s = scene_silent(rate_hz, 50);
  s.station.pilot_khz = pilot_khz;
  scene_add_tone(&s, SC_TO_BOTH, hz, khz);
  return s;
}

static struct sc_result play(const struct sc_scenario *s)
{
  struct sc_analysis_settings settings = scene_settings(s);
  settings.lines = true;
  return scene_measure(s, &settings, NULL, NULL, NULL);
}

/* But `others`, which were sent, all are lines of the tones. */
static void check_explained(const struct sc_line_list *list, size_t others, const char *where)
{
  size_t beside = 0;
  ck_assert_uint_gt(list->count, others);
  for (size_t i = 0; i < list->count; i++)
    if (list->lines[i].verdict != SC_VERDICT_EXPLAINED)
      beside++;
  ck_assert_msg(beside == others, "%s: %zu of %zu lines are not explained", where, beside,
                list->count);
}

/* The tones, and nothing else. */
START_TEST(loud_tones_leave_nothing_over)
{
  const struct {
    double rate_hz, pilot_khz, hz, khz;
  } cases[] = {{384e3, 0, 400, 110},     {384e3, 6.75, 400, 110}, {500e3, 6.75, 1000, 125},
               {500e3, 0, 1000, 150},    {384e3, 0, 1000, 150},   {1e6, 6.75, 400, 110},
               {2.4e6, 6.75, 1000, 110}, {500e3, 0, 5000, 110},   {384e3, 6.75, 400, 60}};
  for (size_t i = 0; i < sizeof cases / sizeof *cases; i += support_stride(9)) {
    const struct sc_scenario s =
        loud(cases[i].rate_hz, cases[i].pilot_khz, cases[i].hz, cases[i].khz);
    struct sc_result result = play(&s);
    ck_assert_double_eq_tol(result.carrier.offset_hz.value, sent_hz, 0.1);
    check_explained(&result.air_lines, 0, "on air");
    check_explained(&result.composite_lines, 0, "on the composite");
    ck_assert_uint_eq(result.composite_lines.count, cases[i].pilot_khz > 0 ? 2 : 1);
    const struct sc_line *tone = chain_line(&result.composite_lines, cases[i].hz);
    ck_assert_ptr_nonnull(tone);
    ck_assert_double_eq_tol(tone->deviation_khz.value, cases[i].khz, 1e-4 * cases[i].khz);
    for (size_t k = 0; k < result.warnings.count; k++)
      ck_assert_ptr_null(strstr(result.warnings.text[k], "reaches farther"));
    sc_result_clear(&result);
  }
}
END_TEST

/* As audio is swept from 30 Hz to 15 kHz: index 2275, and more lines than are listed. A carrier
 * that is weaker than those is found beneath. */
START_TEST(a_low_note_of_full_deviation_leaves_nothing_over)
{
  struct sc_scenario s = loud(500e3, 6.75, 30, 68.25);
  s.seconds = 6;
  s.carriers[s.carrier_count++] =
      (struct sc_scenario_line){.hz = sent_hz + 40817, .amplitude = -55};
  struct sc_result result = play(&s);
  check_explained(&result.air_lines, 1, "on air");
  for (size_t i = 0; i < result.composite_lines.count; i++) {
    const struct sc_line *line = &result.composite_lines.lines[i]; /* beats but for two */
    ck_assert_msg(line->verdict == SC_VERDICT_EXPLAINED || line->verdict == SC_VERDICT_ARTEFACT,
                  "%g Hz: %s", line->offset_hz.value, line->cause);
  }
  const struct sc_line *carrier = chain_line(&result.air_lines, 40817);
  ck_assert_ptr_nonnull(carrier);
  ck_assert_int_eq(carrier->verdict, SC_VERDICT_SPURIOUS);
  ck_assert_double_eq_tol(carrier->level_dbc.value, -55, 0.1);
  sc_result_clear(&result);
}
END_TEST

/* One carrier within the lines of the tone, one beyond them, and a tone that no standard has. */
START_TEST(what_is_foreign_among_loud_tones_stays_so)
{
  struct sc_scenario s = loud(384e3, 6.75, 400, 110);
  s.carriers[s.carrier_count++] = (struct sc_scenario_line){.hz = 76543, .amplitude = -55};
  s.carriers[s.carrier_count++] = (struct sc_scenario_line){.hz = 151234, .amplitude = -60};
  s.station.tones[s.station.tone_count++] =
      (struct sc_scenario_line){.hz = 61300, .amplitude = 0.1};
  struct sc_result result = play(&s);
  const double foreign_hz[] = {76543 - sent_hz, 151234 - sent_hz};
  for (size_t i = 0; i < 2; i++) {
    const struct sc_line *line = chain_line(&result.air_lines, foreign_hz[i]);
    ck_assert_ptr_nonnull(line);
    ck_assert_int_eq(line->verdict, SC_VERDICT_SPURIOUS);
  }
  check_explained(&result.air_lines, 2, "on air");
  const struct sc_line *tone = chain_line(&result.composite_lines, 61300);
  ck_assert_ptr_nonnull(tone);
  ck_assert_int_eq(tone->verdict, SC_VERDICT_SPURIOUS);
  sc_result_clear(&result);
}
END_TEST

/* 150 kHz beside it, and nearly as strong, another station does not take the channel along. */
START_TEST(a_neighbour_does_not_move_the_channel)
{
  struct sc_scenario s = loud(1e6, 6.75, 700, 68);
  s.neighbours[s.neighbour_count++] = (struct sc_neighbour){
      .offset_hz = 150e3, .level_db = -1, .pilot_khz = 6, .tone_hz = 1000, .tone_khz = 65};
  const struct sc_result result = scene_play(&s);
  ck_assert_double_eq_tol(result.carrier.offset_hz.value, sent_hz, 1);
}
END_TEST

Suite *centre_suite(void)
{
  Suite *suite = suite_create("centre");
  TCase *tcase = tcase_create("centre");
  tcase_add_test(tcase, loud_tones_leave_nothing_over);
  tcase_add_test(tcase, a_low_note_of_full_deviation_leaves_nothing_over);
  tcase_add_test(tcase, what_is_foreign_among_loud_tones_stays_so);
  tcase_add_test(tcase, a_neighbour_does_not_move_the_channel);
  suite_add_tcase(suite, tcase);
  return suite;
}
