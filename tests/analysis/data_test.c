/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines of the data signal, which is no tone: FM makes some of its square. Their places come
 * from the bit clock, a 48th of the subcarrier (IEC 62106). */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "analysis/scene.h"
#include "analysis/suites.h"
#include "support/support.h"

/* Pilot and data of so much at 65 dB, and perhaps true amplitude modulation. */
static struct sc_result measure(double data_khz, double am_hz, double percent)
{
  struct sc_message message;
  struct sc_scenario s = scene_silent(500e3, 65);
  struct sc_analysis_settings settings = scene_settings(&s);
  settings.lines = true;
  ck_assert_int_eq(sc_scenario_ready("data", &s, &message), SC_OK);
  s.rate_hz = 500e3;
  s.seconds = 1;
  s.cnr_db = 65;
  s.offset_hz = 900;
  s.station.programme_count = 0;
  s.station.rds.khz = data_khz;
  if (percent > 0)
    s.am[s.am_count++] = (struct sc_scenario_line){.hz = am_hz, .amplitude = percent};
  return scene_measure(&s, &settings, NULL, NULL, NULL);
}

static const struct sc_line *line_at(const struct sc_result *result, double offset_hz)
{
  const struct sc_line_list *list = &result->air_lines;
  for (size_t i = 0; i < list->count; i++)
    if (fabs(list->lines[i].offset_hz.value - offset_hz) < 1)
      return &list->lines[i];
  ck_abort_msg("no line at %g Hz", offset_hz);
  return NULL;
}

START_TEST(the_square_of_the_data_is_no_am)
{
  struct sc_result result = measure(4, 0, 0);
  for (int side = -1; side <= 1; side += 2) {
    const double at[] = {2375, 114e3, 114e3 - 2375, 114e3 + 2375, 2375 + 19e3};
    for (size_t i = 0; i < sizeof at / sizeof *at; i++) {
      const struct sc_line *line = line_at(&result, side * at[i]);
      ck_assert_msg(line->verdict == SC_VERDICT_EXPLAINED, "at %g Hz: %s", side * at[i],
                    line->cause);
      ck_assert_ptr_nonnull(strstr(line->cause, "second order of the data"));
    }
  }
  ck_assert_double_eq(result.unwanted.count.value, 0);
  sc_result_clear(&result);
}
END_TEST

/* And frees the result. */
static void check_all_explained(struct sc_result *result, size_t least)
{
  ck_assert_uint_ge(result->air_lines.count, least);
  for (size_t i = 0; i < result->air_lines.count; i++) {
    const struct sc_line *line = &result->air_lines.lines[i];
    ck_assert_msg(line->verdict == SC_VERDICT_EXPLAINED, "at %g Hz: %s", line->offset_hz.value,
                  line->cause);
  }
  sc_result_clear(result);
}

/* Two strong tones in left and right have lines at all multiples of 200 Hz, also where the data's
 * square has its own: 114 kHz from each of theirs. There is nothing else in the scene. */
START_TEST(the_square_of_the_data_is_told_among_many_lines)
{
  struct sc_message message;
  struct sc_scenario s = scene_silent(1e6, 50);
  struct sc_analysis_settings settings = scene_settings(&s);
  settings.lines = true;
  ck_assert_int_eq(sc_scenario_ready("data", &s, &message), SC_OK);
  s.rate_hz = 1e6;
  s.seconds = 2;
  s.cnr_db = 50;
  s.offset_hz = 900;
  s.station.programme_count = 0;
  s.station.rds.khz = 7.5;
  scene_add_tone(&s, SC_TO_LEFT, 1000, 40);
  scene_add_tone(&s, SC_TO_RIGHT, 1600, 40);
  struct sc_result result = scene_measure(&s, &settings, NULL, NULL, NULL);
  check_all_explained(&result, 1001);
}
END_TEST

/* The same with data that repeat, whose own lines are so many that no room is left for all products
 * of the tones: what data and two tones make together at 114 +/- (19 - 1.6) kHz and the like is no
 * amplitude modulation, and there is none in the scene. */
START_TEST(the_square_of_the_data_beside_tones_is_no_am)
{
  struct sc_message message;
  struct sc_scenario s = scene_silent(1e6, 50);
  struct sc_analysis_settings settings = scene_settings(&s);
  settings.lines = true;
  ck_assert_int_eq(
      sc_scenario_parse(
          "station = { rds = { khz = 3; pi = 0x1234; ps = \"KITE\"; phase_deg = 90; }; };", "test",
          &s, &message),
      SC_OK);
  s.rate_hz = 1e6;
  s.seconds = 3;
  s.cnr_db = 50;
  scene_add_tone(&s, SC_TO_LEFT, 1000, 20);
  scene_add_tone(&s, SC_TO_RIGHT, 1600, 20);
  struct sc_result result = scene_measure(&s, &settings, NULL, NULL, NULL);
  for (size_t i = 0; i < result.air_lines.count; i++)
    ck_assert_msg(result.air_lines.lines[i].verdict != SC_VERDICT_SPURIOUS, "at %g Hz: %s",
                  result.air_lines.lines[i].offset_hz.value, result.air_lines.lines[i].cause);
  sc_result_clear(&result);
}
END_TEST

/* At 15 dB these data are seen and not read. */
START_TEST(data_that_are_not_read_have_their_injection)
{
  for (unsigned seed = 1; seed <= 4; seed += support_stride(4)) {
    struct sc_message message;
    struct sc_scenario s = scene_silent(500e3, 15);
    struct sc_analysis_settings settings = scene_settings(&s);
    ck_assert_int_eq(sc_scenario_ready("data", &s, &message), SC_OK);
    s.rate_hz = 500e3;
    s.cnr_db = 15;
    s.seed = seed;
    s.seconds = 3;
    s.station.rds.khz = 1.2;
    struct sc_result result = scene_measure(&s, &settings, NULL, NULL, NULL);
    ck_assert_int_eq(result.rds.present, SC_YES);
    ck_assert_uint_eq(result.rds.blocks, 0);
    ck_assert_double_eq_tol(result.rds.injection_khz.value, 1.2,
                            2 * result.rds.injection_khz.uncertainty);
    sc_result_clear(&result);
  }
}
END_TEST

/* Tones in equal steps about 57 kHz, and outer ones of an FM subcarrier at 67 kHz with a test tone,
 * carry no data: there is no bit clock (IEC 62106), whatever their squares look like. */
START_TEST(tones_are_no_data)
{
  for (unsigned steps_hz = 800; steps_hz <= 1000; steps_hz += 200) {
    struct sc_scenario s = scene_silent(500e3, 50);
    struct sc_analysis_settings settings = scene_settings(&s);
    settings.lines = true;
    s.seconds = 3;
    for (int i = -2; steps_hz == 800 && i <= 2; i++)
      s.station.tones[s.station.tone_count++] =
          (struct sc_scenario_line){.hz = 57e3 + i * 800.0, .amplitude = 0.5};
    if (steps_hz == 1000) {
      struct sc_message message;
      static const char subcarrier[] =
          "station = { subcarriers = ( { hz = 67000; khz = 7.5; limit_hz = 5000; programme = ( {"
          " kind = \"tone\"; to = \"both\"; hz = 1000; khz = 8; } ); } ); };";
      ck_assert_int_eq(sc_scenario_parse(subcarrier, "test", &s, &message), SC_OK);
    }
    struct sc_result result = scene_measure(&s, &settings, NULL, NULL, NULL);
    ck_assert_msg(result.rds.present != SC_YES, "%u Hz: %s", steps_hz, result.rds.evidence);
    ck_assert_ptr_nonnull(result.rds.injection_khz.why);
    for (size_t i = 0; i < result.injections.count; i++)
      ck_assert(result.injections.at[i].label == NULL ||
                strcmp(result.injections.at[i].label, "RDS") != 0);
    sc_result_clear(&result);
  }
}
END_TEST

/* More than the data can make, at twice the clock and at twice the subcarrier. */
START_TEST(am_beside_the_data_is_am)
{
  const double at[] = {2375, 114e3};
  for (size_t i = 0; i < sizeof at / sizeof *at; i += support_stride(2)) {
    struct sc_result result = measure(2, at[i], 0.5);
    const struct sc_line *line = line_at(&result, at[i]);
    ck_assert_msg(line->verdict == SC_VERDICT_SPURIOUS, "at %g Hz: %s", at[i], line->cause);
    ck_assert_ptr_nonnull(strstr(line->cause, "amplitude modulation"));
    sc_result_clear(&result);
  }
}
END_TEST

/* A name and a code alone, again and again, or all that a station sends; and a tone of so
 * much. */
struct tone {
  double hz, khz;
};

static struct sc_result measure_beside(bool repeating, const struct tone tones[2], double seconds)
{
  static const char station[] =
      "station = { rds = { khz = 2; pi = 0xC123; ps = \"HOMEBREW\"; }; };";
  struct sc_message message;
  struct sc_scenario s = scene_silent(500e3, 55);
  struct sc_analysis_settings settings = scene_settings(&s);
  settings.lines = true;
  if (repeating)
    ck_assert_int_eq(sc_scenario_parse(station, "test", &s, &message), SC_OK);
  else
    ck_assert_int_eq(sc_scenario_ready("data", &s, &message), SC_OK);
  s.rate_hz = 500e3;
  s.cnr_db = 55;
  s.seconds = seconds;
  for (size_t i = 0; i < 2; i++)
    if (tones[i].khz > 0)
      s.station.tones[s.station.tone_count++] =
          (struct sc_scenario_line){.hz = tones[i].hz, .amplitude = tones[i].khz};
  return scene_measure(&s, &settings, NULL, NULL, NULL);
}

/* What repeats has lines at multiples of how often it comes (Fourier), in equal pairs about a
 * suppressed carrier, and all together no more power than the data: 2 / 2.0403 kHz rms (computed,
 * sidecomb/rds.h). A tone among them that is stronger than they can be is none of them, nor is a
 * weak one between their places: 322 Hz are 225.6 times 1187.5 / 104 / 8 Hz, of which data that
 * repeat after four groups have all multiples, even or odd ones alone. */
START_TEST(lines_of_repeating_data_are_explained)
{
  static const double tones_khz[] = {0, 0.05, 0.1, 0.4};
  for (size_t k = 0; k < sizeof tones_khz / sizeof *tones_khz; k += support_stride(3)) {
    const bool weak = k == 1;
    const double tone_hz = weak ? 57322 : 57321;
    const struct tone tones[2] = {{tone_hz, tones_khz[k]}};
    struct sc_result result = measure_beside(true, tones, weak ? 12 : 4);
    size_t explained = 0, unknown = 0;
    double power = 0;
    for (size_t i = 0; i < result.composite_lines.count; i++) {
      const struct sc_line *line = &result.composite_lines.lines[i];
      if (line->offset_hz.value < 54600 || line->offset_hz.value > 59400)
        continue;
      const bool tone = tones_khz[k] > 0 && fabs(line->offset_hz.value - tone_hz) < 0.5;
      ck_assert_msg(line->verdict == (tone ? SC_VERDICT_UNKNOWN : SC_VERDICT_EXPLAINED),
                    "at %g Hz: %s", line->offset_hz.value, line->cause);
      ck_assert_ptr_nonnull(strstr(line->cause, !tone  ? "groups repeat"
                                                : weak ? "not at them"
                                                       : "above the lines"));
      unknown += tone;
      explained += !tone;
      power += tone ? 0 : pow(line->deviation_khz.value, 2) / 2;
    }
    ck_assert_uint_eq(unknown, tones_khz[k] > 0);
    ck_assert_uint_ge(explained, 50);
    ck_assert_double_le(power, pow(2 / 2.0403, 2) * 1.02);
    sc_result_clear(&result);
  }
}
END_TEST

/* Data that do not repeat have no lines: a tone that is found is none of theirs. */
START_TEST(a_tone_among_other_data_is_not_explained)
{
  const struct tone tone[2] = {{57321, 0.3}};
  struct sc_result result = measure_beside(false, tone, 4);
  size_t tones = 0;
  ck_assert_int_eq(result.rds.present, SC_YES);
  for (size_t i = 0; i < result.composite_lines.count; i++) {
    const struct sc_line *line = &result.composite_lines.lines[i];
    if (fabs(line->offset_hz.value - 57321) > 0.5)
      continue;
    ck_assert_msg(line->verdict == SC_VERDICT_UNKNOWN, "%s", line->cause);
    tones++;
  }
  ck_assert_uint_eq(tones, 1);
  sc_result_clear(&result);
}
END_TEST

/* What a suppressed carrier carries stands in equal pairs about it (textbook); data have lines of
 * up to 0.2 kHz at this place (their shape, IEC 62106, and src/account/data_band.c). _i: such a
 * pair; two that are not as far from it; a pair that is stronger. */
START_TEST(an_equal_pair_is_of_the_data)
{
  static const struct tone pairs[3][2] = {
      {{57800, 0.15}, {56200, 0.15}}, {{57800, 0.15}, {56203, 0.15}}, {{57800, 0.4}, {56200, 0.4}}};
  struct sc_result result = measure_beside(false, pairs[_i], 12);
  size_t tones = 0;
  for (size_t i = 0; i < result.composite_lines.count; i++) {
    const struct sc_line *line = &result.composite_lines.lines[i];
    if (fabs(line->offset_hz.value - pairs[_i][0].hz) > 0.5 &&
        fabs(line->offset_hz.value - pairs[_i][1].hz) > 0.5)
      continue;
    ck_assert_msg(line->verdict == (_i == 0 ? SC_VERDICT_EXPLAINED : SC_VERDICT_UNKNOWN),
                  "at %g Hz: %s", line->offset_hz.value, line->cause);
    tones++;
  }
  ck_assert_uint_eq(tones, 2);
  sc_result_clear(&result);
}
END_TEST

/* A tone of 1 kHz on the left with data of these fields. */
static struct sc_result measure_left(const char *fields, double seconds)
{
  char station[256];
  struct sc_message message;
  struct sc_scenario s = scene_silent(500e3, 55);
  struct sc_analysis_settings settings = scene_settings(&s);
  settings.lines = true;
  snprintf(station, sizeof station, "station = { rds = { khz = 2; %s }; };", fields);
  ck_assert_int_eq(sc_scenario_ready("left", &s, &message), SC_OK);
  ck_assert_int_eq(sc_scenario_parse(station, "test", &s, &message), SC_OK);
  s.rate_hz = 500e3;
  s.cnr_db = 55;
  s.seconds = seconds;
  return scene_measure(&s, &settings, NULL, NULL, NULL);
}

/* Lines of a strong tone beside which data stand that repeat: none of them is more or less than FM
 * makes it, as the scenario has nothing else. */
START_TEST(lines_that_data_stand_beside_have_no_rest)
{
  struct sc_result result = measure_left("pi = 0xC4A7; ps = \"KITEFLD\"; "
                                         "text = \"Wind 4 from the west, kites up to 300 m\";",
                                         3.2);
  check_all_explained(&result, 300);
}
END_TEST

/* Of a blank name, whose groups nearly repeat, some of what the tone's lines have beside them is as
 * strong as a line of the tone. */
START_TEST(data_beside_a_tone_are_said_to_be_possible)
{
  struct sc_result result = measure_left("", 3);
  size_t beside = 0;
  for (size_t i = 0; i < result.air_lines.count; i++) {
    const struct sc_line *line = &result.air_lines.lines[i];
    if (line->verdict == SC_VERDICT_EXPLAINED)
      continue;
    ck_assert_int_eq(line->verdict, SC_VERDICT_UNKNOWN);
    ck_assert_ptr_nonnull(strstr(line->cause, "data that repeat may have a line here"));
    beside++;
  }
  ck_assert_uint_ge(beside, 1);
  ck_assert_uint_ge(result.air_lines.count, 300);
  sc_result_clear(&result);
}
END_TEST

/* One group again and again, beside a tone of so much on the left; and four other carriers, of a
 * level re the carrier in dB. */
static struct sc_result measure_one_group(double left_khz, const struct tone carriers[4])
{
  static const char station[] = "station = { rds = { khz = 2; pi = 0x1234; groups_only = true; "
                                "groups = ( [0x1234, 0x0548, 0xE0CD, 0x4142] ); }; };";
  struct sc_message message;
  struct sc_scenario s = scene_silent(500e3, 55);
  struct sc_analysis_settings settings = scene_settings(&s);
  settings.lines = true;
  ck_assert_int_eq(sc_scenario_parse(station, "test", &s, &message), SC_OK);
  s.rate_hz = 500e3;
  s.cnr_db = 55;
  s.seconds = 3;
  scene_add_tone(&s, SC_TO_LEFT, 1000, left_khz);
  for (size_t i = 0; carriers != NULL && i < 4; i++)
    s.carriers[s.carrier_count++] =
        (struct sc_scenario_line){.hz = s.offset_hz + carriers[i].hz, .amplitude = carriers[i].khz};
  return scene_measure(&s, &settings, NULL, NULL, NULL);
}

/* Data that repeat after 104 bits (IEC 62106) have some 400 lines, and each of them stands beside
 * each line of the tone: there is nothing else in the scene. On the composite one that lost its
 * twin may be left. */
START_TEST(data_of_one_group_beside_a_tone_are_explained)
{
  static const double left_khz[] = {20, 40, 60};
  for (size_t i = 0; i < 3; i += support_stride(2)) {
    struct sc_result result = measure_one_group(left_khz[i], NULL);
    ck_assert_uint_ge(result.composite_lines.count, 300);
    size_t others = 0;
    for (size_t k = 0; k < result.composite_lines.count; k++)
      others += result.composite_lines.lines[k].verdict != SC_VERDICT_EXPLAINED;
    ck_assert_uint_le(others, 1);
    check_all_explained(&result, 1000);
  }
}
END_TEST

/* What stands among these lines and is of another source does not pass for one of them. */
START_TEST(carriers_among_lines_of_data_are_found)
{
  static const struct tone carriers[4] = {
      {56551.5, -45}, {-58809.2, -55}, {-55253.1, -60}, {59195.2, -65}};
  struct sc_result result = measure_one_group(40, carriers);
  size_t others = 0;
  for (size_t i = 0; i < 4; i++) {
    const struct sc_line *line = line_at(&result, carriers[i].hz);
    ck_assert_msg(line->verdict == SC_VERDICT_SPURIOUS, "at %g Hz: %s", carriers[i].hz,
                  line->cause);
  }
  for (size_t i = 0; i < result.air_lines.count; i++)
    others += !result.air_lines.lines[i].beneath &&
              result.air_lines.lines[i].verdict != SC_VERDICT_EXPLAINED;
  ck_assert_uint_eq(others, 4);
  sc_result_clear(&result);
}
END_TEST

Suite *data_suite(void)
{
  Suite *suite = suite_create("data");
  TCase *tcase = tcase_create("data");
  tcase_add_test(tcase, the_square_of_the_data_is_no_am);
  tcase_add_test(tcase, the_square_of_the_data_is_told_among_many_lines);
  tcase_add_test(tcase, the_square_of_the_data_beside_tones_is_no_am);
  tcase_add_test(tcase, data_that_are_not_read_have_their_injection);
  tcase_add_test(tcase, tones_are_no_data);
  tcase_add_test(tcase, am_beside_the_data_is_am);
  tcase_add_test(tcase, lines_of_repeating_data_are_explained);
  tcase_add_test(tcase, a_tone_among_other_data_is_not_explained);
  tcase_add_test(tcase, lines_that_data_stand_beside_have_no_rest);
  tcase_add_test(tcase, data_beside_a_tone_are_said_to_be_possible);
  tcase_add_test(tcase, data_of_one_group_beside_a_tone_are_explained);
  tcase_add_test(tcase, carriers_among_lines_of_data_are_found);
  tcase_add_loop_test(tcase, an_equal_pair_is_of_the_data, 0, (int)(3 / support_stride(3)));
  suite_add_tcase(suite, tcase);
  return suite;
}
