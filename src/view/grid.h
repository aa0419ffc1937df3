/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The screen as data: cells of one character and one style. Drawing writes here, tests read
 * here, and terminal.c copies it to a terminal. */
#ifndef SIDECOMB_VIEW_GRID_H
#define SIDECOMB_VIEW_GRID_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "view/text.h"

enum { VIEW_SHADES = 8 };

/* What a cell means; the terminal decides how that looks. */
enum view_style {
  VIEW_STYLE_PLAIN,
  VIEW_STYLE_QUIET, /* grid, units, what is read once */
  VIEW_STYLE_HEAD,  /* the sentence's first word, titles */
  VIEW_STYLE_TRACE,
  VIEW_STYLE_HOLD,   /* peak and minimum hold */
  VIEW_STYLE_SECOND, /* another capture's trace */
  VIEW_STYLE_MARKER, /* a marker that is not moved now */
  VIEW_STYLE_ACTIVE, /* the marker that the keys move, and its row */
  VIEW_STYLE_LABEL,
  VIEW_STYLE_EXPLAINED,
  VIEW_STYLE_RESIDUAL,
  VIEW_STYLE_SPURIOUS,
  VIEW_STYLE_ARTEFACT,
  VIEW_STYLE_UNKNOWN,
  VIEW_STYLE_WARNING,
  VIEW_STYLE_SHADE, /* the first of VIEW_SHADES, from weak to strong */
  VIEW_STYLE_COUNT = VIEW_STYLE_SHADE + VIEW_SHADES
};

struct view_cell {
  char text[12];       /* UTF-8, one character and its combining marks */
  unsigned char width; /* 1 or 2; 0: covered by a wide character to its left */
  unsigned char style;
};

struct view_grid {
  int width, height;
  bool ascii; /* the terminal shows no UTF-8 */
  struct view_cell *cells;
};

struct view_box {
  int x, y, width, height;
};

/* Zero-initialise; false when memory is short, the grid is then empty. Clears it. */
bool view_grid_resize(struct view_grid *grid, int width, int height);
void view_grid_free(struct view_grid *grid);
void view_grid_clear(struct view_grid *grid);
/* NULL outside the grid. */
struct view_cell *view_grid_cell(const struct view_grid *grid, int x, int y);
/* Puts text at (x, y), cut at the grid's edge; returns the column after it. */
int view_put(struct view_grid *grid, int x, int y, enum view_style style, const char *text);
/* The same, at most `columns` wide, the cut marked by an ellipsis. */
int view_put_cut(struct view_grid *grid, int x, int y, int columns, enum view_style style,
                 const char *text);
/* One character. */
void view_put_character(struct view_grid *grid, int x, int y, enum view_style style, uint32_t code);
/* Text broken into lines in a box, the last one cut with an ellipsis when not all fits.
 * Returns the lines used. */
int view_put_paragraph(struct view_grid *grid, struct view_box box, enum view_style style,
                       const char *text);
/* Gives all cells of a box one style. */
void view_grid_style(struct view_grid *grid, struct view_box box, enum view_style style);
/* The box's cells become spaces. */
void view_grid_blank(struct view_grid *grid, struct view_box box);
/* The grid's rows as text, newline after each, trailing spaces cut; free() it. NULL: memory. */
char *view_grid_text(const struct view_grid *grid);

#endif
