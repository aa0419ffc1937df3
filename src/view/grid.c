/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The grid of cells. A character never splits: a wide one needs both its columns, and
 * overwriting half of one blanks the other half. */
#include <stdlib.h>
#include <string.h>

#include "view/grid.h"

static const struct view_cell blank = {" ", 1, VIEW_STYLE_PLAIN};

bool view_grid_resize(struct view_grid *grid, int width, int height)
{
  struct view_cell *cells = NULL;
  if (width > 0 && height > 0)
    cells = malloc((size_t)width * (size_t)height * sizeof *cells);
  free(grid->cells);
  grid->cells = cells;
  grid->width = cells == NULL ? 0 : width;
  grid->height = cells == NULL ? 0 : height;
  view_grid_clear(grid);
  return cells != NULL;
}

void view_grid_free(struct view_grid *grid)
{
  free(grid->cells);
  *grid = (struct view_grid){0};
}

void view_grid_clear(struct view_grid *grid)
{
  for (int i = 0; i < grid->width * grid->height; i++)
    grid->cells[i] = blank;
}

struct view_cell *view_grid_cell(const struct view_grid *grid, int x, int y)
{
  if (x < 0 || y < 0 || x >= grid->width || y >= grid->height)
    return NULL;
  return &grid->cells[y * grid->width + x];
}

/* Blanks a wide character of which (x, y) is one half. */
static void break_wide(struct view_grid *grid, int x, int y)
{
  struct view_cell *cell = view_grid_cell(grid, x, y);
  if (cell->width == 2 && x + 1 < grid->width)
    cell[1] = blank;
  if (cell->width == 0 && x > 0)
    cell[-1] = blank;
  *cell = blank;
}

static void add_combining(struct view_grid *grid, int x, int y, const char *bytes, size_t length)
{
  struct view_cell *cell = view_grid_cell(grid, x, y);
  if (cell == NULL || cell->width == 0)
    return;
  size_t used = strlen(cell->text);
  if (used + length < sizeof cell->text)
    memcpy(cell->text + used, bytes, length + 1);
}

/* Returns the columns taken. */
static int put_code(struct view_grid *grid, int x, int y, enum view_style style, uint32_t code)
{
  char bytes[VIEW_CHARACTER_BYTES];
  size_t length = view_text_encode(code, bytes);
  int width = view_text_character_width(code);
  if (width == 0) {
    add_combining(grid, x - 1, y, bytes, length);
    return 0;
  }
  if (view_grid_cell(grid, x, y) == NULL || x + width > grid->width)
    return width;
  for (int i = 0; i < width; i++)
    break_wide(grid, x + i, y);
  struct view_cell *cell = view_grid_cell(grid, x, y);
  memcpy(cell->text, bytes, length + 1);
  cell->width = (unsigned char)width;
  cell->style = (unsigned char)style;
  if (width == 2) {
    cell[1].width = 0;
    cell[1].style = (unsigned char)style;
  }
  return width;
}

static int put_shown(struct view_grid *grid, int x, int y, enum view_style style, uint32_t code)
{
  if (!grid->ascii || code < 128)
    return put_code(grid, x, y, style, code);
  const char *text = view_text_ascii(code);
  int columns = 0;
  for (; text[columns] != 0; columns++)
    put_code(grid, x + columns, y, style, (unsigned char)text[columns]);
  return columns;
}

void view_put_character(struct view_grid *grid, int x, int y, enum view_style style, uint32_t code)
{
  put_shown(grid, x, y, style, code);
}

int view_put(struct view_grid *grid, int x, int y, enum view_style style, const char *text)
{
  while (*text != 0) {
    uint32_t code;
    text += view_text_decode(text, &code);
    x += put_shown(grid, x, y, style, code);
  }
  return x;
}

static int put_bytes(struct view_grid *grid, int x, int y, enum view_style style, const char *text,
                     size_t bytes)
{
  for (const char *end = text + bytes; text < end;) {
    uint32_t code;
    text += view_text_decode(text, &code);
    x += put_shown(grid, x, y, style, code);
  }
  return x;
}

/* Bytes of the longest start of `text` that fits `columns`. */
static size_t fitting(const char *text, int columns, bool ascii)
{
  const char *at = text;
  while (*at != 0) {
    uint32_t code;
    char one[VIEW_CHARACTER_BYTES];
    size_t bytes = view_text_decode(at, &code);
    view_text_encode(code, one);
    columns -= view_text_width(one, ascii);
    if (columns < 0)
      break;
    at += bytes;
  }
  return (size_t)(at - text);
}

int view_put_cut(struct view_grid *grid, int x, int y, int columns, enum view_style style,
                 const char *text)
{
  if (columns <= 0)
    return x;
  if (view_text_width(text, grid->ascii) <= columns)
    return view_put(grid, x, y, style, text);
  x = put_bytes(grid, x, y, style, text, fitting(text, columns - 1, grid->ascii));
  return x + put_shown(grid, x, y, style, 0x2026);
}

int view_put_paragraph(struct view_grid *grid, struct view_box box, enum view_style style,
                       const char *text)
{
  int line = 0;
  for (; line < box.height && *text != 0; line++) {
    const char *next;
    size_t bytes = view_text_line(text, box.width, grid->ascii, &next);
    if (line + 1 == box.height && *next != 0) {
      view_put_cut(grid, box.x, box.y + line, box.width, style, text);
      return line + 1;
    }
    put_bytes(grid, box.x, box.y + line, style, text, bytes);
    text = next;
  }
  return line;
}

void view_grid_style(struct view_grid *grid, struct view_box box, enum view_style style)
{
  for (int y = box.y; y < box.y + box.height; y++)
    for (int x = box.x; x < box.x + box.width; x++)
      if (view_grid_cell(grid, x, y) != NULL)
        view_grid_cell(grid, x, y)->style = (unsigned char)style;
}

void view_grid_blank(struct view_grid *grid, struct view_box box)
{
  for (int y = box.y; y < box.y + box.height; y++)
    for (int x = box.x; x < box.x + box.width; x++)
      if (view_grid_cell(grid, x, y) != NULL)
        break_wide(grid, x, y);
}

static size_t row_text(const struct view_grid *grid, int y, char *out)
{
  size_t used = 0, kept = 0;
  for (int x = 0; x < grid->width; x++) {
    const struct view_cell *cell = view_grid_cell(grid, x, y);
    if (cell->width == 0)
      continue;
    size_t bytes = strlen(cell->text);
    memcpy(out + used, cell->text, bytes);
    used += bytes;
    if (strcmp(cell->text, " ") != 0)
      kept = used;
  }
  out[kept] = '\n';
  return kept + 1;
}

char *view_grid_text(const struct view_grid *grid)
{
  size_t row = (size_t)grid->width * sizeof blank.text + 1, used = 0;
  char *text = malloc(row * (size_t)grid->height + 1);
  if (text == NULL)
    return NULL;
  for (int y = 0; y < grid->height; y++)
    used += row_text(grid, y, text + used);
  text[used] = 0;
  return text;
}
