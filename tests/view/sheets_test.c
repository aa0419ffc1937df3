/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The views that are no spectrum, as text. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "view/account.h"
#include "view/action.h"
#include "view/fixture.h"
#include "view/suites.h"

static struct fixture f;

static void expect(int width, int height, const char *text, bool is)
{
  char *screen = fixture_draw(&f, width, height, false);
  if ((strstr(screen, text) != NULL) != is) {
    puts(screen);
    ck_abort_msg("'%s' is %s the screen", text, is ? "not on" : "on");
  }
  free(screen);
}

/* The channel's search and that of the rest together list more than one of them can. */
START_TEST(the_account_holds_the_lines_of_all_searches)
{
  enum { COUNT = SC_LINES_MAX + 20, SPURIOUS = COUNT - 3 };
  static struct sc_line lines[COUNT];
  size_t order[SC_LISTED_MAX];
  fixture_air(&f);
  for (size_t i = 0; i < COUNT; i++) {
    lines[i] = f.lines[0];
    lines[i].offset_hz = sc_measured(1000.0 * (double)i, 0.1);
    lines[i].verdict = i == SPURIOUS ? SC_VERDICT_SPURIOUS : SC_VERDICT_EXPLAINED;
  }
  f.result.air_lines.lines = lines;
  f.result.air_lines.count = COUNT;
  ck_assert_uint_eq(view_account_order(&f.state, &f.model, order), COUNT);
  ck_assert_uint_eq(order[0], SPURIOUS);
}
END_TEST

/* A peak of 70 kHz in one moment of 40, 20 kHz in the others; above 20 kHz for 1 % of the time. */
static void set_deviation(void)
{
  struct sc_deviation *d = &f.result.deviation;
  d->peak_khz = sc_measured(70.9, 0.1);
  d->corrected_khz = sc_measured(70, 0.1);
  d->exceeded_percent = sc_measured(0, (double)NAN);
  d->intervals_half_khz = sc_measured(20, (double)NAN);
  d->intervals_hundredth_khz = sc_not_measured("a test says so");
  d->rms_khz = sc_measured(12.5, 0.01);
  d->power_dbr = sc_measured(1.25, 0.01);
  d->power_at_least_dbr = sc_not_measured("60 s were seen");
  d->moment_s = 0.05;
  d->moment_count = 40;
  for (size_t i = 0; i < 40; i++)
    d->moments[i] = (struct sc_deviation_moment){i == 30 ? 70.0F : 20.0F, 18.0F};
  for (size_t i = 0; i < 70; i++)
    d->time_above_percent[i] = i < 20 ? 100 : 1;
  d->intervals[20] = 39;
  d->intervals[70] = 1;
  d->interval_count = 40;
}

static void set_stereo(void)
{
  struct sc_stereo *stereo = &f.result.stereo;
  stereo->mode = SC_MODE_STEREO;
  strcpy(stereo->evidence, "a test says so");
  stereo->left_rms_khz = sc_measured(8.8118, 0.0009);
  stereo->separation_left_to_right_db = sc_not_measured("nothing of the tone is seen");
  stereo->separation_left_to_right_at_least_db = sc_measured(55, (double)NAN);
  stereo->separation_right_to_left_db = sc_measured(31.25, 0.01);
  stereo->separation_right_to_left_at_least_db = sc_not_measured("it was measured");
  stereo->residual_percent = sc_measured(1.5, 0.01);
  f.result.pilot.frequency_hz = sc_measured(19000.4, 0.001);
  f.result.pilot.frequency_error_hz = sc_measured(0.4, 0.001);
  f.result.pilot.deviation_khz = sc_measured(5.5, 0.001);
}

static void start(void)
{
  fixture_air(&f);
  set_deviation();
  set_stereo();
}

START_TEST(rows_say_what_is_expected_and_left)
{
  start();
  fixture_type(&f, "4");
  expect(80, 30, "stereo: pilot and difference: a test says so.", true);
  expect(80, 30, "cause                  measured", true);
  expect(80, 30, "left                   8.8118 ± 0.0009 kHz", true);
  expect(80, 30, "L/R separation, least  55.0 dB", true);
  expect(80, 30, "R/L separation         31.25 ± 0.01 dB", true);
  expect(80, 30, "±2 Hz (BS.450-3)", true);
  expect(80, 30, "= 1.6 free", true);
  expect(80, 30, "! 0.5 over", true); /* both: 6 - 5.5 kHz of the pilot, 1.5 - 1 % at 38 kHz */
  expect(80, 30, "~ -33.9 dBc, residual: pilot's second order and a", true);
  expect(80, 30, "= -36.2 dBc, explained", true);
  expect(80, 30, "kHz cause", false); /* the account's rows give way */
}
END_TEST

/* As the report's limits: nobody stated the clock, and BS.412-9, 2.5.1 defines composite power over
 * 60 s. */
START_TEST(what_the_report_leaves_open_is_open_here)
{
  start();
  f.result.capture.info.clock_relative_uncertainty = (double)NAN;
  f.result.deviation.power_at_least_dbr = sc_measured(-9, (double)NAN);
  fixture_type(&f, "4");
  expect(80, 30, "? 1.6 free", true);
  expect(80, 30, "! 0.5 over", true);
  fixture_type(&f, "5");
  expect(80, 24, "? 1.25 over", true);
  expect(80, 24, "! 1.25 over", false);
}
END_TEST

START_TEST(rows_that_do_not_fit_scroll)
{
  start();
  fixture_type(&f, "4");
  expect(40, 12, "more below: Down shows them", true);
  expect(40, 12, "on air at", false);
  for (int i = 0; i < 18; i++)
    view_key(&f.state, &f.model, VIEW_KEY_DOWN);
  expect(40, 12, "on air at", true);
  for (int i = 0; i < 100; i++)
    view_key(&f.state, &f.model, VIEW_KEY_PAGE_DOWN);
  expect(40, 12, "on air at", true);
}
END_TEST

START_TEST(deviation_stands_beside_75_khz)
{
  start();
  fixture_type(&f, "5");
  expect(80, 24, "deviation: it reaches 70.00 kHz, 5.00 kHz below the 75 kHz of ITU-R BS.450",
         true);
  expect(80, 24, "47 CFR 73.1570; above 75 kHz for 0 % of 2.40 s", true);
  expect(80, 24, "= 5 free", true);
  expect(80, 24, "! 1.25 over", true);
  expect(80, 24, "not measured: a test says so", true);
  expect(80, 24, "highest of each 0.05 s", true);
  expect(120, 40, "┄┄┄┄┄┄┄┄", true);
  expect(120, 40, "0.01", true);
  f.result.deviation.corrected_khz = sc_measured(80, 0.1);
  expect(120, 24, "5.00 kHz above the 75 kHz", true);
}
END_TEST

/* Past the end there is nothing to scroll back over. */
START_TEST(the_first_key_back_is_seen)
{
  static const char *const keys[] = {"4", "5", "7", "e", "?"};
  static const int sizes[][2] = {{40, 12}, {80, 24}};
  for (size_t i = 0; i < 2 * sizeof keys / sizeof *keys; i++) {
    const int *size = sizes[i % 2];
    start();
    f.result.rds.present = SC_YES;
    strcpy(f.result.rds.evidence, "a test says so, and goes on to say it for more than one line");
    for (unsigned k = 0; k < SC_RDS_GROUP_TYPES; k++)
      f.result.rds.data.group_counts[k] = 1000000 + k;
    fixture_type(&f, keys[i / 2]);
    char *top = fixture_draw(&f, size[0], size[1], false);
    for (int n = 0; n < 300; n++)
      view_key(&f.state, &f.model, VIEW_KEY_PAGE_DOWN);
    char *end = fixture_draw(&f, size[0], size[1], false);
    view_key(&f.state, &f.model, VIEW_KEY_UP);
    char *back = fixture_draw(&f, size[0], size[1], false);
    if (strcmp(top, end) != 0 && strcmp(end, back) == 0) {
      puts(end);
      ck_abort_msg("'%s' at %d columns stays after Up", keys[i / 2], size[0]);
    }
    free(top);
    free(end);
    free(back);
  }
}
END_TEST

START_TEST(home_and_end_lead_to_the_ends)
{
  start();
  fixture_type(&f, "e");
  char *top = fixture_draw(&f, 80, 24, false);
  view_key(&f.state, &f.model, VIEW_KEY_END);
  char *end = fixture_draw(&f, 80, 24, false);
  ck_assert_ptr_nonnull(strstr(end, "enough attenuation before a receiver.\n"));
  view_key(&f.state, &f.model, VIEW_KEY_HOME);
  char *again = fixture_draw(&f, 80, 24, false);
  ck_assert_str_eq(again, top);
  free(top);
  free(end);
  free(again);
}
END_TEST

START_TEST(a_larger_screen_leaves_less_to_scroll)
{
  start();
  fixture_type(&f, "?");
  free(fixture_draw(&f, 80, 12, false));
  for (int n = 0; n < 300; n++)
    view_key(&f.state, &f.model, VIEW_KEY_DOWN);
  char *large = fixture_draw(&f, 80, 40, false);
  view_key(&f.state, &f.model, VIEW_KEY_UP);
  char *back = fixture_draw(&f, 80, 40, false);
  ck_assert_str_ne(large, back);
  free(large);
  free(back);
}
END_TEST

START_TEST(titles_of_plots_are_read_in_whole)
{
  start();
  fixture_type(&f, "5");
  expect(120, 40, "the broken line is 75 kHz", true);
  expect(120, 40, "o % of 50 ms that reach x", true);
  expect(102, 40, "% of the time above x; o of 50 ms\n", true);
  expect(40, 60, "kHz, highest of each 0.05 s; ┄ 75 kHz\n", true);
  expect(40, 60, "% of the time above x; o of 50 ms\n", true);
}
END_TEST

START_TEST(the_sentence_of_a_sheet_is_read_in_whole)
{
  start();
  snprintf(f.result.stereo.evidence, sizeof f.result.stereo.evidence,
           "a pilot; sum 8.33 and difference 3.18 kHz rms above the noise; as programme count 0.1 "
           "kHz, and a difference above -36 dB of the sum");
  fixture_type(&f, "4");
  expect(80, 24, "\nthe sum.\n", true);
  expect(80, 24, "cause                  measured", true);
}
END_TEST

/* Three lines of 57 columns. */
START_TEST(a_long_reason_is_read_in_whole)
{
  static const char reason[] =
      "a test says so with a first, a second, a third, a fourth, a fifth, a sixth, a seventh, an "
      "eighth, a ninth and a tenth reason";
  start();
  f.result.stereo.left_rms_khz = sc_not_measured(reason);
  f.result.deviation.intervals_hundredth_khz = sc_not_measured(reason);
  for (const char *key = "45"; *key != 0; key++) {
    fixture_type(&f, (const char[]){*key, 0});
    expect(80, 24, "and a tenth reason", true);
    expect(40, 60, "a tenth", true);
  }
  fixture_type(&f, "4");
  expect(40, 60, "L/R", true);
  expect(40, 60, "separation,", true); /* the label too */
}
END_TEST

/* 70 kHz of 80 at the top, so the peak's moment (the 31st of 40) fills a column of its own. */
START_TEST(the_peak_stands_where_it_came)
{
  start();
  fixture_type(&f, "5uu");
  char *screen = fixture_draw(&f, 200, 60, true);
  int columns[8] = {0}, found = 0;
  for (char *line = strtok(screen, "\n"); line != NULL; line = strtok(NULL, "\n")) {
    char *bar = strchr(line, '|');
    if (bar != NULL && bar - line < 100 && found < 8)
      columns[found++] = (int)(bar - line);
  }
  ck_assert_int_gt(found, 2);
  /* the plot is 92 columns wide from the 7th on */
  for (int i = 0; i < found; i++)
    ck_assert_int_le(abs(columns[i] - (7 + 92 * 61 / 80)), 2);
  free(screen);
}
END_TEST

START_TEST(low_screens_show_the_distribution_after_the_rows)
{
  start();
  fixture_type(&f, "5");
  expect(40, 12, "highest of each", true);
  for (int i = 0; i < 7; i++)
    view_key(&f.state, &f.model, VIEW_KEY_DOWN);
  expect(40, 12, "% of the time above", true);
}
END_TEST

START_TEST(one_key_leads_from_any_view_to_any)
{
  static const struct {
    const char *key, *head;
  } views[] = {{"1", "on air:"},
               {"2", "composite:"},
               {"4", "stereo:"},
               {"5", "deviation:"},
               {"7", "data       "}};
  enum { COUNT = sizeof views / sizeof *views };
  start();
  for (int from = 0; from < COUNT; from++)
    for (int to = 0; to < COUNT; to++) {
      if (from == to)
        continue;
      fixture_type(&f, "1");
      if (from > 0)
        fixture_type(&f, views[from].key);
      fixture_type(&f, views[to].key);
      expect(120, 40, views[to].head, true);
    }
  view_key(&f.state, &f.model, VIEW_KEY_ESCAPE);
  expect(80, 24, "data       ", false);
}
END_TEST

/* Values and help stand before a view; the key of another view, or of the other page, shows that.
 */
START_TEST(pages_lead_to_views_and_to_each_other)
{
  static const struct {
    const char *keys, *head;
  } ways[] = {{"e4", "stereo:"},
              {"?4", "stereo:"},
              {"4e4", "stereo:"},
              {"4e2", "composite:"},
              {"e?", "Keys that work here"},
              {"?e", "Measured over"},
              {"ee", "on air:"},
              {"??", "on air:"},
              {"eh", "on air:"},
              {"eq", "on air:"},
              {"4e", "Measured over"}};
  for (size_t i = 0; i < sizeof ways / sizeof *ways; i++) {
    start();
    fixture_type(&f, "1");
    fixture_type(&f, ways[i].keys);
    expect(120, 40, ways[i].head, true);
    ck_assert(!f.state.quit);
  }
}
END_TEST

/* A key that changes the spectrum beneath a sheet says so; what lies over it is shown at once. */
START_TEST(what_a_sheet_hides_is_told)
{
  start();
  fixture_type(&f, "14+");
  expect(80, 24, "stereo:", true);
  expect(80, 24, "That is done to the spectrum: Esc shows it.", true);
  fixture_type(&f, "7");
  expect(80, 24, "That is done to the spectrum", false);
  fixture_type(&f, "8");
  ck_assert(f.state.expected);
  expect(80, 24, "on air:", true);
  fixture_type(&f, "8");
  ck_assert(!f.state.expected);
}
END_TEST

START_TEST(every_size_is_drawn)
{
  start();
  for (const char *key = "457"; *key != 0; key++) {
    const char keys[2] = {*key, 0};
    fixture_type(&f, keys);
    for (int width = 1; width < 230; width += width < 8 ? 1 : 23)
      for (int height = 1; height < 80; height += height < 8 ? 1 : 11)
        free(fixture_draw(&f, width, height, width % 2 == 1));
  }
}
END_TEST

START_TEST(nothing_measured_is_said)
{
  start();
  f.model.result = NULL;
  fixture_type(&f, "4");
  expect(80, 24, "stereo: nothing is measured yet", true);
  fixture_type(&f, "5");
  expect(80, 24, "deviation: nothing is measured yet", true);
  f.model.result = &f.result;
  sc_deviation_refuse(&f.result.deviation, "a test says so");
  expect(80, 24, "deviation: not measured: a test says so", true);
  expect(80, 24, "peak as held           as above", true); /* the reason stands once */
}
END_TEST

Suite *sheets_suite(void)
{
  Suite *suite = suite_create("sheets");
  TCase *screens = tcase_create("sheets");
  tcase_add_test(screens, rows_say_what_is_expected_and_left);
  tcase_add_test(screens, what_the_report_leaves_open_is_open_here);
  tcase_add_test(screens, rows_that_do_not_fit_scroll);
  tcase_add_test(screens, the_first_key_back_is_seen);
  tcase_add_test(screens, home_and_end_lead_to_the_ends);
  tcase_add_test(screens, a_larger_screen_leaves_less_to_scroll);
  tcase_add_test(screens, a_long_reason_is_read_in_whole);
  tcase_add_test(screens, titles_of_plots_are_read_in_whole);
  tcase_add_test(screens, the_sentence_of_a_sheet_is_read_in_whole);
  tcase_add_test(screens, deviation_stands_beside_75_khz);
  tcase_add_test(screens, the_peak_stands_where_it_came);
  tcase_add_test(screens, low_screens_show_the_distribution_after_the_rows);
  tcase_add_test(screens, one_key_leads_from_any_view_to_any);
  tcase_add_test(screens, pages_lead_to_views_and_to_each_other);
  tcase_add_test(screens, what_a_sheet_hides_is_told);
  tcase_add_test(screens, every_size_is_drawn);
  tcase_add_test(screens, nothing_measured_is_said);
  tcase_add_test(screens, the_account_holds_the_lines_of_all_searches);
  suite_add_tcase(suite, screens);
  return suite;
}
