/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Captures so narrow that outer lines of FM are missing: what that makes on the composite is no
 * tone, and tones are tones. */
#include <config.h>

#include <math.h>
#include <string.h>

#include "analysis/scene.h"
#include "analysis/suites.h"
#include "support/support.h"

/* A tone of 1 kHz at full deviation, in one channel or in both with opposite signs. */
static struct sc_scenario narrow(double rate_hz, double cnr_db, enum sc_programme_to to)
{
  struct sc_scenario s = scene_silent(rate_hz, cnr_db);
  scene_add_tone(&s, to, 1000, 60.75);
  return s;
}

static struct sc_result play(const struct sc_scenario *s)
{
  struct sc_analysis_settings settings = scene_settings(s);
  settings.lines = true;
  return scene_measure(s, &settings, NULL, NULL, NULL);
}

static size_t count_of(const struct sc_line_list *list, enum sc_verdict verdict)
{
  size_t count = 0;
  for (size_t i = 0; i < list->count; i++)
    count += list->lines[i].verdict == verdict;
  return count;
}

START_TEST(what_is_cut_makes_no_tones)
{
  const struct {
    double rate_hz;
    enum sc_programme_to to;
    size_t least; /* of the artefacts */
  } cases[] = {{250e3, SC_TO_LEFT, 20}, {200e3, SC_TO_BOTH, 20}, {300e3, SC_TO_APART, 5}};
  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    const struct sc_scenario s = narrow(cases[i].rate_hz, 50, cases[i].to);
    struct sc_result result = play(&s);
    const struct sc_line_list *list = &result.composite_lines;
    ck_assert_uint_eq(count_of(list, SC_VERDICT_SPURIOUS), 0);
    ck_assert_uint_eq(count_of(list, SC_VERDICT_UNKNOWN), 0);
    ck_assert_uint_ge(count_of(list, SC_VERDICT_ARTEFACT), cases[i].least);
    ck_assert_uint_ge(count_of(list, SC_VERDICT_EXPLAINED), 2); /* pilot and tone */
    /* nor services: nothing above 53 kHz was sent */
    for (size_t k = 0; k < result.injections.count; k++)
      ck_assert_msg(result.injections.at[k].label != NULL &&
                        strncmp(result.injections.at[k].label, "none: made by", 13) == 0,
                    "%g Hz: %s", result.injections.at[k].offset_hz.value,
                    result.injections.at[k].label);
    /* what is not measured is not said to be */
    ck_assert_ptr_nonnull(result.noise.am_synchronous_db.why);
    ck_assert_str_eq(result.noise.am_synchronous_at_most_db.why,
                     "truncated by the capture's bandwidth");
    const struct sc_stereo *stereo = &result.stereo;
    ck_assert(stereo->separation_left_to_right_db.why == NULL ||
              strstr(stereo->separation_left_to_right_at_least_db.why, "was measured") == NULL);
    sc_result_clear(&result);
  }
}
END_TEST

static enum sc_verdict verdict_at(const struct sc_line_list *list, double hz)
{
  for (size_t i = 0; i < list->count; i++)
    if (fabs(list->lines[i].offset_hz.value - hz) < 1)
      return list->lines[i].verdict;
  ck_abort_msg("no line at %g Hz", hz);
  return SC_VERDICT_UNKNOWN;
}

/* Where beats of missing lines fall, and beside. */
START_TEST(real_tones_among_them_are_tones)
{
  struct sc_scenario s = narrow(300e3, 60, SC_TO_LEFT);
  s.station.residual_khz = 0.2;
  s.station.tones[s.station.tone_count++] =
      (struct sc_scenario_line){.hz = 61300, .amplitude = 0.03};
  s.station.tones[s.station.tone_count++] =
      (struct sc_scenario_line){.hz = 81000, .amplitude = 0.1};
  struct sc_result result = play(&s);
  const struct sc_line_list *list = &result.composite_lines;
  ck_assert_int_eq(verdict_at(list, 61300), SC_VERDICT_SPURIOUS);
  ck_assert_int_eq(verdict_at(list, 81000), SC_VERDICT_SPURIOUS);
  ck_assert_int_eq(verdict_at(list, 38000), SC_VERDICT_RESIDUAL);
  ck_assert_uint_eq(count_of(list, SC_VERDICT_SPURIOUS), 2);
  sc_result_clear(&result);
}
END_TEST

static bool warns(const struct sc_result *result, const char *words)
{
  for (size_t i = 0; i < result->warnings.count; i++)
    if (strstr(result->warnings.text[i], words) != NULL)
      return true;
  return false;
}

/* 150 kHz of a tone with a pilot reach beyond the 175 kHz that a channel keeps of a capture that
 * has more: where the filter falls, and beyond half the composite's rate, where what is left is
 * folded.
 */
START_TEST(what_the_channel_cuts_is_no_residual)
{
  const double rates_hz[] = {500e3, 2.4e6};
  for (size_t i = 0; i < 2 * sizeof rates_hz / sizeof *rates_hz; i++) {
    const bool sent = i % 2 == 1; /* a tone among the others */
    struct sc_scenario s = scene_silent(rates_hz[i / 2], 50);
    scene_add_tone(&s, SC_TO_BOTH, 5000, 150);
    if (sent)
      s.station.tones[s.station.tone_count++] =
          (struct sc_scenario_line){.hz = 61300, .amplitude = 0.1};
    struct sc_result result = play(&s);
    const struct sc_line_list *list = &result.composite_lines;
    ck_assert_uint_ge(count_of(list, SC_VERDICT_ARTEFACT), 15);
    ck_assert_uint_eq(count_of(list, SC_VERDICT_EXPLAINED), 2);
    ck_assert_uint_eq(count_of(list, SC_VERDICT_SPURIOUS), sent);
    ck_assert_uint_eq(count_of(list, SC_VERDICT_UNKNOWN), 0);
    if (sent)
      ck_assert_int_eq(verdict_at(list, 61300), SC_VERDICT_SPURIOUS);
    ck_assert_uint_eq(count_of(&result.air_lines, SC_VERDICT_RESIDUAL), 0);
    ck_assert_uint_eq(count_of(&result.air_lines, SC_VERDICT_EXPLAINED), result.air_lines.count);
    ck_assert(warns(&result, "reaches farther than the 175 kHz to either side"));
    sc_result_clear(&result);
  }
}
END_TEST

/* Of S sin(2 w t) + pilot sin(w t), where S takes all values from -khz to khz. */
static double fast_peak(double khz, double pilot_khz)
{
  double most = 0;
  for (double x = 0; x < 3.1416; x += 1e-3)
    most = fmax(most, khz * fabs(sin(2 * x)) + pilot_khz * sin(x));
  return most;
}

/* Fast modulation at a deviation that all but fills the 175 kHz to either side: its peak and that
 * of a slow tone is the peak, which reads low there by no more than its uncertainty allows, and
 * that is told; at a lower deviation nothing of it. */
START_TEST(peaks_near_the_channels_edge_are_less_sure)
{
  static const struct {
    double slow_khz;
    bool told;
  } cases[] = {{60, false}, {90, true}, {110, true}};
  const double fast_khz = 40;
  struct sc_scenario s = scene_silent(1.024e6, 50);
  scene_add_tone(&s, SC_TO_BOTH, 400, cases[_i].slow_khz);
  scene_add_tone(&s, SC_TO_APART, 13900, fast_khz);
  struct sc_result result = play(&s);
  const double sent = cases[_i].slow_khz + fast_peak(fast_khz, s.station.pilot_khz);
  const struct sc_deviation *d = &result.deviation;
  ck_assert_ptr_null(d->peak_khz.why);
  ck_assert_double_eq_tol(d->peak_khz.value, sent, 2 * d->peak_khz.uncertainty + 1);
  ck_assert_double_eq_tol(d->corrected_khz.value, sent, 2 * d->corrected_khz.uncertainty + 1);
  ck_assert_int_eq(d->corrected_khz.uncertainty > 1, cases[_i].told);
  bool told = false;
  for (size_t i = 0; i < result.warnings.count; i++)
    told = told || strstr(result.warnings.text[i], "highest peaks read low") != NULL;
  ck_assert_int_eq(told, cases[_i].told);
  sc_result_clear(&result);
}
END_TEST

Suite *cut_suite(void)
{
  Suite *suite = suite_create("cut");
  TCase *tcase = tcase_create("cut");
  tcase_add_test(tcase, what_is_cut_makes_no_tones);
  tcase_add_loop_test(tcase, peaks_near_the_channels_edge_are_less_sure, 0,
                      (int)(3 / support_stride(3)));
  tcase_add_test(tcase, real_tones_among_them_are_tones);
  tcase_add_test(tcase, what_the_channel_cuts_is_no_residual);
  suite_add_tcase(suite, tcase);
  return suite;
}
