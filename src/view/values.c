/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The values page begins with the report's answers in short and walks the same tables of fields, so
 * that a number here is the number there. Of what is absent for one reason, the reason stands once.
 */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include <sidecomb/brief.h>
#include <sidecomb/fields.h>

#include "view/page.h"
#include "view/text.h"
#include "view/values.h"

enum {
  LABEL_COLUMNS = 28,
  PAGE_COLUMNS = 60,
  BOTH_COLUMNS = 100,
  LINES_MAX = 320,
  TEXT_LENGTH = 512
};

/* A section's title (field NULL, why NULL), a measured field, or why fields have no value. `of`:
 * the struct that the section describes; `other`: the same of a second capture, or NULL. Or a piece
 * of an answer in short: so many bytes of `text`, behind its label where it is the first. */
struct line {
  const char *label, *text;
  size_t bytes;
  const void *of, *other;
  const struct sc_section *section;
  const struct sc_field *field;
  const char *why;
};

static bool is_shown(const struct sc_field *field)
{
  return field->label != NULL && field->type != SC_FIELD_ABSENT;
}

static bool was_said(const struct line *lines, size_t count, const struct line *line)
{
  for (size_t i = count; i-- > 0 && lines[i].of == line->of && lines[i].section == line->section;)
    if (lines[i].why != NULL && strcmp(lines[i].why, line->why) == 0)
      return true;
  return false;
}

/* Of both captures where there are two. */
static bool is_measured(const struct line *line)
{
  return line->why == NULL ||
         (line->other != NULL && sc_field_value(line->field, line->other).why == NULL);
}

static size_t gather_section(const struct sc_section *section, const void *of, const void *other,
                             struct line *lines, size_t used)
{
  size_t first = used;
  struct line title = {.of = of, .other = other, .section = section};
  if (used < LINES_MAX)
    lines[used++] = title;
  for (int measured = 1; measured >= 0; measured--)
    for (size_t i = 0; i < section->count && used < LINES_MAX; i++) {
      const struct sc_field *field = &section->fields[i];
      if (!is_shown(field))
        continue;
      struct line line = {.of = of,
                          .other = other,
                          .section = section,
                          .field = field,
                          .why = sc_field_value(field, of).why};
      bool is = is_measured(&line);
      if (measured ? is : !is && !was_said(lines, used, &line))
        lines[used++] = line;
    }
  return used > first + 1 ? used : first;
}

static int label_columns(int width)
{
  return width < 2 * LABEL_COLUMNS ? width / 2 : LABEL_COLUMNS;
}

/* An answer goes on below itself, so that all of it is read. */
static size_t gather_brief(const struct sc_brief *brief, int width, bool ascii, struct line *lines)
{
  static const struct sc_section title = {.title = "In short"};
  const int columns = width - label_columns(width) - 1;
  size_t used = 0;
  if (brief->count > 0)
    lines[used++] = (struct line){.section = &title};
  for (size_t i = 0; i < brief->count; i++) {
    const char *text = brief->rows[i].text, *label = brief->rows[i].label, *next;
    for (size_t bytes;
         used < LINES_MAX && (bytes = view_text_line(text, columns, ascii, &next)) > 0;
         text = next, label = "")
      lines[used++] = (struct line){.label = label, .text = text, .bytes = bytes};
  }
  return used;
}

static size_t gather(const struct sc_result *result, const struct sc_result *other,
                     struct line *lines, size_t used)
{
  size_t count;
  const struct sc_section *sections = sc_sections(&count);
  for (size_t i = 0; i < count; i++)
    if (sc_section_concerns(&sections[i], result))
      used = gather_section(&sections[i], result, other, lines, used);
  for (size_t i = 0; i < result->injections.count; i++)
    used = gather_section(sc_injection_section(), &result->injections.at[i], NULL, lines, used);
  return used;
}

/* Measured here and there, and the difference of numbers. */
static void draw_both(struct view_grid *grid, struct view_box at, const struct line *line)
{
  const struct sc_value values[2] = {sc_field_value(line->field, line->of),
                                     sc_field_value(line->field, line->other)};
  int labels = at.width / 4, each = (at.width - labels) / 3;
  char text[TEXT_LENGTH];
  view_put_cut(grid, at.x + 1, at.y, labels - 2, VIEW_STYLE_LABEL, line->field->label);
  for (int i = 0; i < 2; i++) {
    snprintf(text, sizeof text, "not measured");
    if (values[i].why == NULL)
      sc_format_value(&values[i], text, sizeof text);
    view_put_cut(grid, at.x + labels + i * each, at.y, each - 1,
                 values[i].why == NULL ? VIEW_STYLE_PLAIN : VIEW_STYLE_QUIET, text);
  }
  struct sc_quantity a = values[0].number, b = values[1].number;
  if (a.why != NULL || b.why != NULL || values[0].text != NULL || !isfinite(a.value - b.value))
    return;
  bool known = values[0].has_uncertainty && values[1].has_uncertainty;
  struct sc_quantity apart = {a.value - b.value,
                              known ? hypot(a.uncertainty, b.uncertainty) : (double)NAN, NULL};
  sc_format_quantity(apart, line->field->decimals, text, sizeof text);
  view_put_cut(grid, at.x + labels + 2 * each, at.y, each - 1, VIEW_STYLE_PLAIN, text);
}

static void draw_answer(struct view_grid *grid, struct view_box at, const struct line *line)
{
  char text[TEXT_LENGTH];
  const int labels = label_columns(at.width);
  snprintf(text, sizeof text, "%.*s", (int)line->bytes, line->text);
  view_put_cut(grid, at.x + 1, at.y, labels - 2, VIEW_STYLE_LABEL, line->label);
  view_put_cut(grid, at.x + labels, at.y, at.width - labels - 1, VIEW_STYLE_PLAIN, text);
}

static void draw_line(struct view_grid *grid, struct view_box at, const struct line *line)
{
  if (line->text != NULL) {
    draw_answer(grid, at, line);
    return;
  }
  if (line->field == NULL) {
    view_put_cut(grid, at.x, at.y, at.width, VIEW_STYLE_HEAD, line->section->title);
    return;
  }
  char text[TEXT_LENGTH];
  if (line->other != NULL && is_measured(line)) {
    draw_both(grid, at, line);
    return;
  }
  if (line->why != NULL) {
    snprintf(text, sizeof text, "not measured: %s", line->why);
    view_put_cut(grid, at.x + 1, at.y, at.width - 2, VIEW_STYLE_QUIET, text);
    return;
  }
  const int labels = label_columns(at.width);
  struct sc_value value = sc_field_value(line->field, line->of);
  sc_format_value(&value, text, sizeof text);
  view_put_cut(grid, at.x + 1, at.y, labels - 2, VIEW_STYLE_LABEL, line->field->label);
  view_put_cut(grid, at.x + labels, at.y, at.width - labels - 1, VIEW_STYLE_PLAIN, text);
}

void view_values(struct view_grid *grid, struct view_box box, const struct view_state *state,
                 const struct view_model *model)
{
  static const char title[] = "Measured over all that was read. Up and Down scroll, any other key "
                              "goes back.";
  static const char both[] = "Measured over all that was read: here, in the other capture, and the "
                             "difference. Up and Down scroll.";
  const struct sc_result *other = model->against != NULL ? model->against->result : NULL;
  struct view_page page = view_page_open(grid, box, other != NULL ? both : title,
                                         other != NULL ? BOTH_COLUMNS : PAGE_COLUMNS);
  if (model->result == NULL) {
    view_put_cut(grid, box.x, box.y + 1, box.width, VIEW_STYLE_PLAIN, "Nothing is measured yet.");
    return;
  }
  if (page.size == 0)
    return;
  struct line lines[LINES_MAX];
  struct sc_brief brief;
  sc_brief_make(model->result, NULL, &brief);
  size_t count = gather_brief(&brief, view_page_place(&page, 0).width, grid->ascii, lines);
  count = gather(model->result, other, lines, count);
  const size_t first = view_page_first(&page, state, count);
  for (size_t i = first; i < count && i - first < page.size; i++)
    draw_line(grid, view_page_place(&page, i - first), &lines[i]);
}
