/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The rest is the distance to the nearer bound: "=" stands for kept, "!" for not, "?" for open, as
 * the report's limits are. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include <sidecomb/fields.h>
#include <sidecomb/limits.h>

#include "view/facts.h"
#include "view/format.h"

enum {
  CAUSE = 23,
  EXPECTED = 22,
  USUAL = 80,
  EXPECTED_FROM = 70,
  REST_FROM = 46,
  REST = 12,
  WIDEST = 100,
  TEXT_LENGTH = 512
};

struct columns {
  int cause, measured, expected, rest;
};

/* Far apart the columns of a row would not be read as one. */
static int in_reach(int width)
{
  return width < WIDEST ? width : WIDEST;
}

static struct columns divide(int width)
{
  struct columns c = {.cause = width / 3 < CAUSE ? width / 3 : CAUSE};
  c.rest = width >= REST_FROM ? REST : 2;
  c.expected = width >= EXPECTED_FROM ? EXPECTED + (width > USUAL ? (width - USUAL) / 4 : 0) : 0;
  c.measured = width - c.cause - c.rest - c.expected;
  return c;
}

static void put_header(struct view_grid *grid, struct view_box box)
{
  struct columns c = divide(in_reach(box.width));
  view_put_cut(grid, box.x, box.y, c.cause - 1, VIEW_STYLE_QUIET, "cause");
  view_put_cut(grid, box.x + c.cause, box.y, c.measured - 1, VIEW_STYLE_QUIET, "measured");
  if (c.expected > 0)
    view_put_cut(grid, box.x + c.cause + c.measured, box.y, c.expected - 1, VIEW_STYLE_QUIET,
                 "expected");
  if (c.rest > 2)
    view_put_cut(grid, box.x + c.cause + c.measured + c.expected, box.y, c.rest, VIEW_STYLE_QUIET,
                 "rest");
}

/* What is left to the nearer bound; negative: it is passed. NAN: there is none. */
static double room_to_bound(const struct view_fact *fact, double value)
{
  return fmin(isnan(fact->most) ? (double)INFINITY : fact->most - value,
              isnan(fact->least) ? (double)INFINITY : value - fact->least);
}

/* Where a standard's limit stays open for this number (no clock is stated, too short a time was
 * seen), its distance is no verdict. */
static bool is_open(const struct view_fact *fact, const struct sc_result *result)
{
  const struct sc_section *section;
  const struct sc_field *field;
  struct sc_limits limits;
  struct sc_message message;
  if (fact->field == NULL || !sc_field_find(fact->field, &section, &field) ||
      sc_limits_parse(sc_limits_standard(), "standard", &limits, &message) != SC_OK)
    return false;
  for (size_t i = 0; i < limits.count; i++)
    if (limits.limits[i].field == field && limits.limits[i].section == section)
      return sc_limit_judge(&limits.limits[i], result).kept == SC_UNKNOWN;
  return false;
}

static void put_rest(struct view_grid *grid, int x, int y, int columns,
                     const struct view_fact *fact, const struct sc_value *value,
                     const struct sc_result *result)
{
  double room = value->text == NULL ? room_to_bound(fact, value->number.value) : (double)INFINITY;
  char text[32];
  if (!isfinite(room))
    return;
  const bool open = is_open(fact, result);
  const char *sign = open ? "?" : room >= 0 ? "=" : "!";
  if (columns > 2)
    snprintf(text, sizeof text, "%s %.3g %s", sign, fabs(room), room >= 0 ? "free" : "over");
  else
    snprintf(text, sizeof text, "%s", sign);
  view_put_cut(grid, x, y, columns,
               open        ? VIEW_STYLE_UNKNOWN
               : room >= 0 ? VIEW_STYLE_EXPLAINED
                           : VIEW_STYLE_WARNING,
               text);
}

/* False: not measured, *text is why. */
static bool measured(const struct view_fact *fact, const struct sc_result *result,
                     struct sc_value *value, char *text, size_t size)
{
  const struct sc_section *section;
  const struct sc_field *field;
  *value = (struct sc_value){.text = fact->text};
  if (fact->field == NULL) {
    snprintf(text, size, "%s", fact->text);
    return true;
  }
  if (!sc_field_find(fact->field, &section, &field))
    return false;
  *value = sc_field_value(field, result);
  if (value->why == NULL)
    sc_format_value(value, text, size);
  else
    snprintf(text, size, "not measured: %s", value->why);
  return value->why == NULL;
}

/* ---- a row */

/* Where rows go; without a grid they are only counted. */
struct sheet {
  struct view_grid *grid;
  bool ascii;
  const struct sc_result *result;
  const char *why; /* why the row above was not measured; NULL: it was */
};

/* Text in a column of the row, in as many lines as it takes; those beyond the box are not shown. */
static int put_column(const struct sheet *sheet, struct view_box box, int x, int columns,
                      enum view_style style, const char *text)
{
  if (sheet->grid != NULL && box.height > 0)
    (void)view_put_paragraph(sheet->grid, (struct view_box){box.x + x, box.y, columns, box.height},
                             style, text);
  return view_text_lines(text, columns, sheet->ascii);
}

static int larger(int a, int b)
{
  return a > b ? a : b;
}

/* Returns the lines that the row takes. */
static int put_fact(struct sheet *sheet, struct view_box box, const struct view_fact *fact)
{
  struct columns c = divide(in_reach(box.width));
  struct sc_value value;
  char text[TEXT_LENGTH] = "";
  bool is = measured(fact, sheet->result, &value, text, sizeof text);
  if (!is && sheet->why != NULL && value.why != NULL && strcmp(sheet->why, value.why) == 0)
    snprintf(text, sizeof text, "as above");
  sheet->why = is ? NULL : value.why;
  bool alone = !is || (fact->expected[0] == 0 && value.text != NULL);
  int wide = alone ? box.width - c.cause : c.measured - 1;
  int lines = put_column(sheet, box, 0, c.cause - 1, VIEW_STYLE_LABEL, fact->cause);
  lines = larger(
      lines, put_column(sheet, box, c.cause, wide, is ? VIEW_STYLE_PLAIN : VIEW_STYLE_QUIET, text));
  if (!alone && c.expected > 0)
    lines = larger(lines, put_column(sheet, box, c.cause + c.measured, c.expected - 1,
                                     VIEW_STYLE_QUIET, fact->expected));
  if (!alone && sheet->grid != NULL && box.height > 0)
    put_rest(sheet->grid, box.x + c.cause + c.measured + c.expected, box.y, c.rest, fact, &value,
             sheet->result);
  return larger(lines, 1);
}

/* ---- rows */

static bool has_header(struct view_box box)
{
  return box.height >= 4;
}

int view_facts_lines(int width, bool ascii, const struct sc_result *result,
                     const struct view_fact *facts, size_t count)
{
  struct sheet sheet = {.ascii = ascii, .result = result};
  int lines = 0;
  for (size_t i = 0; i < count; i++)
    lines += put_fact(&sheet, (struct view_box){0, 0, width, 0}, &facts[i]);
  return lines;
}

int view_facts_last(struct view_box box, bool ascii, const struct sc_result *result,
                    const struct view_fact *facts, size_t count)
{
  const int rows = box.height - has_header(box);
  size_t low = 0, high = count > 0 ? count - 1 : 0;
  while (low < high) {
    const size_t middle = (low + high) / 2;
    if (view_facts_lines(box.width, ascii, result, facts + middle, count - middle) > rows)
      low = middle + 1;
    else
      high = middle;
  }
  return (int)low;
}

static void say_more(struct view_grid *grid, struct view_box box, size_t more)
{
  char text[64];
  snprintf(text, sizeof text, "%zu more below: Down shows them", more);
  view_grid_blank(grid, (struct view_box){box.x, box.y, box.width, 1});
  view_put_cut(grid, box.x, box.y, box.width, VIEW_STYLE_QUIET, text);
}

int view_facts(struct view_grid *grid, struct view_box box, const struct sc_result *result,
               const struct view_fact *facts, size_t count, int first)
{
  if (box.height <= 0 || box.width < 12 || count == 0)
    return 0;
  const int last = view_facts_last(box, grid->ascii, result, facts, count);
  const int start = first < last ? first : last;
  struct sheet sheet = {.grid = grid, .ascii = grid->ascii, .result = result};
  struct view_box rest = box;
  size_t whole = 0; /* rows that leave the last line free */
  if (has_header(box)) {
    put_header(grid, box);
    rest.y++;
    rest.height--;
  }
  for (size_t i = (size_t)start; i < count; i++) {
    const int lines = put_fact(&sheet, rest, &facts[i]);
    rest.y += lines;
    rest.height -= lines;
    whole = rest.height > 0 ? i + 1 : whole;
  }
  if (rest.height < 0 && start < last)
    say_more(grid, (struct view_box){box.x, box.y + box.height - 1, box.width, 1}, count - whole);
  return rest.height < 0 ? box.height : box.height - rest.height;
}
