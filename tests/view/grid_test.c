/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The grid of cells: clipping, wide characters, ASCII replacement. */
#include <stdlib.h>

#include "view/grid.h"
#include "view/suites.h"

static struct view_grid make(int width, int height)
{
  struct view_grid grid = {0};
  ck_assert(view_grid_resize(&grid, width, height));
  return grid;
}

static void expect(struct view_grid *grid, const char *text)
{
  char *shown = view_grid_text(grid);
  ck_assert_str_eq(shown, text);
  free(shown);
  view_grid_free(grid);
}

START_TEST(text_is_cut_at_the_edge)
{
  struct view_grid grid = make(4, 2);
  view_put(&grid, 2, 0, VIEW_STYLE_PLAIN, "abc");
  view_put(&grid, -1, 1, VIEW_STYLE_PLAIN, "xyz");
  expect(&grid, "  ab\nyz\n");
}
END_TEST

START_TEST(a_cut_is_marked)
{
  struct view_grid grid = make(8, 1);
  view_put_cut(&grid, 0, 0, 5, VIEW_STYLE_PLAIN, "abcdefgh");
  expect(&grid, "abcd…\n");
}
END_TEST

START_TEST(a_wide_character_never_splits)
{
  struct view_grid grid = make(3, 1);
  view_put(&grid, 0, 0, VIEW_STYLE_PLAIN, "\xE5\xB1\xB1\xE5\xB1\xB1");
  view_put(&grid, 1, 0, VIEW_STYLE_PLAIN, "x");
  expect(&grid, " x\n");
}
END_TEST

START_TEST(a_mark_joins_its_letter)
{
  struct view_grid grid = make(3, 1);
  view_put(&grid, 0, 0, VIEW_STYLE_PLAIN, "e\xCC\x81x");
  expect(&grid, "e\xCC\x81x\n");
}
END_TEST

START_TEST(control_characters_become_visible)
{
  struct view_grid grid = make(8, 1);
  view_put(&grid, 0, 0, VIEW_STYLE_PLAIN, "a\x1b[mb");
  expect(&grid, "a\xEF\xBF\xBD[mb\n");
}
END_TEST

START_TEST(ascii_replaces)
{
  struct view_grid grid = make(20, 1);
  grid.ascii = true;
  view_put(&grid, 0, 0, VIEW_STYLE_PLAIN, "1 ±2 é…");
  expect(&grid, "1 +/-2 ?~\n");
}
END_TEST

START_TEST(a_paragraph_fills_its_box_and_no_more)
{
  struct view_grid grid = make(12, 3);
  struct view_box box = {1, 1, 6, 2};
  ck_assert_int_eq(view_put_paragraph(&grid, box, VIEW_STYLE_PLAIN, "one two three four"), 2);
  expect(&grid, "\n one\n two t…\n");
}
END_TEST

START_TEST(nothing_is_drawn_into_no_grid)
{
  struct view_grid grid = {0};
  ck_assert(!view_grid_resize(&grid, 0, 5));
  view_put(&grid, 0, 0, VIEW_STYLE_PLAIN, "abc");
  view_put_character(&grid, 0, 0, VIEW_STYLE_PLAIN, 0x5C71);
  ck_assert_ptr_null(view_grid_cell(&grid, 0, 0));
}
END_TEST

Suite *grid_suite(void)
{
  Suite *suite = suite_create("grid");
  TCase *cells = tcase_create("cells");
  tcase_add_test(cells, text_is_cut_at_the_edge);
  tcase_add_test(cells, a_cut_is_marked);
  tcase_add_test(cells, a_wide_character_never_splits);
  tcase_add_test(cells, a_mark_joins_its_letter);
  tcase_add_test(cells, control_characters_become_visible);
  tcase_add_test(cells, ascii_replaces);
  tcase_add_test(cells, a_paragraph_fills_its_box_and_no_more);
  tcase_add_test(cells, nothing_is_drawn_into_no_grid);
  suite_add_tcase(suite, cells);
  return suite;
}
