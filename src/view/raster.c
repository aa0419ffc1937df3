/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Curves to characters. All three ways work on sub-rows: a cell is divided into as many
 * heights as its characters can tell apart. */
#include <math.h>
#include <stdbool.h>

#include "view/raster.h"

enum { BRAILLE = 0x2800, FULL_BLOCK = 0x2588 };

/* Heights told apart in one cell, and dot columns in it. */
static const int heights[VIEW_GLYPHS_COUNT] = {4, 8, 4};
static const int sub_columns[VIEW_GLYPHS_COUNT] = {2, 1, 1};

int view_raster_columns(const struct view_canvas *canvas)
{
  return canvas->box.width * sub_columns[canvas->glyphs];
}

/* Sub-row of a level from the top, clamped to one beyond either edge. */
static int sub_row(const struct view_canvas *canvas, double level)
{
  int rows = canvas->box.height * heights[canvas->glyphs];
  double share = (canvas->top - level) / (canvas->top - canvas->bottom);
  double row = floor(share * rows);
  return row < 0 ? -1 : row >= rows ? rows : (int)row;
}

int view_raster_row(const struct view_canvas *canvas, double level)
{
  double share = (canvas->top - level) / (canvas->top - canvas->bottom);
  return (int)floor(share * canvas->box.height);
}

static unsigned dot_bit(int column, int row)
{
  static const unsigned char bits[2][4] = {{0x01, 0x02, 0x04, 0x40}, {0x08, 0x10, 0x20, 0x80}};
  return bits[column][row];
}

static void put_dot(struct view_grid *grid, const struct view_canvas *canvas, enum view_style style,
                    int column, int row)
{
  int x = canvas->box.x + column / 2, y = canvas->box.y + row / 4;
  struct view_cell *cell = view_grid_cell(grid, x, y);
  if (cell == NULL)
    return;
  uint32_t code;
  view_text_decode(cell->text, &code);
  if (code < BRAILLE || code > BRAILLE + 0xFF)
    code = BRAILLE;
  view_put_character(grid, x, y, style, code | dot_bit(column % 2, row % 4));
}

/* Sub-rows that the curve covers in one column; `none` where it has nothing. */
struct run {
  int from, to;
  bool none;
};

static struct run extent(const struct view_canvas *canvas, const float *low, const float *high,
                         int column)
{
  if (column < 0 || column >= view_raster_columns(canvas) || isnan(high[column]))
    return (struct run){.none = true};
  return (struct run){sub_row(canvas, high[column]), sub_row(canvas, low[column]), false};
}

/* Takes half of the rows between a column and its neighbour, the odd one to the left. */
static void join(struct run *run, const struct run *neighbour, bool is_right)
{
  if (neighbour->none)
    return;
  int below = neighbour->from - run->to - 1, above = run->from - neighbour->to - 1;
  if (below > 0)
    run->to += (below + is_right) / 2;
  if (above > 0)
    run->from -= (above + is_right) / 2;
}

static struct run column_run(const struct view_canvas *canvas, const float *low, const float *high,
                             int column)
{
  int rows = canvas->box.height * heights[canvas->glyphs];
  struct run run = extent(canvas, low, high, column);
  if (run.none)
    return run;
  if (canvas->glyphs != VIEW_GLYPHS_BARS) {
    struct run left = extent(canvas, low, high, column - 1);
    struct run right = extent(canvas, low, high, column + 1);
    struct run own = run;
    join(&run, &left, false);
    join(&own, &right, true);
    run.from = own.from < run.from ? own.from : run.from;
    run.to = own.to > run.to ? own.to : run.to;
  }
  run.none = run.from >= rows || run.to < 0;
  run.from = run.from < 0 ? 0 : run.from;
  run.to = run.to >= rows ? rows - 1 : run.to;
  return run;
}

static void draw_dots(struct view_grid *grid, const struct view_canvas *canvas,
                      enum view_style style, struct run run, int column)
{
  for (int row = run.from; row <= run.to; row++)
    put_dot(grid, canvas, style, column, row);
}

/* A bar from the curve down to the bottom, the uppermost cell in eighths. */
static void draw_bar(struct view_grid *grid, const struct view_canvas *canvas,
                     enum view_style style, struct run run, int column)
{
  int x = canvas->box.x + column, cell = run.from / 8;
  int eighths = 8 - run.from % 8;
  view_put_character(grid, x, canvas->box.y + cell, style, (uint32_t)(FULL_BLOCK - 8 + eighths));
  for (int y = cell + 1; y < canvas->box.height; y++)
    view_put_character(grid, x, canvas->box.y + y, style, FULL_BLOCK);
}

static void draw_plain(struct view_grid *grid, const struct view_canvas *canvas,
                       enum view_style style, struct run run, int column)
{
  static const char marks[] = "'-._";
  for (int y = run.from / 4; y <= run.to / 4; y++) {
    int first = run.from > 4 * y ? run.from - 4 * y : 0;
    int last = run.to < 4 * y + 3 ? run.to - 4 * y : 3;
    char mark = last - first >= 2 ? '|' : marks[first];
    view_put_character(grid, canvas->box.x + column, canvas->box.y + y, style, (unsigned char)mark);
  }
}

void view_raster(struct view_grid *grid, const struct view_canvas *canvas, enum view_style style,
                 const float *low, const float *high)
{
  static void (*const draw[VIEW_GLYPHS_COUNT])(struct view_grid *, const struct view_canvas *,
                                               enum view_style, struct run,
                                               int) = {draw_dots, draw_bar, draw_plain};
  int columns = view_raster_columns(canvas);
  for (int c = 0; c < columns; c++) {
    struct run run = column_run(canvas, low, high, c);
    if (!run.none)
      draw[canvas->glyphs](grid, canvas, style, run, c);
  }
}

void view_raster_tops(const struct view_canvas *canvas, const float *high, int *tops)
{
  int per = sub_columns[canvas->glyphs];
  for (int x = 0; x < canvas->box.width; x++) {
    tops[x] = canvas->box.height;
    for (int c = x * per; c < (x + 1) * per; c++) {
      int row = isnan(high[c]) ? canvas->box.height : view_raster_row(canvas, high[c]);
      tops[x] = row < tops[x] ? row < 0 ? 0 : row : tops[x];
    }
  }
}
