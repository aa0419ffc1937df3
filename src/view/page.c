/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Where the lines of a page go. */
#include <stdio.h>

#include "view/page.h"

enum { NUMBER_COLUMNS = 18 };

struct view_page view_page_in(struct view_box box, int width)
{
  struct view_page page = {.box = {box.x, box.y + 1, box.width, box.height - 1}};
  page.columns = box.width / width > 0 ? box.width / width : 1;
  page.rows = box.height > 1 ? box.height - 1 : 0;
  page.size = (size_t)(page.rows * page.columns);
  return page;
}

struct view_page view_page_open(struct view_grid *grid, struct view_box box, const char *title,
                                const char *brief, int width)
{
  view_grid_blank(grid, box);
  view_put_cut(grid, box.x, box.y, box.width, VIEW_STYLE_QUIET,
               view_text_fitting(title, brief, box.width - NUMBER_COLUMNS, grid->ascii));
  return view_page_in(box, width);
}

int view_page_last(const struct view_page *page, size_t count)
{
  return count > page->size ? (int)(count - page->size) : 0;
}

size_t view_page_first(const struct view_page *page, const struct view_state *state, size_t count)
{
  const int last = view_page_last(page, count);
  return (size_t)(state->page_first < last ? state->page_first : last);
}

void view_page_number(struct view_grid *grid, const struct view_page *page, size_t first,
                      size_t count)
{
  char text[64];
  const size_t end = first + page->size < count ? first + page->size : count;
  if (count <= page->size)
    return;
  snprintf(text, sizeof text, "  %zu to %zu of %zu", first + 1, end, count);
  const int width = view_text_width(text, grid->ascii);
  if (width <= page->box.width)
    view_put(grid, page->box.x + page->box.width - width, page->box.y - 1, VIEW_STYLE_LABEL, text);
}

struct view_box view_page_place(const struct view_page *page, size_t n)
{
  int width = page->box.width / page->columns;
  int column = (int)n / page->rows, row = (int)n % page->rows;
  return (struct view_box){page->box.x + column * width, page->box.y + row, width, 1};
}
