/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A page of lines that lies over the whole screen and is scrolled: the help, the values. */
#ifndef SIDECOMB_VIEW_PAGE_H
#define SIDECOMB_VIEW_PAGE_H

#include "view/grid.h"
#include "view/state.h"

struct view_page {
  struct view_box box; /* below the title */
  int columns, rows;
  size_t size; /* lines that fit */
};

/* A page in the box; lines take at least `width` columns where there are. */
struct view_page view_page_in(struct view_box box, int width);
/* The same, and blanks the box and puts the title, in brief where the other leaves no room for
 * numbers. */
struct view_page view_page_open(struct view_grid *grid, struct view_box box, const char *title,
                                const char *brief, int width);
/* The first line to show of `count`, never past the last page. */
size_t view_page_first(const struct view_page *page, const struct view_state *state, size_t count);
/* The last line that the page begins with. */
int view_page_last(const struct view_page *page, size_t count);
/* Says at the title's end which lines are shown, where they are not all. */
void view_page_number(struct view_grid *grid, const struct view_page *page, size_t first,
                      size_t count);
/* Where the n-th shown line goes: down the columns, one after the other. */
struct view_box view_page_place(const struct view_page *page, size_t n);

#endif
