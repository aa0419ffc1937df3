/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The account's sentence and rows. The row that is shown as chosen is the one on which the
 * active marker stands, so rows and markers cannot disagree. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "common/number.h"
#include "view/account.h"
#include "view/format.h"
#include "view/verdict.h"

enum { HEADER_FROM_ROWS = 5, WRAPPED_FROM_ROWS = 12, LINES_MOST = 3, TEXT_LENGTH = 768 };

/* ---- order */

struct entry {
  size_t index;
  int rank;
  double key;
};

/* What a reader has to look into comes first, what the receiver made last. */
static int rank_of(const struct sc_line *line)
{
  if (line->verdict == SC_VERDICT_EXPLAINED)
    return 1;
  return line->verdict == SC_VERDICT_ARTEFACT ? 2 : 0;
}

static struct entry make_entry(const struct view_state *state, const struct view_model *model,
                               const struct sc_line *line, size_t index)
{
  double away = fabs(view_line_hz(line) - view_model_origin(model, state->view));
  double weakness = -line->tone.level_db.value;
  switch (view_state_shown(state)->order) {
  case VIEW_ORDER_FREQUENCY:
    return (struct entry){index, 0, away};
  case VIEW_ORDER_LEVEL:
    return (struct entry){index, 0, weakness};
  default:
    return (struct entry){index, rank_of(line), weakness};
  }
}

static int by_key(const void *a, const void *b)
{
  const struct entry *left = a, *right = b;
  if (left->rank != right->rank)
    return left->rank - right->rank;
  int keys = (left->key > right->key) - (left->key < right->key);
  return keys != 0 ? keys : (left->index > right->index) - (left->index < right->index);
}

size_t view_account_order(const struct view_state *state, const struct view_model *model,
                          size_t *order)
{
  struct entry entries[SC_LISTED_MAX];
  const struct sc_line_list *list = view_model_lines(model, state->view);
  size_t count = list->count < SC_LISTED_MAX ? list->count : SC_LISTED_MAX;
  for (size_t i = 0; i < count; i++)
    entries[i] = make_entry(state, model, &list->lines[i], i);
  qsort(entries, count, sizeof *entries, by_key);
  for (size_t i = 0; i < count; i++)
    order[i] = entries[i].index;
  return count;
}

/* Row of the active marker's line; -1: it stands on none. */
static ptrdiff_t chosen_row(const struct view_state *state, const struct view_model *model,
                            const size_t *order, size_t count)
{
  ptrdiff_t line = view_state_line(state, model, view_state_shown(state)->active);
  for (size_t row = 0; row < count; row++)
    if ((ptrdiff_t)order[row] == line)
      return (ptrdiff_t)row;
  return -1;
}

ptrdiff_t view_account_step(const struct view_state *state, const struct view_model *model,
                            int direction)
{
  size_t order[SC_LISTED_MAX], count = view_account_order(state, model, order);
  if (count == 0)
    return -1;
  ptrdiff_t row = chosen_row(state, model, order, count);
  row = row < 0 ? 0 : row + direction;
  if (row < 0 || row >= (ptrdiff_t)count)
    row -= direction;
  return (ptrdiff_t)order[row];
}

ptrdiff_t view_account_open(const struct view_state *state, const struct view_model *model)
{
  size_t order[SC_LISTED_MAX], count = view_account_order(state, model, order);
  const struct sc_line *lines = view_model_lines(model, state->view)->lines;
  ptrdiff_t row = chosen_row(state, model, order, count);
  for (size_t i = 1; i <= count; i++) {
    size_t at = ((size_t)(row + (ptrdiff_t)(count + i))) % count;
    if (lines[order[at]].verdict != SC_VERDICT_EXPLAINED)
      return (ptrdiff_t)order[at];
  }
  return -1;
}

/* ---- sentence */

/* What is measured in part says so first: the end of a long account may be cut. `whole`: what is
 * measured in whole says so at its end. */
static void say_account(const struct view_state *state, const struct view_model *model,
                        bool whole_said, char *out, size_t size)
{
  double start = model->start_s, end = start + model->survey_s;
  struct view_number from = view_time(start, 0.01), to = view_time(end, 0.01);
  const char *head = view_id_name(state->view), *account = model->result->account;
  char whole[VIEW_NUMBER_LENGTH + 8] = "";
  if (model->info->frames > 0)
    snprintf(whole, sizeof whole, " of %s", view_time(view_model_duration(model), 0.01).text);
  if (model->survey_done && !whole_said)
    snprintf(out, size, "%s: %s", head, account);
  else if (model->survey_done)
    snprintf(out, size, "%s: %s Measured over all of it, %s to %s.", head, account, from.text,
             to.text);
  else
    snprintf(out, size, "%s, %s%s%s%s so far%s: %s", head, start > 0 ? from.text : "",
             start > 0 ? " to " : "", to.text, whole, state->held ? ", stopped" : "", account);
}

static void sentence_text(const struct view_state *state, const struct view_model *model,
                          bool whole_said, char *out, size_t size)
{
  const char *head = view_id_name(state->view);
  const struct view_spectrum *spectrum = &model->spectrum;
  if (model->trouble != NULL)
    snprintf(out, size, "%s: %s%s%s", head, model->trouble, model->result != NULL ? ". " : "",
             model->result != NULL ? model->result->account : "");
  else if (spectrum->view == state->view && spectrum->why != NULL)
    snprintf(out, size, "%s: %s. %s", head, spectrum->why,
             model->result != NULL ? model->result->account : "");
  else if (model->result == NULL)
    snprintf(out, size, "%s: %s, %s. Measuring.", head, model->info->name, model->info->format);
  else
    say_account(state, model, whole_said, out, size);
}

void view_account_sentence(struct view_grid *grid, struct view_box box,
                           const struct view_state *state, const struct view_model *model)
{
  char text[TEXT_LENGTH];
  sentence_text(state, model, true, text, sizeof text);
  if (view_text_lines(text, box.width, grid->ascii) > box.height)
    sentence_text(state, model, false, text, sizeof text);
  view_put_paragraph(grid, box, VIEW_STYLE_PLAIN, text);
  int head = view_text_width(view_id_name(state->view), grid->ascii);
  if (box.height > 0)
    view_grid_style(grid, (struct view_box){box.x, box.y, head, 1}, VIEW_STYLE_HEAD);
}

/* ---- rows */

/* Widths of the columns in a box: line, cause, measured, rest, verdict. Units stand in the
 * header, so that the cause gets the room. */
struct columns {
  int line, cause, measured, rest, verdict;
};

static struct columns divide(int width, bool tuned)
{
  struct columns c = {
      .line = tuned ? 11 : 10, .measured = 8, .rest = 8, .verdict = width >= 68 ? 11 : 2};
  if (width < 44)
    c.rest = 0;
  c.cause = width - 2 - c.line - c.measured - c.rest - c.verdict;
  return c;
}

static bool is_tuned(const struct view_state *state)
{
  return state->view == VIEW_AIR && state->absolute;
}

/* In kHz from the carrier (or from zero), in MHz when tuned frequencies are shown. */
static struct view_number line_text(const struct view_state *state, const struct view_model *model,
                                    const struct sc_line *line)
{
  struct view_number out;
  double hz = view_line_hz(line) - view_model_origin(model, state->view);
  if (is_tuned(state))
    snprintf(out.text, sizeof out.text, "%.6f",
             (view_line_hz(line) + model->info->centre_hz) / 1e6);
  else if (fabs(hz) < 0.5)
    snprintf(out.text, sizeof out.text, "0");
  else
    snprintf(out.text, sizeof out.text, "%s",
             common_number(hz / 1000, 3, state->view == VIEW_AIR).text);
  return out;
}

static bool in_khz(const struct view_state *state, const struct sc_line *line)
{
  return state->view == VIEW_COMPOSITE && line->deviation_khz.why == NULL;
}

static struct view_number measured_text(const struct view_state *state,
                                        const struct view_model *model, const struct sc_line *line)
{
  struct view_number out;
  if (in_khz(state, line))
    snprintf(out.text, sizeof out.text, "%.3f", line->deviation_khz.value);
  else
    snprintf(out.text, sizeof out.text, "%s",
             common_number(view_model_line_level(model, state->view, line), 1, false).text);
  return out;
}

/* What is known to be something else is not off a standard position that happens to be near: a
 * difference tone at 41.15 kHz has nothing to do with a service at 41. */
static bool may_be_off(const struct sc_line *line)
{
  return strcmp(line->label, "pilot") == 0 || line->verdict == SC_VERDICT_RESIDUAL ||
         line->verdict == SC_VERDICT_SPURIOUS || line->verdict == SC_VERDICT_UNKNOWN;
}

/* On air what the prediction leaves, in dB; on the composite the distance from the standard
 * position, in Hz. */
static struct view_number rest_text(const struct view_state *state, const struct view_model *model,
                                    const struct sc_line *line)
{
  struct view_number out = {"-"};
  double distance;
  if (state->view == VIEW_AIR && line->rest_db.why == NULL)
    snprintf(out.text, sizeof out.text, "%s", common_number(line->rest_db.value, 2, true).text);
  if (state->view == VIEW_COMPOSITE && may_be_off(line) &&
      view_model_line_nearest(model, state->view, line, &distance) != NULL && fabs(distance) < 1000)
    snprintf(out.text, sizeof out.text, "%s", common_number(distance, 1, true).text);
  return out;
}

static void put_right(struct view_grid *grid, int x, int y, int columns, enum view_style style,
                      const char *text)
{
  int width = view_text_width(text, grid->ascii);
  view_put_cut(grid, width < columns ? x + columns - width : x, y, columns, style, text);
}

static void draw_header(struct view_grid *grid, struct view_box box, const struct view_state *state,
                        const struct view_model *model, bool shortened)
{
  struct columns c = divide(box.width, is_tuned(state));
  const struct sc_line_list *list = view_model_lines(model, state->view);
  const char *unit =
      in_khz(state, &list->lines[0]) ? "kHz dev" : view_model_scale(model, state->view).unit;
  static const char *const rests[VIEW_COUNT] = {"rest dB", "off Hz", ""};
  int x = box.x + 2;
  put_right(grid, x, box.y, c.line - 1, VIEW_STYLE_QUIET, is_tuned(state) ? "MHz" : "kHz");
  x += c.line;
  view_put_cut(grid, x, box.y, c.cause, VIEW_STYLE_QUIET, shortened ? "cause, in short" : "cause");
  x += c.cause;
  put_right(grid, x, box.y, c.measured - 1, VIEW_STYLE_QUIET, unit);
  x += c.measured;
  if (c.rest > 0)
    put_right(grid, x, box.y, c.rest - 1, VIEW_STYLE_QUIET, rests[state->view]);
}

/* Name and cause where both fit, else the name, which says more in less room: that is the label,
 * or what stands before the colon. Returns whether something was left out. */
static bool cause_text(const struct sc_line *line, int columns, bool ascii, char *out, size_t size)
{
  const bool said = strstr(line->cause, line->label) != NULL; /* also when there is no label */
  out[0] = 0;
  if (said)
    view_append(out, size, "%s", line->cause[0] != 0 ? line->cause : "not identified");
  else
    view_append(out, size, "%s%s%s", line->label, line->cause[0] != 0 ? ": " : "", line->cause);
  if (view_text_width(out, ascii) <= columns || strcmp(out, line->label) == 0)
    return false;
  char *colon = strstr(out, ": ");
  if (line->label[0] != 0)
    snprintf(out, size, "%s", line->label);
  else if (colon != NULL)
    *colon = 0;
  else
    return false;
  return true;
}

/* How the rows share the box: one line each, or more where there is room for that. */
struct listing {
  const struct view_state *state;
  const struct view_model *model;
  const size_t *order;
  size_t count;
  struct columns columns;
  int lines_most;
  bool ascii;
};

static int row_lines(const struct listing *list, size_t row)
{
  const struct sc_line *line =
      &view_model_lines(list->model, list->state->view)->lines[list->order[row]];
  char text[TEXT_LENGTH];
  if (list->lines_most < 2)
    return 1;
  (void)cause_text(line, list->columns.cause - 1, list->ascii, text, sizeof text);
  const int lines = view_text_lines(text, list->columns.cause - 1, list->ascii);
  return lines < 1 ? 1 : lines < list->lines_most ? lines : list->lines_most;
}

/* Letters of the markers on a line, the active one last to be seen. */
static void put_letters(struct view_grid *grid, int x, int y, const struct view_state *state,
                        const struct view_model *model, size_t line)
{
  const struct view_pane *pane = view_state_shown(state);
  for (int m = 0; m < VIEW_MARKERS; m++) {
    if (view_state_line(state, model, m) != (ptrdiff_t)line)
      continue;
    view_put_character(grid, x, y, VIEW_STYLE_MARKER, (uint32_t)('A' + m));
  }
  if (view_state_line(state, model, pane->active) == (ptrdiff_t)line)
    view_put_character(grid, x, y, VIEW_STYLE_ACTIVE, (uint32_t)('A' + pane->active));
}

/* Returns whether the cause is shown in short. */
static bool draw_row(struct view_grid *grid, struct view_box box, const struct view_state *state,
                     const struct view_model *model, size_t index)
{
  const struct sc_line *line = &view_model_lines(model, state->view)->lines[index];
  struct columns c = divide(box.width, is_tuned(state));
  struct view_box words = box;
  char cause[TEXT_LENGTH];
  bool chosen = view_state_line(state, model, view_state_shown(state)->active) == (ptrdiff_t)index;
  enum view_style style = chosen ? VIEW_STYLE_HEAD : VIEW_STYLE_PLAIN;
  enum view_style verdict = view_verdict_style(line->verdict);
  int x = box.x;
  put_letters(grid, x, box.y, state, model, index);
  x += 2;
  put_right(grid, x, box.y, c.line - 1, style, line_text(state, model, line).text);
  x += c.line;
  const bool shortened = cause_text(line, c.cause - 1, grid->ascii, cause, sizeof cause);
  words.x = x;
  words.width = c.cause - 1;
  (void)view_put_paragraph(grid, words, style, cause);
  x += c.cause;
  put_right(grid, x, box.y, c.measured - 1, style, measured_text(state, model, line).text);
  x += c.measured;
  if (c.rest > 0)
    put_right(grid, x, box.y, c.rest - 1, style, rest_text(state, model, line).text);
  x += c.rest;
  const char mark[2] = {view_verdict_mark(line->verdict), 0};
  if (c.verdict > 0)
    x = view_put(grid, x, box.y, verdict, mark) + 1;
  if (c.verdict > 2)
    view_put_cut(grid, x, box.y, c.verdict - 2, verdict, sc_verdict_name(line->verdict));
  return shortened;
}

/* First row shown: the chosen one stays in the middle where it can, and no line stays empty. */
static size_t first_row(const struct listing *list, ptrdiff_t chosen, int height)
{
  size_t first = chosen > 0 ? (size_t)chosen : 0;
  int above = 0, used = 0;
  while (first > 0 && above + row_lines(list, first - 1) <= height / 2)
    above += row_lines(list, --first);
  for (size_t row = first; row < list->count && used < height; row++)
    used += row_lines(list, row);
  while (first > 0 && used + row_lines(list, first - 1) <= height)
    used += row_lines(list, --first);
  return first;
}

static void say_empty(struct view_grid *grid, struct view_box box, const struct view_state *state,
                      const struct view_model *model)
{
  const char *why = view_model_lines(model, state->view)->why;
  if (model->result == NULL)
    why = "No lines yet: they need the whole of a record.";
  box.x += 2;
  box.width -= 2;
  view_put_paragraph(grid, box, VIEW_STYLE_QUIET,
                     why != NULL ? why : "No line stands out of the noise.");
}

static bool draw_rows(struct view_grid *grid, struct view_box box, const struct listing *list)
{
  const ptrdiff_t chosen = chosen_row(list->state, list->model, list->order, list->count);
  bool shortened = false;
  for (size_t row = first_row(list, chosen, box.height); row < list->count && box.height > 0;
       row++) {
    const int lines = row_lines(list, row);
    const struct view_box at = {box.x, box.y, box.width, lines < box.height ? lines : box.height};
    shortened = draw_row(grid, at, list->state, list->model, list->order[row]) || shortened;
    box.y += lines;
    box.height -= lines;
  }
  return shortened;
}

void view_account_rows(struct view_grid *grid, struct view_box box, const struct view_state *state,
                       const struct view_model *model)
{
  size_t order[SC_LISTED_MAX], count = view_account_order(state, model, order);
  if (box.height <= 0 || box.width < 12)
    return;
  if (count == 0) {
    say_empty(grid, box, state, model);
    return;
  }
  const int header = box.height >= HEADER_FROM_ROWS;
  const struct view_box rows = {box.x, box.y + header, box.width, box.height - header};
  const struct listing list = {.state = state,
                               .model = model,
                               .order = order,
                               .count = count,
                               .columns = divide(box.width, is_tuned(state)),
                               .lines_most = rows.height >= WRAPPED_FROM_ROWS ? LINES_MOST : 1,
                               .ascii = grid->ascii};
  const bool shortened = draw_rows(grid, rows, &list);
  if (header)
    draw_header(grid, box, state, model, shortened);
}
