/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A second capture in the first one's picture: the same station received 6.02 dB weaker and
 * tuned 1 440 Hz lower, and without the carrier at +131.4 kHz. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "view/action.h"
#include "view/fixture.h"
#include "view/suites.h"

static const double tuned_lower_hz = 1440, weaker_db = 6.0206;
static struct fixture f, other;
static float difference[FIXTURE_POINTS];

static void weaken(void)
{
  for (size_t i = 0; i < FIXTURE_POINTS; i++) {
    double hz =
        other.model.spectrum.trace.start_hz + (double)i * other.model.spectrum.trace.step_hz;
    bool spur = fabs(hz - view_line_hz(&other.lines[FIXTURE_LINES - 1])) < 2e3;
    other.mean[i] = spur ? 1e-9F : other.mean[i] / 4;
    difference[i] = spur ? 38 : 0;
  }
}

static void start(void)
{
  fixture_air(&other);
  weaken();
  for (size_t i = 0; i < FIXTURE_LINES; i++) {
    other.lines[i].tone.frequency_hz.value += tuned_lower_hz;
    other.lines[i].tone.level_db.value -= weaker_db;
  }
  other.result.air_lines.count--;
  other.result.carrier.offset_hz.value += tuned_lower_hz;
  other.result.carrier.level_dbfs.value -= weaker_db;
  other.model.spectrum.trace.start_hz += tuned_lower_hz;
  strcpy(other.info.name, "before.wav");
  fixture_air(&f);
  f.model.against = &other.model;
  f.model.against_db = difference;
  f.state.against = true;
}

static void expect(int width, int height, const char *text, bool is)
{
  char *screen = fixture_draw(&f, width, height, false);
  if ((strstr(screen, text) != NULL) != is) {
    puts(screen);
    ck_abort_msg("'%s' is %s the screen", text, is ? "not on" : "on");
  }
  free(screen);
}

START_TEST(lines_are_paired_from_carrier_to_carrier)
{
  start();
  fixture_type(&f, "g19k\n");
  /* sqrt(2) * 0.02 = 0.028 */
  expect(200, 40, "-15.20 dBc, the other capture -15.20 dBc, difference 0.000 ±0.028 dB", true);
  expect(160, 40, ", × before.wav", true);
}
END_TEST

START_TEST(a_line_that_only_one_has_is_said)
{
  start();
  fixture_type(&f, "g131.4k\n");
  /* the trace there is 1e-9 of full scale over a carrier of -9.02 dBFS: -80.98 dBc */
  expect(160, 40, "the other capture has no line, its trace -81.0 dBc, difference +30.5 dB", true);
  expect(160, 40, "×", true);
  expect(120, 40, "+20", true);
  expect(40, 12, " diff =====", true);
  expect(40, 12, "=#", true);
}
END_TEST

START_TEST(equal_traces_show_no_crosses)
{
  start();
  f.model.against_db = NULL;
  fixture_type(&f, "g-38k\ns20k\n");
  char *screen = fixture_draw(&f, 120, 40, false);
  char *name = strstr(screen, "× before.wav");
  ck_assert_ptr_nonnull(name);
  *strchr(name, ' ') = 0;
  ck_assert_ptr_eq(strstr(screen, "×"), name);
  free(screen);
}
END_TEST

START_TEST(it_is_switched_and_yields_to_what_is_expected)
{
  start();
  fixture_type(&f, "O");
  expect(120, 40, "before.wav", false);
  fixture_type(&f, "O");
  expect(120, 40, "before.wav", true);
  fixture_type(&f, "8");
  expect(120, 40, "before.wav", false);
  f.model.against = NULL;
  fixture_type(&f, "?");
  expect(160, 60, "the other capture's trace", false);
}
END_TEST

START_TEST(unlike_references_are_not_compared)
{
  start();
  other.result.carrier.level_dbfs = sc_not_measured("a test says so");
  expect(220, 40, "× before.wav (its levels have another reference)", true);
  expect(120, 40, "+20", false);
  other.model.survey_done = false;
  expect(220, 40, "(its carrier is being measured)", true);
  other.model.spectrum.trace.points = 0;
  expect(220, 40, "(not read yet)", true);
  other.model.trouble = "before.wav: the disk is gone";
  expect(220, 40, "(before.wav: the disk is gone)", true);
}
END_TEST

START_TEST(values_stand_side_by_side)
{
  start();
  f.result.pilot.deviation_khz = sc_measured(6.75, 0.003);
  other.result.pilot.deviation_khz = sc_measured(6.50, 0.004);
  f.result.pilot.frequency_hz = sc_not_measured("a test says so");
  other.result.pilot.frequency_hz = sc_measured(19000, 0.1);
  fixture_type(&f, "e");
  /* 3, 4, 5 */
  expect(100, 400, "6.7500 ± 0.0030 kHz", true);
  expect(100, 400, "6.5000 ± 0.0040 kHz", true);
  expect(100, 400, "0.2500 ± 0.0050", true);
  expect(100, 400, "not measured             19000", true);
}
END_TEST

START_TEST(every_size_is_drawn)
{
  start();
  fixture_type(&f, "hn");
  for (int width = 1; width < 220; width += width < 8 ? 1 : 29)
    for (int height = 1; height < 70; height += height < 8 ? 1 : 13)
      for (int page = 0; page < 2; page++, fixture_type(&f, "e"))
        free(fixture_draw(&f, width, height, page == 1));
}
END_TEST

Suite *beside_suite(void)
{
  Suite *suite = suite_create("beside");
  TCase *screens = tcase_create("second");
  tcase_add_test(screens, lines_are_paired_from_carrier_to_carrier);
  tcase_add_test(screens, a_line_that_only_one_has_is_said);
  tcase_add_test(screens, equal_traces_show_no_crosses);
  tcase_add_test(screens, it_is_switched_and_yields_to_what_is_expected);
  tcase_add_test(screens, unlike_references_are_not_compared);
  tcase_add_test(screens, values_stand_side_by_side);
  tcase_add_test(screens, every_size_is_drawn);
  suite_add_tcase(suite, screens);
  return suite;
}
