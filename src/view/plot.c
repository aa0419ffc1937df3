/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The plot is drawn in layers: grid of round numbers, holds, mean, markers, labels. A layer
 * only takes cells that the ones before it left blank, except a trace over the grid. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "common/number.h"
#include "view/axis.h"
#include "view/beside.h"
#include "view/caption.h"
#include "view/curve.h"
#include "view/labels.h"
#include "view/overlay.h"
#include "view/plot.h"
#include "view/raster.h"
#include "view/verdict.h"

enum { LEVEL_COLUMNS = 6, LABELS_MAX = SC_LISTED_MAX, LABEL_COLUMNS = 28, TEXT_LENGTH = 256 };
enum { MIDDLE_DOT = 0xB7, DOTTED_LINE = 0x250A, LEADER = 0x2502 };

struct plot {
  struct view_grid *grid;
  const struct view_state *state;
  const struct view_model *model;
  struct view_range range;
  struct view_canvas canvas;
  double origin_hz; /* what the axis counts from */
  bool sign;        /* frequencies are offsets */
};

/* The box without the columns of levels and the row of frequencies. */
struct view_box view_plot_area(struct view_box box)
{
  int levels = box.width >= 24 ? LEVEL_COLUMNS : 0;
  int axis = box.height >= 3 ? 1 : 0;
  return (struct view_box){box.x + levels, box.y, box.width - levels, box.height - axis};
}

double view_plot_frequency(struct view_range range, int columns, int column)
{
  return range.low_hz + (range.high_hz - range.low_hz) * (column + 0.5) / columns;
}

static int column_of(const struct plot *plot, double hz)
{
  double share = (hz - plot->range.low_hz) / (plot->range.high_hz - plot->range.low_hz);
  int column = (int)floor(share * plot->canvas.box.width);
  return share == 1 ? plot->canvas.box.width - 1 : column;
}

static bool is_blank(const struct plot *plot, int x, int y)
{
  const struct view_cell *cell = view_grid_cell(plot->grid, x, y);
  return cell != NULL && (strcmp(cell->text, " ") == 0 || cell->style == VIEW_STYLE_QUIET);
}

/* ---- axes and grid */

static void put_level(const struct plot *plot, int row, double level)
{
  int decimals = plot->state->panes[plot->state->view].per_division < 1;
  const struct common_number number = common_number(level, decimals, false);
  const struct view_box *box = &plot->canvas.box;
  if (box->x >= LEVEL_COLUMNS)
    view_put(plot->grid, box->x - 1 - (int)strlen(number.text), box->y + row, VIEW_STYLE_QUIET,
             number.text);
}

/* Rows with a round level: bit set in rows[]; labels beside them. */
static void draw_levels(const struct plot *plot, bool *rows)
{
  const struct view_canvas *canvas = &plot->canvas;
  double division = view_state_shown(plot->state)->per_division;
  int every = canvas->box.height >= 2 * VIEW_DIVISIONS ? 1 : canvas->box.height >= 8 ? 2 : 5;
  double step = every * division, first = ceil(canvas->top / step - 1e-9) * step - step;
  for (double level = first; level > canvas->bottom + division / 2; level -= step) {
    int row = view_raster_row(canvas, level);
    rows[row] = true;
    put_level(plot, row, level);
  }
  if (canvas->box.x >= LEVEL_COLUMNS)
    view_put(plot->grid, canvas->box.x - LEVEL_COLUMNS, canvas->box.y, VIEW_STYLE_QUIET,
             view_model_scale(plot->model, plot->state->view).unit);
}

static void draw_grid_column(const struct plot *plot, int column, const bool *rows)
{
  const struct view_box *box = &plot->canvas.box;
  for (int row = 0; row < box->height; row++)
    if (rows[row])
      view_put_character(plot->grid, box->x + column, box->y + row, VIEW_STYLE_QUIET, MIDDLE_DOT);
}

static void draw_tick_label(const struct plot *plot, const struct view_axis *axis, double value,
                            int column)
{
  const struct view_box *box = &plot->canvas.box;
  struct view_number label = view_axis_label(axis, value, plot->sign);
  int width = (int)strlen(label.text), x = box->x + column - width / 2;
  int last = box->x + box->width - (int)strlen(axis->unit_name) - 1;
  if (x >= 0 && x + width < last)
    view_put(plot->grid, x, box->y + box->height, VIEW_STYLE_QUIET, label.text);
}

/* Round frequencies: a label below, points where they meet the round levels, and four finer
 * points between two of them. */
static void draw_frequencies(const struct plot *plot, const bool *rows)
{
  const struct view_box *box = &plot->canvas.box;
  struct view_axis axis =
      view_axis_frequency(plot->range.low_hz - plot->origin_hz,
                          plot->range.high_hz - plot->origin_hz, box->width, plot->sign);
  if (axis.step <= 0)
    return;
  for (int k = 0;; k++) {
    double value = view_axis_first(&axis) - axis.step + k * axis.step / 5;
    int column = column_of(plot, value + plot->origin_hz);
    if (value > axis.high || column >= box->width)
      break;
    if (value < axis.low || column < 0)
      continue;
    draw_grid_column(plot, column, rows);
    if (k % 5 == 0)
      draw_tick_label(plot, &axis, value, column);
  }
  view_put(plot->grid, box->x + box->width - (int)strlen(axis.unit_name), box->y + box->height,
           VIEW_STYLE_QUIET, axis.unit_name);
}

static void draw_axes(const struct plot *plot)
{
  bool *rows = calloc((size_t)plot->canvas.box.height + 1, sizeof *rows);
  if (rows == NULL)
    return;
  draw_levels(plot, rows);
  draw_frequencies(plot, rows);
  free(rows);
}

/* ---- traces */

/* The curve in work's first half low, in its second high. */
static void make_curve(const struct plot *plot, const float *power, float *work)
{
  int columns = view_raster_columns(&plot->canvas);
  double offset = view_model_scale(plot->model, plot->state->view).offset_db;
  view_curve(&plot->model->spectrum.trace, power, plot->range, offset, columns, work,
             work + columns);
}

static void draw_trace(const struct plot *plot, const float *power, enum view_style style,
                       float *work)
{
  make_curve(plot, power, work);
  view_raster(plot->grid, &plot->canvas, style, work, work + view_raster_columns(&plot->canvas));
}

/* Extremes are lines, whatever the mean is drawn with: filled, each would hide another. */
static void draw_holds(const struct plot *plot, float *work)
{
  const struct sc_trace *trace = &plot->model->spectrum.trace;
  struct plot lines = *plot;
  if (lines.canvas.glyphs == VIEW_GLYPHS_BARS)
    lines.canvas.glyphs = VIEW_GLYPHS_DOTS;
  if (plot->state->hold != VIEW_HOLD_NONE && trace->max_hold != NULL)
    draw_trace(&lines, trace->max_hold, VIEW_STYLE_HOLD, work);
  if (plot->state->hold == VIEW_HOLD_BOTH && trace->min_hold != NULL)
    draw_trace(&lines, trace->min_hold, VIEW_STYLE_HOLD, work);
}

/* The last one drawn is in front. Afterwards work holds the mean's curve. */
static void draw_traces(const struct plot *plot, float *work)
{
  const float *mean = plot->model->spectrum.trace.mean;
  bool filled = plot->canvas.glyphs == VIEW_GLYPHS_BARS;
  if (filled)
    draw_trace(plot, mean, VIEW_STYLE_TRACE, work);
  draw_holds(plot, work);
  if (filled)
    make_curve(plot, mean, work);
  else
    draw_trace(plot, mean, VIEW_STYLE_TRACE, work);
}

static void draw_second(const struct plot *plot, const float *mean_high)
{
  int *tops = malloc((size_t)plot->canvas.box.width * sizeof *tops);
  if (tops == NULL)
    return;
  view_raster_tops(&plot->canvas, mean_high, tops);
  view_beside_trace(plot->grid, &plot->canvas, plot->range, plot->model, tops);
  free(tops);
}

/* ---- markers */

static void draw_marker(const struct plot *plot, int m)
{
  const struct view_pane *pane = view_state_shown(plot->state);
  const struct view_box *box = &plot->canvas.box;
  int column = column_of(plot, pane->markers[m].hz);
  if (!pane->markers[m].on || column < 0 || column >= box->width)
    return;
  enum view_style style = m == pane->active ? VIEW_STYLE_ACTIVE : VIEW_STYLE_MARKER;
  for (int row = 1; row < box->height; row++)
    if (is_blank(plot, box->x + column, box->y + row))
      view_put_character(plot->grid, box->x + column, box->y + row, VIEW_STYLE_MARKER, DOTTED_LINE);
  view_put_character(plot->grid, box->x + column, box->y, style, (uint32_t)('A' + m));
  if (pane->markers[m].locked && column + 1 < box->width)
    view_put_character(plot->grid, box->x + column + 1, box->y, style, '=');
}

static void draw_markers(const struct plot *plot)
{
  int active = view_state_shown(plot->state)->active;
  for (int m = 0; m < VIEW_MARKERS; m++)
    if (m != active)
      draw_marker(plot, m);
  draw_marker(plot, active);
}

/* ---- labels */

struct label_text {
  char text[LABEL_COLUMNS * 4];
};

static void label_line(const struct plot *plot, const struct sc_line *line, struct label_text *out)
{
  double span = plot->range.high_hz - plot->range.low_hz;
  struct view_number hz =
      view_frequency(view_line_hz(line) - plot->origin_hz, span / 1000, plot->sign);
  const char *name = line->label[0] != 0 ? line->label : hz.text;
  if (line->verdict == SC_VERDICT_EXPLAINED)
    snprintf(out->text, sizeof out->text, "%s", name);
  else
    snprintf(out->text, sizeof out->text, "%s %c", name, view_verdict_mark(line->verdict));
}

/* Lower is more important: the active marker's line, what is not explained, then by level. */
static int label_rank(const struct sc_line *line, bool active)
{
  int open = line->verdict != SC_VERDICT_EXPLAINED && line->verdict != SC_VERDICT_UNKNOWN;
  return (active ? -30000 : open ? -10000 : 0) - (int)(line->tone.level_db.value * 10);
}

static size_t gather_labels(const struct plot *plot, struct view_label *labels,
                            struct label_text *texts)
{
  const struct sc_line_list *list = view_model_lines(plot->model, plot->state->view);
  const struct view_pane *pane = view_state_shown(plot->state);
  ptrdiff_t active = view_state_line(plot->state, plot->model, pane->active);
  size_t count = 0;
  for (size_t i = 0; i < list->count && count < LABELS_MAX; i++) {
    const struct sc_line *line = &list->lines[i];
    int column = column_of(plot, view_line_hz(line));
    if (column < 0 || column >= plot->canvas.box.width)
      continue;
    label_line(plot, line, &texts[count]);
    bool is_active = (ptrdiff_t)i == active;
    labels[count] = (struct view_label){
        .column = column,
        .rank = label_rank(line, is_active),
        .text = texts[count].text,
        .width = view_text_width(texts[count].text, plot->grid->ascii),
        .style = is_active ? VIEW_STYLE_ACTIVE : (int)view_verdict_style(line->verdict),
    };
    count++;
  }
  return count;
}

static void draw_label(const struct plot *plot, const struct view_label *label)
{
  const struct view_box *box = &plot->canvas.box;
  int y = box->y + 1 + label->y;
  view_put(plot->grid, box->x + label->x, y, (enum view_style)label->style, label->text);
  for (int row = label->y + 1; row < label->row; row++)
    view_put_character(plot->grid, box->x + label->column, box->y + 1 + row, VIEW_STYLE_QUIET,
                       LEADER);
}

/* Labels keep off the first row, which belongs to the markers' letters. */
static void draw_labels(const struct plot *plot, const float *mean_high)
{
  struct view_label labels[LABELS_MAX];
  struct label_text texts[LABELS_MAX];
  const struct view_box *box = &plot->canvas.box;
  int *tops = malloc((size_t)box->width * sizeof *tops);
  if (tops == NULL)
    return;
  view_raster_tops(&plot->canvas, mean_high, tops);
  for (int x = 0; x < box->width; x++)
    tops[x]--;
  size_t count = gather_labels(plot, labels, texts);
  for (size_t i = 0; i < count; i++)
    labels[i].row = tops[labels[i].column];
  if (view_labels_place(labels, count, box->width, box->height - 1, tops))
    for (size_t i = 0; i < count; i++)
      if (labels[i].placed)
        draw_label(plot, &labels[i]);
  free(tops);
}

static void draw_measured(const struct plot *plot)
{
  int columns = view_raster_columns(&plot->canvas);
  float *work = malloc(4 * (size_t)columns * sizeof *work); /* dots stand two in a cell */
  if (work == NULL)
    return;
  draw_traces(plot, work);
  if (view_beside_is_on(plot->state, plot->model))
    draw_second(plot, work + columns);
  if (view_overlay_is_on(plot->state, plot->model))
    view_overlay_rings(plot->grid, &plot->canvas, plot->range,
                       view_model_scale(plot->model, plot->state->view).offset_db, plot->model);
  draw_markers(plot);
  if (plot->state->hold != VIEW_HOLD_NONE && plot->model->spectrum.trace.max_hold != NULL)
    make_curve(plot, plot->model->spectrum.trace.max_hold, work); /* labels keep off its peaks */
  draw_labels(plot, work + columns);
  free(work);
}

static void put_in_the_plot(const struct plot *plot, const char *text)
{
  struct view_box box = plot->canvas.box;
  box.y += box.height / 3;
  box.height -= box.height / 3;
  const int lines = view_text_lines(text, box.width, plot->grid->ascii);
  const struct view_box words = {box.x, box.y, box.width, lines < box.height ? lines : box.height};
  view_grid_blank(plot->grid, words); /* of the dots of the divisions */
  view_put_paragraph(plot->grid, box, VIEW_STYLE_PLAIN, text);
}

static void say_why_empty(const struct plot *plot)
{
  char text[TEXT_LENGTH];
  view_caption_waiting(plot->state, plot->model, text, sizeof text);
  put_in_the_plot(plot, text);
}

/* A long capture often begins before its signal does. */
static void say_silence(const struct plot *plot)
{
  const struct sc_trace *trace = &plot->model->spectrum.trace;
  for (size_t i = 0; i < trace->points; i++)
    if (trace->mean[i] > 0)
      return;
  put_in_the_plot(plot, plot->model->info->live
                            ? "Every sample that comes in is 0."
                            : "Every sample of this passage is 0. 6 shows the spectrum against "
                              "time, * averages over all of the capture.");
}

/* Under the axis, at the expense of the plot. */
static void draw_difference(struct plot *plot, int height, const struct view_difference *difference)
{
  struct view_box *box = &plot->canvas.box, strip = *box;
  int axis = height - box->height;
  strip.height = view_overlay_rows(box->height);
  box->height -= strip.height;
  strip.y = box->y + box->height + axis;
  view_overlay_difference(plot->grid, strip, plot->canvas.glyphs, plot->range, difference);
}

void view_plot(struct view_grid *grid, struct view_box box, const struct view_state *state,
               const struct view_model *model)
{
  const struct view_pane *pane = view_state_shown(state);
  struct plot plot = {
      .grid = grid,
      .state = state,
      .model = model,
      .range = view_state_range(state, model),
      .canvas = {.box = view_plot_area(box),
                 .top = pane->top,
                 .bottom = pane->top - VIEW_DIVISIONS * pane->per_division,
                 .glyphs = grid->ascii ? VIEW_GLYPHS_PLAIN : state->glyphs},
      .origin_hz = view_model_origin(model, state->view),
      .sign = state->view == VIEW_AIR && !state->absolute,
  };
  if (plot.canvas.box.width <= 0 || plot.canvas.box.height <= 0)
    return;
  struct view_difference difference = {&model->spectrum.trace, NULL, "air"};
  if (view_overlay_is_on(state, model))
    difference.db = model->spectrum.difference_db;
  else if (view_beside_is_on(state, model))
    difference = view_beside_difference(model);
  if (difference.db != NULL)
    draw_difference(&plot, box.height, &difference);
  if (state->absolute && state->view == VIEW_AIR)
    plot.origin_hz = -model->info->centre_hz;
  if (!view_model_has_trace(model, state->view)) {
    say_why_empty(&plot);
    return;
  }
  draw_axes(&plot);
  draw_measured(&plot);
  say_silence(&plot);
}
