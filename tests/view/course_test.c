/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows of time: the table that bounds them, and the picture that is drawn of them. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "view/action.h"
#include "view/course.h"
#include "view/fixture.h"
#include "view/suites.h"

enum { POINTS = 1024 };
static struct view_course_table table;
static struct fixture f;
static float mean[POINTS];

static struct sc_trace trace_of(float power)
{
  for (size_t i = 0; i < POINTS; i++)
    mean[i] = power;
  return (struct sc_trace){
      .start_hz = -1000, .step_hz = 2, .points = POINTS, .mean = mean, .rbw_hz = 4};
}

START_TEST(a_row_is_the_mean_of_what_was_read)
{
  ck_assert(view_course_open(&table, 4));
  struct sc_trace trace = trace_of(1);
  mean[701] = 100;
  view_course_add(&table, 2, &trace);
  trace = trace_of(3);
  view_course_add(&table, 2, &trace);
  struct view_course course = view_course_result(&table);
  ck_assert_uint_eq(course.rows, 4);
  ck_assert_uint_eq(course.filled, 1);
  ck_assert_uint_eq(course.columns, VIEW_COURSE_COLUMNS);
  ck_assert_double_eq_tol(course.step_hz, 4, 1e-9);
  ck_assert_double_eq_tol(course.start_hz, -999, 1e-9); /* between the points 0 and 1 */
  ck_assert(isnan(course.level_db[0]));
  const float *row = course.level_db + 2 * course.columns;
  ck_assert_double_eq_tol((double)row[0], 10 * log10(2.0), 1e-4);
  ck_assert_double_eq_tol((double)row[350], 10 * log10(51.5), 1e-4);
  ck_assert_double_eq_tol(course.high_db, 10 * log10(51.5), 1e-4);
  view_course_free(&table);
}
END_TEST

/* The shades are for what has a level: a hole in a file has none. */
START_TEST(rows_of_zeros_leave_the_shades_alone)
{
  for (int holes = 0; holes < 2; holes++) {
    ck_assert(view_course_open(&table, 6));
    for (size_t row = 0; row < 6; row++) {
      struct sc_trace trace = trace_of(row < 2 ? 1 : row < 4 ? 1e-6f : 0);
      if (row < 4 || holes == 1)
        view_course_add(&table, row, &trace);
    }
    struct view_course course = view_course_result(&table);
    ck_assert_uint_eq(course.filled, holes == 1 ? 6 : 4);
    ck_assert_double_eq_tol(course.high_db, 0, 1e-4);
    ck_assert_double_eq_tol(course.low_db, -63, 1e-4);
    ck_assert_double_eq_tol(course.spread_db, 60, 1e-4);
    ck_assert_uint_eq(course.zeros, holes == 1 ? 2 : 0);
    view_course_free(&table);
  }
  ck_assert(view_course_open(&table, 2));
  struct sc_trace nothing = trace_of(0);
  view_course_add(&table, 0, &nothing);
  ck_assert(view_course_result(&table).low_db < view_course_result(&table).high_db);
  view_course_free(&table);
}
END_TEST

START_TEST(new_rows_push_out_the_oldest)
{
  ck_assert(view_course_open(&table, 0));
  for (int i = 0; i < VIEW_COURSE_ROWS + 10; i++) {
    struct sc_trace trace = trace_of((float)(i + 1));
    view_course_append(&table, &trace);
  }
  struct view_course course = view_course_result(&table);
  ck_assert_uint_eq(course.rows, VIEW_COURSE_ROWS);
  for (size_t row = 0; row < course.rows; row++)
    ck_assert_double_eq_tol((double)course.level_db[row * course.columns + 5],
                            10 * log10((double)row + 11), 1e-4);
  ck_assert_double_eq_tol(course.spread_db, 10 * log10((VIEW_COURSE_ROWS + 10) / 11.0), 1e-3);
  view_course_free(&table);
}
END_TEST

/* ---- the picture: a line that comes and goes at +100 kHz, on a floor 64 dB lower */

enum { ROWS = 16, COLUMNS = 256 };

static void start(void)
{
  static float cells[ROWS * COLUMNS];
  fixture_air(&f);
  double low = -192000;
  for (size_t i = 0; i < (size_t)ROWS * COLUMNS; i++)
    cells[i] = -80;
  size_t column = (size_t)((-4570 + 100000 - low) / 1500);
  for (size_t row = 8; row < 12; row++)
    cells[row * COLUMNS + column] = -16;
  for (size_t i = 0; i < COLUMNS; i++)
    cells[i] = NAN; /* the first row was not read yet */
  f.model.spectrum.trace.points = 0;
  f.model.spectrum.share = 1;
  f.model.spectrum.course = (struct view_course){.level_db = cells,
                                                 .rows = ROWS,
                                                 .columns = COLUMNS,
                                                 .filled = ROWS,
                                                 .start_hz = low + 750,
                                                 .step_hz = 1500,
                                                 .rbw_hz = 750,
                                                 .from_s = 0,
                                                 .each_s = 0.15,
                                                 .low_db = -80,
                                                 .high_db = -16,
                                                 .spread_db = 12.34};
  fixture_type(&f, "6");
}

static void expect(int width, int height, const char *text)
{
  char *screen = fixture_draw(&f, width, height, false);
  if (strstr(screen, text) == NULL) {
    puts(screen);
    ck_abort_msg("'%s' is not on the screen", text);
  }
  free(screen);
}

START_TEST(the_sentence_leads)
{
  start();
  expect(80, 24, "over time: on air, 16 rows of 0.15 s, 0.00 s to 2.40 s; from the weakest to");
  expect(80, 24, "row 12.3 dB.");
  expect(80, 24, "-77  ·░░▒▒▓█ -13 dBc in 750 Hz; time runs down"); /* -3 dBFS is the carrier */
  f.model.spectrum.course.zeros = 3;
  expect(160, 24, "to the strongest row 12.3 dB, without 3 rows of zeros.");
  f.model.spectrum.course.zeros = 1;
  f.model.spectrum.course.spread_db = (double)NAN; /* one row of signal */
  expect(160, 24, "2.40 s; 1 row of zeros.");
  f.model.spectrum.course.zeros = 0;
  f.model.spectrum.share = 0.25;
  f.model.spectrum.refining = true;
  expect(160, 24, "25 % of it is read.");
  f.model.spectrum.course.filled = 0;
  expect(80, 24, "over time: on air. Reading ...");
}
END_TEST

/* 16 rows fit 16 lines of a screen of 21: sentence 2, markers 1, axis and key 2, hints 1 less. */
START_TEST(strong_cells_stand_where_and_when)
{
  start();
  fixture_type(&f, "g100k\n");
  char *screen = fixture_draw(&f, 109, 22, true);
  int line = 0, first = -1, count = 0;
  size_t marker = 0, block = 0;
  for (char *at = strtok(screen, "\n"); at != NULL; at = strtok(NULL, "\n"), line++) {
    if (strcmp(at + strspn(at, " "), "A") == 0)
      marker = strspn(at, " ");
    char *dense = strchr(at, '#');
    if (dense == NULL || strstr(at, "time runs down") != NULL)
      continue;
    first = first < 0 ? line : first;
    block = (size_t)(dense - at);
    count++;
  }
  ck_assert_int_eq(count, 4);
  ck_assert_uint_eq(block, marker);
  ck_assert_int_gt(first, 0);
  free(screen);
}
END_TEST

START_TEST(every_size_is_drawn)
{
  start();
  for (int playing = 0; playing < 2; playing++) {
    f.state.playing = playing == 1;
    for (int width = 1; width < 230; width += width < 8 ? 1 : 23)
      for (int height = 1; height < 80; height += height < 8 ? 1 : 11)
        free(fixture_draw(&f, width, height, width % 2 == 1));
  }
}
END_TEST

START_TEST(while_playing_rows_keep_their_height)
{
  start();
  f.state.playing = true;
  char *screen = fixture_draw(&f, 80, 40, true);
  int count = 0;
  for (char *at = strtok(screen, "\n"); at != NULL; at = strtok(NULL, "\n"))
    count += strchr(at, '#') != NULL && strstr(at, "time runs down") == NULL;
  ck_assert_int_eq(count, 4);
  free(screen);
}
END_TEST

START_TEST(markers_are_read_below)
{
  start();
  view_key(&f.state, &f.model, VIEW_KEY_DOWN); /* the account's first row */
  expect(80, 24, "A +38 000.800 ±0.020 Hz (91.238000800 MHz), -33.90 dBc");
}
END_TEST

Suite *course_suite(void)
{
  Suite *suite = suite_create("course");
  TCase *rows = tcase_create("rows");
  tcase_add_test(rows, a_row_is_the_mean_of_what_was_read);
  tcase_add_test(rows, rows_of_zeros_leave_the_shades_alone);
  tcase_add_test(rows, new_rows_push_out_the_oldest);
  tcase_add_test(rows, the_sentence_leads);
  tcase_add_test(rows, strong_cells_stand_where_and_when);
  tcase_add_test(rows, while_playing_rows_keep_their_height);
  tcase_add_test(rows, markers_are_read_below);
  tcase_add_test(rows, every_size_is_drawn);
  suite_add_tcase(suite, rows);
  return suite;
}
