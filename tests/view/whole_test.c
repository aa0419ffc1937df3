/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What the report says, on the viewer's screens: all of it, in whole, and where it is announced. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <sidecomb/rows.h>

#include "view/action.h"
#include "view/fixture.h"
#include "view/suites.h"

static struct fixture f;

#define EXPECT(width, height, ...) FIXTURE_EXPECT(&f, width, height, __VA_ARGS__)

static void strip(char *text)
{
  char *to = text;
  for (; *text != 0; text++)
    if (*text != ' ' && *text != '\n')
      *to++ = *text;
  *to = 0;
}

/* Whatever stands in the text of the report but the lines, which are rows of their views. */
START_TEST(values_have_every_row_of_the_report)
{
  static const int widths[] = {40, 80, 110};
  static const char reason[] = "a test says so, in more words than any row of the screen has room "
                               "for, as reasons do that are to be of use";
  fixture_air(&f);
  f.result.pilot.frequency_hz = sc_not_measured(reason);
  f.result.rds_groups.why = reason;
  f.result.injections.count = 1;
  f.result.mask_count = 1;
  strcpy(f.result.masks[0].name, "a mask");
  f.result.warnings.count = f.result.capture.notices.count = 1;
  strcpy(f.result.warnings.text[0], "a test warns of it");
  strcpy(f.result.capture.notices.text[0], reason);
  fixture_type(&f, "e");
  for (size_t i = 0; i < sizeof widths / sizeof *widths; i++) {
    const struct sc_report_settings settings = {.width = (unsigned)widths[i] - 1};
    struct sc_rows rows;
    ck_assert_int_eq(sc_rows_make(&f.result, NULL, &settings, &rows), SC_OK);
    char *screen = fixture_draw(&f, widths[i], 900, false);
    strip(screen);
    for (size_t k = 0; k < rows.count; k++) {
      char row[4096];
      snprintf(row, sizeof row, "%s%s", rows.at[k].label, rows.at[k].text);
      strip(row);
      ck_assert_msg(strstr(screen, row) != NULL, "%d columns: no '%s'", widths[i], row);
    }
    free(screen);
    sc_rows_free(&rows);
  }
}
END_TEST

START_TEST(values_begin_with_answers_and_notices)
{
  fixture_air(&f);
  f.result.warnings.count = 1;
  strcpy(f.result.warnings.text[0], "a test warns of it");
  fixture_type(&f, "e");
  char *screen = fixture_draw(&f, 80, 400, false);
  const char *brief = strstr(screen, "In short"), *notice = strstr(screen, "* a test warns of it");
  ck_assert_ptr_nonnull(brief);
  ck_assert_ptr_nonnull(notice);
  ck_assert(brief < notice && notice < strstr(screen, "\nCarrier"));
  free(screen);
}
END_TEST

/* 12 kHz of pilot are more than the 7.5 kHz of ITU-R BS.450-3 and 47 CFR 73.322(a)(2). */
START_TEST(notices_and_limits_are_announced_with_their_key)
{
  fixture_air(&f);
  f.result.pilot.deviation_khz = sc_measured(6.75, 0.003);
  f.result.pilot.frequency_error_hz = sc_not_measured("a test says so");
  EXPECT(80, 24, "e values");
  f.result.warnings.count = 1;
  EXPECT(80, 24, "\ne 1 notice ");
  f.result.capture.notices.count = 1;
  EXPECT(80, 24, "\ne 2 notices ");
  EXPECT(40, 12, "e 2 notices ");
  f.result.pilot.deviation_khz = sc_measured(12, 0.003);
  EXPECT(80, 24, "\ne 1 limit not kept, 2 notices ");
  EXPECT(40, 12, "e 1 limit not kept, 2 notices ");
  fixture_type(&f, "h");
  EXPECT(40, 12, "e 1 limit not kept, 2 notices ");
  fixture_type(&f, "4");
  EXPECT(80, 24, "\ne 1 limit not kept, 2 notices ");
  fixture_type(&f, "e");
  EXPECT(80, 24, "limits of standards", "12.0000 ± 0.0030 kHz");
}
END_TEST

/* IQ has no audio of its own, a composite no spectrum on air, a recording neither data nor
 * deviation. */
START_TEST(hints_name_the_views_that_there_are)
{
  fixture_air(&f);
  EXPECT(80, 24, "1 2 4-7 views");
  fixture_type(&f, "3");
  ck_assert_int_eq(f.state.view, VIEW_AIR);
  ck_assert_str_ne(f.state.message, "");
  fixture_composite(&f);
  f.info.kind = SC_KIND_COMPOSITE;
  EXPECT(80, 24, "\n4-7 views");
  f.info.kind = SC_KIND_AUDIO;
  EXPECT(80, 24, "\n4 6 views");
}
END_TEST

/* 137 columns: in two lines of 80, but not with where it was measured. */
START_TEST(a_sentence_that_fits_is_not_cut)
{
  fixture_air(&f);
  snprintf(
      f.result.account, sizeof f.result.account,
      "A carrier at 91.200430 MHz; a stereo pilot at 19000.40 Hz with 6.80 kHz. Of 626 lines on "
      "air 624 are explained, 1 is spurious, 1 is artefact.");
  EXPECT(80, 24, "1 is artefact.\n");
  EXPECT(120, 40, "1 is artefact. Measured over all of it, 0.00 s to 2.40 s.");
}
END_TEST

/* The usual size of a terminal has room for a reading on air with all its parts. */
START_TEST(a_reading_is_read_in_whole)
{
  fixture_air(&f);
  struct sc_line *line = &f.lines[5];
  line->fm_part_dbc = sc_measured(-36.1, 0.1);
  line->am_part_dbc = sc_not_measured("a test says so");
  line->one_sided_dbc = sc_not_measured("a test says so");
  line->parts_limit_dbc = sc_measured(-87, (double)NAN);
  fixture_type(&f, "hnn");
  EXPECT(80, 24, "A +38 000.800 ±0.020 Hz", "above the standard 38", "(residual).\n");
}
END_TEST

START_TEST(names_in_rows_are_read_in_whole)
{
  fixture_air(&f);
  strcpy(f.lines[7].label, "carrier of another source at +93.6000 kHz");
  strcpy(f.lines[6].label, "");
  strcpy(f.lines[6].cause, "3 x pilot: third order of the pilot, and nothing else of any tone");
  EXPECT(120, 40, "carrier of another ", "source at +93.6000 kHz ", " 3 x pilot ",
         "cause, in short");
  char *screen = fixture_draw(&f, 120, 40, false);
  ck_assert_ptr_null(strstr(screen, "carrier of another source at +93"));
  free(screen);
}
END_TEST

/* However many lines the names take, the row that the marker stands on is on the screen. */
START_TEST(the_chosen_row_stays_in_sight)
{
  fixture_air(&f);
  for (size_t i = 0; i < FIXTURE_LINES; i++)
    snprintf(f.lines[i].label, sizeof f.lines[i].label, "line %d with a name of more than one line",
             (int)(i % 10));
  fixture_type(&f, "i"); /* by frequency: neighbours may have the same distance */
  for (int n = 0; n < FIXTURE_LINES; n++) {
    view_key(&f.state, &f.model, VIEW_KEY_DOWN);
    const ptrdiff_t line = view_state_line(&f.state, &f.model, 0);
    char name[32];
    ck_assert_int_ge(line, 0);
    snprintf(name, sizeof name, " line %td with", line);
    for (int height = 18; height < 40; height++)
      EXPECT(110, height, name);
  }
}
END_TEST

START_TEST(a_page_says_which_of_its_lines_it_shows)
{
  fixture_air(&f);
  fixture_type(&f, "e");
  EXPECT(40, 12, "Measured values.  ", "  1 to 11 of ");
  fixture_type(&f, "e?");
  EXPECT(40, 12, "Keys that work here.  ", "  1 to 11 of ");
  EXPECT(80, 24, "  1 to 23 of ");
  view_key(&f.state, &f.model, VIEW_KEY_PAGE_DOWN);
  EXPECT(80, 24, "  23 to 45 of "); /* one line of the page before */
}
END_TEST

START_TEST(hints_are_whole_or_not_there)
{
  fixture_air(&f);
  EXPECT(40, 12, "\n1 2 4-7 views  ? keys  q leaves\n");
  f.result.warnings.count = 2;
  EXPECT(40, 12, "\ne 2 notices  Hann", "\n1 2 4-7 views  ? keys  q leaves\n");
  EXPECT(80, 24, "\ne 2 notices  1 2 4-7 views  ? keys  q leaves  Up Down rows  + - zoom\n");
}
END_TEST

START_TEST(values_are_those_of_the_report)
{
  fixture_air(&f);
  f.result.pilot.deviation_khz = sc_measured(6.75, 0.002);
  f.result.pilot.frequency_hz = sc_not_measured("a test says so");
  f.result.injections.count = 1;
  f.result.injections.at[0].offset_hz = sc_measured(67650, 20);
  fixture_type(&f, "e");
  EXPECT(80, 400, "Measured over all that was read", "Pilot", "deviation", "6.7500 ± 0.0020 kHz",
         "because a test says so", "67650 ± 20 Hz");
  EXPECT(120, 40, "In short", "above 53 kHz", "67.7 kHz");
  EXPECT(40, 40, "In short", "67.7 kHz");
  for (int i = 0; i < 100; i++)
    view_key(&f.state, &f.model, VIEW_KEY_PAGE_DOWN);
  EXPECT(80, 24, "Measured over all");
  EXPECT(1, 1, "");
  fixture_type(&f, "e");
  EXPECT(80, 24, "on air");
  f.model.result = NULL;
  fixture_type(&f, "e");
  EXPECT(80, 24, "Nothing is measured yet");
}
END_TEST

Suite *whole_suite(void)
{
  Suite *suite = suite_create("whole");
  TCase *screens = tcase_create("whole");
  tcase_add_test(screens, values_have_every_row_of_the_report);
  tcase_add_test(screens, values_begin_with_answers_and_notices);
  tcase_add_test(screens, notices_and_limits_are_announced_with_their_key);
  tcase_add_test(screens, hints_name_the_views_that_there_are);
  tcase_add_test(screens, a_sentence_that_fits_is_not_cut);
  tcase_add_test(screens, a_reading_is_read_in_whole);
  tcase_add_test(screens, names_in_rows_are_read_in_whole);
  tcase_add_test(screens, the_chosen_row_stays_in_sight);
  tcase_add_test(screens, a_page_says_which_of_its_lines_it_shows);
  tcase_add_test(screens, hints_are_whole_or_not_there);
  tcase_add_test(screens, values_are_those_of_the_report);
  suite_add_tcase(suite, screens);
  return suite;
}
