/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The values page has the rows of the report's text, so that a number here is the number there.
 * What is read first stands first: answers, limits, notices. Whatever is too long for its line goes
 * on in the next. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include <sidecomb/rows.h>

#include "view/page.h"
#include "view/text.h"
#include "view/values.h"

enum {
  LABEL_COLUMNS = 28,
  LIMIT_COLUMNS = 8,
  NARROW_INDENT = 4,
  PAGE_COLUMNS = 60,
  BOTH_COLUMNS = 100,
  TEXT_LENGTH = 512
};

/* Where the next line goes. */
struct walk {
  struct view_grid *grid; /* NULL: lines are only counted */
  const struct view_page *page;
  const struct sc_result *result, *other; /* other: of a second capture; NULL: none */
  bool ascii;
  size_t first, lines; /* the first that is shown, and how many came */
};

/* False: the line is not shown. */
static bool next_line(struct walk *walk, struct view_box *at)
{
  const size_t n = walk->lines++;
  if (walk->grid == NULL || n < walk->first || n - walk->first >= walk->page->size)
    return false;
  *at = view_page_place(walk->page, n - walk->first);
  return true;
}

/* `text` from column `indent` on, after what stands in the first line before that. */
static void put_wrapped(struct walk *walk, const char *lead, enum view_style lead_style, int indent,
                        enum view_style style, const char *text)
{
  const int columns = view_page_place(walk->page, 0).width - indent - 1;
  const char *next;
  char piece[TEXT_LENGTH];
  struct view_box at;
  for (size_t bytes; (bytes = view_text_line(text, columns, walk->ascii, &next)) > 0;
       text = next, lead = "") {
    if (!next_line(walk, &at))
      continue;
    snprintf(piece, sizeof piece, "%.*s", (int)bytes, text);
    view_put_cut(walk->grid, at.x + 1, at.y, indent - 2, lead_style, lead);
    view_put(walk->grid, at.x + indent, at.y, style, piece);
  }
}

static void put_title(struct walk *walk, const char *title)
{
  struct view_box at;
  if (next_line(walk, &at))
    view_put_cut(walk->grid, at.x, at.y, at.width, VIEW_STYLE_HEAD, title);
}

/* Measured here and there, and the difference of numbers. */
static void put_both(struct walk *walk, const struct sc_field *field)
{
  const struct sc_value values[2] = {sc_field_value(field, walk->result),
                                     sc_field_value(field, walk->other)};
  struct view_box at;
  char text[TEXT_LENGTH];
  if (!next_line(walk, &at))
    return;
  const int labels = at.width / 4, each = (at.width - labels) / 3;
  view_put_cut(walk->grid, at.x + 1, at.y, labels - 2, VIEW_STYLE_LABEL, field->label);
  for (int i = 0; i < 2; i++) {
    snprintf(text, sizeof text, "not measured");
    if (values[i].why == NULL)
      sc_format_value(&values[i], text, sizeof text);
    view_put_cut(walk->grid, at.x + labels + i * each, at.y, each - 1,
                 values[i].why == NULL ? VIEW_STYLE_PLAIN : VIEW_STYLE_QUIET, text);
  }
  struct sc_quantity a = values[0].number, b = values[1].number;
  if (a.why != NULL || b.why != NULL || values[0].text != NULL || !isfinite(a.value - b.value))
    return;
  bool known = values[0].has_uncertainty && values[1].has_uncertainty;
  struct sc_quantity apart = {a.value - b.value,
                              known ? hypot(a.uncertainty, b.uncertainty) : (double)NAN, NULL};
  sc_format_quantity(apart, field->decimals, text, sizeof text);
  view_put_cut(walk->grid, at.x + labels + 2 * each, at.y, each - 1, VIEW_STYLE_PLAIN, text);
}

static void put_value(struct walk *walk, const struct sc_row *row)
{
  const int width = view_page_place(walk->page, 0).width;
  const int labels = width < 2 * LABEL_COLUMNS ? width / 2 : LABEL_COLUMNS;
  if (row->field != NULL && walk->other != NULL) {
    put_both(walk, row->field);
  } else if (view_text_width(row->label, walk->ascii) <= labels - 2) {
    put_wrapped(walk, row->label, VIEW_STYLE_LABEL, labels, VIEW_STYLE_PLAIN, row->text);
  } else {
    put_wrapped(walk, "", VIEW_STYLE_PLAIN, 1, VIEW_STYLE_LABEL, row->label);
    put_wrapped(walk, "", VIEW_STYLE_PLAIN, NARROW_INDENT, VIEW_STYLE_PLAIN, row->text);
  }
}

/* The lines themselves are the rows of their view. */
static void put_table(struct walk *walk, const struct sc_row *row)
{
  char text[TEXT_LENGTH];
  if (row->pairs)
    return;
  put_title(walk, row->label);
  put_wrapped(walk, "", VIEW_STYLE_PLAIN, 1, VIEW_STYLE_PLAIN, row->text);
  snprintf(text, sizeof text, "Their view lists %zu.", row->lines->count);
  if (row->lines->why == NULL && row->lines->count > 0)
    put_wrapped(walk, "", VIEW_STYLE_PLAIN, 1, VIEW_STYLE_PLAIN, text);
}

static void put_limit(struct walk *walk, const struct sc_row *row)
{
  const bool broken = strcmp(row->label, "failed") == 0;
  put_wrapped(walk, row->label, broken ? VIEW_STYLE_WARNING : VIEW_STYLE_LABEL, LIMIT_COLUMNS,
              VIEW_STYLE_PLAIN, row->text);
}

static void put_row(struct walk *walk, const struct sc_row *row)
{
  struct view_box at;
  switch (row->kind) {
  case SC_ROW_TITLE:
    put_title(walk, row->text);
    break;
  case SC_ROW_VALUE:
    put_value(walk, row);
    break;
  case SC_ROW_LIMIT:
    put_limit(walk, row);
    break;
  case SC_ROW_NOTICE:
    put_wrapped(walk, "*", VIEW_STYLE_WARNING, 3, VIEW_STYLE_PLAIN, row->text);
    break;
  case SC_ROW_ABSENT:
    put_wrapped(walk, "", VIEW_STYLE_PLAIN, 1, VIEW_STYLE_QUIET, row->text);
    break;
  case SC_ROW_LINE: /* of a table that was made for this width */
    if (next_line(walk, &at))
      view_put_cut(walk->grid, at.x, at.y, at.width, VIEW_STYLE_PLAIN, row->text);
    break;
  case SC_ROW_TABLE:
    put_table(walk, row);
    break;
  default:
    put_wrapped(walk, "", VIEW_STYLE_PLAIN, 1, VIEW_STYLE_PLAIN, row->text);
  }
}

static void put_all(struct walk *walk, const struct sc_rows *rows)
{
  walk->lines = 0;
  for (int leading = 1; leading >= 0; leading--)
    for (size_t i = 0; i < rows->count; i++)
      if (rows->at[i].leads == (leading == 1))
        put_row(walk, &rows->at[i]);
}

/* ---- the page */

static struct view_page open_page(struct view_grid *grid, struct view_box box, bool both)
{
  static const char title[] = "Measured over all that was read. Up, Down scroll; Esc leaves.";
  static const char beside[] = "Measured over all that was read: here, in the other capture, and "
                               "the difference. Up and Down scroll.";
  return view_page_open(grid, box, both ? beside : title,
                        both ? "Here, in the other capture, and the difference."
                             : "Measured values.",
                        both ? BOTH_COLUMNS : PAGE_COLUMNS);
}

static enum sc_error make_rows(const struct walk *walk, struct sc_rows *rows)
{
  struct sc_report_settings settings = {.width =
                                            (unsigned)(view_page_place(walk->page, 0).width - 1)};
  return sc_rows_make(walk->result, walk->other, &settings, rows);
}

void view_values(struct view_grid *grid, struct view_box box, const struct view_state *state,
                 const struct view_model *model)
{
  const struct sc_result *other = model->against != NULL ? model->against->result : NULL;
  const struct view_page page = open_page(grid, box, other != NULL);
  struct walk walk = {.page = &page, .ascii = grid->ascii, .result = model->result, .other = other};
  struct sc_rows rows;
  if (model->result == NULL || page.size == 0) {
    view_put_cut(grid, box.x, box.y + 1, box.width, VIEW_STYLE_PLAIN, "Nothing is measured yet.");
    return;
  }
  if (make_rows(&walk, &rows) != SC_OK) {
    view_put_cut(grid, box.x, box.y + 1, box.width, VIEW_STYLE_WARNING, "Not enough memory.");
    return;
  }
  put_all(&walk, &rows);
  walk.grid = grid;
  walk.first = view_page_first(&page, state, walk.lines);
  view_page_number(grid, &page, walk.first, walk.lines);
  put_all(&walk, &rows);
  sc_rows_free(&rows);
}

int view_values_last(struct view_box box, const struct view_state *state,
                     const struct view_model *model)
{
  const struct sc_result *other = model->against != NULL ? model->against->result : NULL;
  const struct view_page page = view_page_in(box, other != NULL ? BOTH_COLUMNS : PAGE_COLUMNS);
  struct walk walk = {
      .page = &page, .ascii = state->ascii, .result = model->result, .other = other};
  struct sc_rows rows;
  if (model->result == NULL || page.size == 0 || make_rows(&walk, &rows) != SC_OK)
    return 0;
  put_all(&walk, &rows);
  sc_rows_free(&rows);
  return view_page_last(&page, walk.lines);
}
