/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Traces to columns, columns to characters. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "view/curve.h"
#include "view/raster.h"
#include "view/suites.h"

enum { POINTS = 1000 };

static float power[POINTS];

static struct sc_trace flat_trace(float level)
{
  for (int i = 0; i < POINTS; i++)
    power[i] = level;
  return (struct sc_trace){.start_hz = 0, .step_hz = 1, .points = POINTS, .mean = power};
}

START_TEST(no_line_is_lost_however_narrow)
{
  struct sc_trace trace = flat_trace(1e-6f);
  struct view_range range = {0, POINTS};
  for (int line = 0; line < POINTS; line += 37)
    for (int columns = 1; columns < 400; columns += 57) {
      float low[400], high[400], most = -INFINITY;
      power[line] = 1;
      view_curve(&trace, power, range, 0, columns, low, high);
      power[line] = 1e-6f;
      for (int c = 0; c < columns; c++)
        most = fmaxf(most, high[c]);
      ck_assert_float_eq_tol(most, 0, 1e-5f);
    }
}
END_TEST

START_TEST(between_two_points_it_goes_straight)
{
  struct sc_trace trace = flat_trace(1);
  power[0] = 1;
  power[1] = 0.01f;
  struct view_range range = {0, 1};
  float low[11], high[11];
  view_curve(&trace, power, range, 0, 11, low, high);
  for (int c = 1; c < 11; c++) {
    ck_assert_float_eq_tol(high[c], -20 * ((float)c + 0.5f) / 11, 1e-3f);
    ck_assert_float_eq(low[c], high[c]);
  }
}
END_TEST

START_TEST(outside_the_trace_is_nothing)
{
  struct sc_trace trace = flat_trace(1);
  struct view_range range = {-2000, 3000};
  float low[50], high[50];
  view_curve(&trace, power, range, 0, 50, low, high);
  ck_assert_float_nan(high[0]);
  ck_assert_float_eq_tol(high[25], 0, 1e-6f);
  ck_assert_float_nan(high[49]);
}
END_TEST

static void expect_picture(enum view_glyphs glyphs, const float *low, const float *high,
                           const char *picture)
{
  struct view_grid grid = {0};
  view_grid_resize(&grid, 4, 2);
  struct view_canvas canvas = {.box = {0, 0, 4, 2}, .top = 0, .bottom = -8, .glyphs = glyphs};
  view_raster(&grid, &canvas, VIEW_STYLE_TRACE, low, high);
  char *text = view_grid_text(&grid);
  ck_assert_str_eq(text, picture);
  free(text);
  view_grid_free(&grid);
}

START_TEST(dots_stand_where_the_level_is)
{
  const float level[8] = {-0.5f, -1.5f, -2.5f, -3.5f, -4.5f, -5.5f, -6.5f, -7.5f};
  expect_picture(VIEW_GLYPHS_DOTS, level, level, "⠑⢄\n  ⠑⢄\n");
}
END_TEST

START_TEST(bars_reach_up_to_the_level_in_eighths)
{
  const float level[4] = {-0.25f, -4.25f, -7.75f, -6.25f};
  expect_picture(VIEW_GLYPHS_BARS, level, level, "█\n██▁▄\n");
}
END_TEST

START_TEST(plain_characters_tell_four_heights)
{
  const float level[4] = {-0.5f, -0.5f, -2.5f, -3.5f};
  expect_picture(VIEW_GLYPHS_PLAIN, level, level, "''._\n\n");
}
END_TEST

START_TEST(a_level_beyond_the_plot_is_not_drawn)
{
  const float below[4] = {-9, -20, -200, NAN};
  expect_picture(VIEW_GLYPHS_PLAIN, below, below, "\n\n");
}
END_TEST

START_TEST(a_peak_above_the_plot_reaches_its_edge)
{
  const float low[4] = {-3, -3, -3, -3}, high[4] = {-3, 10, -3, -3};
  struct view_canvas canvas = {
      .box = {0, 0, 4, 2}, .top = 0, .bottom = -8, .glyphs = VIEW_GLYPHS_PLAIN};
  int tops[4];
  view_raster_tops(&canvas, high, tops);
  ck_assert_int_eq(tops[1], 0);
  expect_picture(VIEW_GLYPHS_PLAIN, low, high, "_|__\n\n");
}
END_TEST

Suite *curve_suite(void)
{
  Suite *suite = suite_create("curve");
  TCase *columns = tcase_create("columns");
  tcase_add_test(columns, no_line_is_lost_however_narrow);
  tcase_add_test(columns, between_two_points_it_goes_straight);
  tcase_add_test(columns, outside_the_trace_is_nothing);
  suite_add_tcase(suite, columns);
  TCase *characters = tcase_create("characters");
  tcase_add_test(characters, dots_stand_where_the_level_is);
  tcase_add_test(characters, bars_reach_up_to_the_level_in_eighths);
  tcase_add_test(characters, plain_characters_tell_four_heights);
  tcase_add_test(characters, a_level_beyond_the_plot_is_not_drawn);
  tcase_add_test(characters, a_peak_above_the_plot_reaches_its_edge);
  suite_add_tcase(suite, characters);
  return suite;
}
