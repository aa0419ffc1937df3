/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Two views at once. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "view/action.h"
#include "view/fixture.h"
#include "view/halves.h"
#include "view/suites.h"

static struct fixture f, other;

static void start(int columns)
{
  fixture_composite(&other);
  fixture_air(&f);
  f.state.panes[VIEW_COMPOSITE] = other.state.panes[VIEW_COMPOSITE];
  f.state.screen_columns = columns;
}

static char *drawn(int width, int height)
{
  struct view_grid grid = {.ascii = false}, scratch = {.ascii = false};
  view_grid_resize(&grid, width, height);
  view_halves_draw(&grid, &scratch, &f.state, &f.model, &other.model);
  char *text = view_grid_text(&grid);
  ck_assert_ptr_nonnull(text);
  view_grid_free(&grid);
  view_grid_free(&scratch);
  return text;
}

/* Characters before `text` in its line; -1: it is not there. */
static int column_of(const char *screen, const char *text)
{
  const char *at = strstr(screen, text), *line = at;
  int column = 0;
  if (at == NULL)
    return -1;
  while (line > screen && line[-1] != '\n')
    line--;
  for (; line < at; line++)
    column += ((unsigned char)*line & 0xC0) != 0x80;
  return column;
}

START_TEST(both_stand_side_by_side)
{
  start(181);
  fixture_type(&f, "V");
  ck_assert(f.state.two);
  char *screen = drawn(181, 40);
  ck_assert_int_eq(column_of(screen, "on air: "), 0);
  ck_assert_int_eq(column_of(screen, "composite: "), 91);
  ck_assert_int_eq(column_of(screen, "│"), 90);
  ck_assert_int_eq(column_of(screen, "U takes the keys"), 91);
  free(screen);
}
END_TEST

START_TEST(keys_act_on_one_side)
{
  start(181);
  fixture_type(&f, "VU");
  ck_assert_int_eq(f.state.side, 1);
  ck_assert_int_eq(f.state.view, VIEW_COMPOSITE);
  ck_assert_int_eq(f.state.other.view, VIEW_AIR);
  fixture_type(&f, "4");
  ck_assert_int_eq(f.state.sheet, VIEW_SHEET_STEREO);
  ck_assert_int_eq(f.state.other.sheet, VIEW_SHEET_NONE);
  fixture_type(&f, "U");
  ck_assert_int_eq(f.state.view, VIEW_AIR);
  ck_assert_int_eq(f.state.sheet, VIEW_SHEET_NONE);
  char *screen = drawn(181, 40);
  ck_assert_int_eq(column_of(screen, "on air: "), 0);
  ck_assert_int_eq(column_of(screen, "stereo: "), 91);
  free(screen);
  fixture_type(&f, "V");
  ck_assert(!f.state.two);
  ck_assert_int_eq(f.state.view, VIEW_AIR);
}
END_TEST

START_TEST(a_narrow_screen_says_what_it_takes)
{
  start(159);
  fixture_type(&f, "V");
  ck_assert(!f.state.two);
  ck_assert_str_eq(f.state.message, "Two views need 160 columns, and here are 159.");
  fixture_type(&f, "U");
  ck_assert_int_eq(f.state.view, VIEW_AIR);
  start(160);
  fixture_type(&f, "V");
  ck_assert(view_halves_shown(&f.state, 160));
  ck_assert(!view_halves_shown(&f.state, 159)); /* made narrower meanwhile */
  struct view_box whole = view_halves_box(&f.state, 1, 159, 24);
  ck_assert_int_eq(whole.x, 0);
  ck_assert_int_eq(whole.width, 159);
  fixture_type(&f, "?");
  ck_assert(!view_halves_shown(&f.state, 160)); /* help takes all of it */
}
END_TEST

START_TEST(live_input_gives_one_spectrum)
{
  start(200);
  fixture_type(&f, "V");
  ck_assert_ptr_nonnull(view_halves_model(&f.state, &f.model, NULL).spectrum.why);
  f.state.other.view = VIEW_AIR;
  struct view_model second = view_halves_model(&f.state, &f.model, NULL);
  ck_assert_ptr_null(second.spectrum.why);
  ck_assert_ptr_eq(second.spectrum.trace.mean, f.model.spectrum.trace.mean);
  f.state.other.view = VIEW_COMPOSITE;
  f.state.sheet = VIEW_SHEET_STEREO; /* needs none, so the other side has it */
  ck_assert_ptr_null(view_halves_model(&f.state, &f.model, NULL).spectrum.why);
  second = view_halves_model(&f.state, &f.model, &other.model.spectrum);
  ck_assert_ptr_eq(second.spectrum.trace.mean, other.model.spectrum.trace.mean);
  ck_assert_ptr_eq(second.result, f.model.result);
}
END_TEST

START_TEST(the_help_lists_it_where_it_works)
{
  start(160);
  fixture_type(&f, "?");
  char *wide = fixture_draw(&f, 160, 60, false), *narrow = fixture_draw(&f, 159, 60, false);
  ck_assert_ptr_nonnull(strstr(wide, "show a second view beside"));
  ck_assert_ptr_null(strstr(narrow, "show a second view beside"));
  free(wide);
  free(narrow);
}
END_TEST

START_TEST(every_size_is_drawn)
{
  start(500);
  fixture_type(&f, "Vh");
  for (int side = 0; side < 2; side++, fixture_type(&f, "U"))
    for (int width = 160; width < 400; width += 39)
      for (int height = 1; height < 80; height += height < 8 ? 1 : 11)
        free(drawn(width, height));
}
END_TEST

Suite *halves_suite(void)
{
  Suite *suite = suite_create("halves");
  TCase *halves = tcase_create("halves");
  tcase_add_test(halves, both_stand_side_by_side);
  tcase_add_test(halves, keys_act_on_one_side);
  tcase_add_test(halves, a_narrow_screen_says_what_it_takes);
  tcase_add_test(halves, live_input_gives_one_spectrum);
  tcase_add_test(halves, the_help_lists_it_where_it_works);
  tcase_add_test(halves, every_size_is_drawn);
  suite_add_tcase(suite, halves);
  return suite;
}
