/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The page from top to bottom: title, account, frame, how it was made, markers, table. It is drawn
 * to nowhere first, which tells how many rows a page holds. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "report/plot_page.h"

/* A4: 210 by 297 mm. */
const double plot_page_width = 595, plot_margin = 34;
static const double page_height = 842, page_least = 421; /* lying A5 */
static const double type = 10, title_type = 13, table_type = 9, row_gap = 2.5, line_height = 1.25;
/* Rows of a table that fills a page; labels that have room side by side. */
enum { ROWS_FIRST = 24, ROWS_LEAST = 4, ROWS_MOST = 40, CAUSE_LINES_MOST = 3 };

/* Whole words in at most `most` lines from sheet->y on; what does not fit is cut by an ellipsis. */
static void paragraph(struct plot_sheet *sheet, double x, double width, double size, int most,
                      const char *text)
{
  for (int line = 0; line < most && text[0] != '\0'; line++) {
    size_t skip, bytes = plot_wrap(text, width, plot_pen_measure, sheet->pen, &skip);
    char part[PLOT_TEXT_LENGTH];
    bool cut = line + 1 == most && text[bytes + skip] != '\0';
    snprintf(part, sizeof part, "%.*s%s", (int)bytes, text, cut ? " …" : "");
    sheet->y += size * line_height;
    plot_pen_put(sheet->pen, x, sheet->y, part);
    text += bytes + skip;
  }
}

/* ---- the page, from top to bottom */

static void draw_head(struct plot_sheet *sheet)
{
  const struct sc_plot *plot = sheet->page->plot;
  double width = plot_page_width - 2 * plot_margin;
  char text[PLOT_TEXT_LENGTH];
  sheet->y = plot_margin;
  plot_title(plot, text);
  plot_pen_type(sheet->pen, title_type, true, PLOT_INK);
  paragraph(sheet, plot_margin, width, title_type, 2, text);
  plot_subtitle(plot, text);
  plot_pen_type(sheet->pen, type, false, PLOT_INK_QUIET);
  paragraph(sheet, plot_margin, width, type, 2, text);
  if (plot->result == NULL || plot->result->account[0] == '\0')
    return;
  sheet->y += 3;
  plot_pen_type(sheet->pen, type, false, PLOT_INK);
  paragraph(sheet, plot_margin, width, type, 4, plot->result->account);
}

static void draw_words(struct plot_sheet *sheet)
{
  const struct sc_plot *plot = sheet->page->plot;
  double width = plot_page_width - 2 * plot_margin;
  char text[PLOT_TEXT_LENGTH];
  plot_pen_type(sheet->pen, type, false, PLOT_INK);
  plot_level_words(plot, sheet->page->scale, text);
  paragraph(sheet, plot_margin, width, type, 2, text);
  plot_making(plot, text);
  paragraph(sheet, plot_margin, width, type, 3, text);
  plot_mask_words(plot, text);
  paragraph(sheet, plot_margin, width, type, 5, text);
  if (plot->expected != NULL && plot->expected->points > 1)
    paragraph(sheet, plot_margin, width, type, 2,
              "Dotted: what the measured composite makes on air.");
  if (plot->show_highest || plot->show_lowest)
    paragraph(sheet, plot_margin, width, type, 2,
              plot->show_lowest ? "Grey: highest and lowest of single records."
                                : "Grey: highest of single records.");
  if (plot->other == NULL)
    return;
  snprintf(text, sizeof text,
           "Short dashes: %.200s, against its own %s, resolution bandwidth %.4g Hz.",
           plot->other->name, plot->of == SC_SIGHT_AIR ? "carrier" : "reference",
           plot->other->trace->rbw_hz);
  paragraph(sheet, plot_margin, width, type, 2, text);
}

static void draw_markers_table(struct plot_sheet *sheet)
{
  const struct sc_plot *plot = sheet->page->plot;
  for (size_t i = 0; i < plot->marker_count; i++) {
    plot_pen_type(sheet->pen, type, true, PLOT_INK);
    plot_pen_put(sheet->pen, plot_margin, sheet->y + 3 + type * line_height, plot->markers[i].name);
    sheet->y += 3;
    double room = fmax(plot_pen_measure(sheet->pen, plot->markers[i].name) + 6, 18);
    plot_pen_type(sheet->pen, type, false, PLOT_INK);
    paragraph(sheet, plot_margin + room, plot_page_width - 2 * plot_margin - room, type, 3,
              plot->markers[i].reading);
  }
}

/* Where the columns of the table stand: names and verdicts begin there, numbers end there. */
struct columns {
  char headings[PLOT_COLUMNS][PLOT_CELL_LENGTH];
  double x[PLOT_COLUMNS], width[PLOT_COLUMNS];
  double cause;
};
static const double number_room = 20, column_gap = 9, name_most = 105;

static bool is_number(int column)
{
  return column != PLOT_NAME && column != PLOT_VERDICT;
}

static void place_columns(struct plot_sheet *sheet, struct columns *columns)
{
  const struct plot_page *page = sheet->page;
  double x = plot_margin + number_room;
  plot_headings(page->plot, page->scale, columns->headings);
  for (int c = 0; c < PLOT_COLUMNS; c++) {
    plot_pen_type(sheet->pen, table_type, !is_number(c), PLOT_INK);
    double width = plot_pen_measure(sheet->pen, columns->headings[c]);
    for (size_t i = 0; i < page->count; i++)
      width = fmax(width, plot_pen_measure(sheet->pen, page->rows[i].cells[c]));
    width = c == PLOT_NAME ? fmin(width, name_most) : width;
    columns->width[c] = width;
    columns->x[c] = is_number(c) ? x + width : x;
    x += width > 0 ? width + column_gap : 0;
  }
  columns->cause = x;
}

static void put_cut(struct plot_sheet *sheet, double x, double y, double width, const char *text)
{
  char part[PLOT_TEXT_LENGTH];
  plot_pen_cut(sheet->pen, width, text, part, sizeof part);
  plot_pen_put(sheet->pen, x, y, part);
}

static void put_cells(struct plot_sheet *sheet, const struct columns *columns, double y, bool bold,
                      enum plot_ink ink, const char cells[PLOT_COLUMNS][PLOT_CELL_LENGTH])
{
  for (int c = 0; c < PLOT_COLUMNS; c++) {
    plot_pen_type(sheet->pen, table_type, bold && !is_number(c), ink);
    if (is_number(c))
      plot_pen_put_right(sheet->pen, columns->x[c], y, cells[c]);
    else
      put_cut(sheet, columns->x[c], y, columns->width[c], cells[c]);
  }
}

/* The cause stands in the row where it fits, else below; with it the name that the table cut. */
static void draw_cause(struct plot_sheet *sheet, const struct columns *columns,
                       const struct plot_row *row, double y)
{
  double right = plot_page_width - plot_margin, left = plot_margin + number_room;
  char text[PLOT_TEXT_LENGTH];
  plot_pen_type(sheet->pen, table_type, row->open, PLOT_INK);
  const char *name = row->cells[PLOT_NAME];
  const bool cut = plot_pen_measure(sheet->pen, name) > columns->width[PLOT_NAME];
  plot_cause_words(row->line, cut, text);
  plot_pen_type(sheet->pen, table_type, false, PLOT_INK_QUIET);
  if (plot_pen_measure(sheet->pen, text) <= right - columns->cause)
    plot_pen_put(sheet->pen, columns->cause, y, text);
  else
    paragraph(sheet, left, right - left, table_type, row->open ? CAUSE_LINES_MOST : 1, text);
}

static void draw_row(struct plot_sheet *sheet, const struct columns *columns, size_t i)
{
  const struct plot_row *row = &sheet->page->rows[i];
  char text[PLOT_CELL_LENGTH];
  sheet->y += row_gap + table_type * line_height;
  double y = sheet->y;
  plot_pen_type(sheet->pen, table_type, row->open, PLOT_INK);
  snprintf(text, sizeof text, "%zu", i + 1);
  plot_pen_put_right(sheet->pen, plot_margin + number_room - 6, y, text);
  put_cells(sheet, columns, y, row->open, PLOT_INK, row->cells);
  draw_cause(sheet, columns, row, y);
}

static void draw_table(struct plot_sheet *sheet)
{
  const struct plot_page *page = sheet->page;
  struct columns columns;
  char text[PLOT_TEXT_LENGTH];
  if (page->plot->result == NULL || page->within == 0)
    return;
  sheet->y += 6;
  plot_pen_line(sheet->pen, PLOT_INK, 0.8, PLOT_SOLID);
  plot_pen_move(sheet->pen, plot_margin, sheet->y);
  plot_pen_to(sheet->pen, plot_page_width - plot_margin, sheet->y);
  plot_pen_stroke(sheet->pen);
  snprintf(text, sizeof text,
           "%zu of %zu lines in this span%s. ± is one standard uncertainty (k = 1).", page->count,
           page->within,
           page->plot->of != SC_SIGHT_AUDIO ? "; bold: residual, spurious or unknown" : "");
  plot_pen_type(sheet->pen, table_type, false, PLOT_INK_QUIET);
  paragraph(sheet, plot_margin, plot_page_width - 2 * plot_margin, table_type, 2, text);
  place_columns(sheet, &columns);
  sheet->y += row_gap + table_type * line_height;
  put_cells(sheet, &columns, sheet->y, false, PLOT_INK_QUIET, columns.headings);
  plot_pen_put(sheet->pen, columns.cause, sheet->y, "what it is");
  for (size_t i = 0; i < page->count; i++)
    draw_row(sheet, &columns, i);
}

static void draw_page(void *context, struct plot_pen *pen)
{
  struct plot_page *page = context;
  struct plot_sheet sheet = {.pen = pen, .page = page};
  draw_head(&sheet);
  plot_draw_frame(&sheet);
  draw_words(&sheet);
  draw_markers_table(&sheet);
  draw_table(&sheet);
  page->height = sheet.y + plot_margin;
}

static void try_rows(struct plot_page *page, size_t most)
{
  page->count = plot_rows(page->plot, page->scale, most, page->rows, &page->within);
  plot_pen_try(draw_page, page);
}

/* As many rows as a page holds; a page for the rows that were asked for. */
static void fit_rows(struct plot_page *page)
{
  size_t most = page->plot->rows > 0 ? page->plot->rows : ROWS_FIRST;
  try_rows(page, most < ROWS_MOST ? most : ROWS_MOST);
  while (page->plot->rows == 0 && page->height > page_height && most > ROWS_LEAST)
    try_rows(page, --most);
}

enum sc_error plot_draw_page(struct plot_page *page, enum sc_plot_format format,
                             struct plot_bytes *out)
{
  fit_rows(page);
  return plot_pen_page(format, plot_page_width, fmax(page->height, page_least), draw_page, page,
                       out);
}
