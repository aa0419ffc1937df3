/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Crosses tell the second trace from the first by their shape. Frequencies are counted from each
 * capture's own carrier, levels from each one's own reference, and only like units compared. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "common/number.h"
#include "view/beside.h"
#include "view/curve.h"
#include "view/format.h"

enum { CROSS = 0xD7 };

/* What a frequency of the first is on the second's axis. */
static double shift_hz(const struct view_model *model, enum view_id view)
{
  return view_model_origin(model->against, view) - view_model_origin(model, view);
}

/* Why the second cannot be shown in this view; NULL: it can. */
static const char *why_not(const struct view_model *model, enum view_id view)
{
  const struct view_model *second = model->against;
  const char *unit = view_model_scale(model, view).unit;
  if (second->spectrum.view == view && second->spectrum.why != NULL)
    return second->spectrum.why;
  if (!view_model_has_trace(second, view))
    return "not read yet";
  if (strcmp(unit, view_model_scale(second, view).unit) != 0)
    return model->survey_done && second->survey_done ? "its levels have another reference"
                                                     : "its carrier is being measured";
  return NULL;
}

bool view_beside_is_on(const struct view_state *state, const struct view_model *model)
{
  return state->against && model->against != NULL && view_model_has_trace(model, state->view) &&
         why_not(model, state->view) == NULL;
}

void view_beside_trace(struct view_grid *grid, const struct view_canvas *canvas,
                       struct view_range range, const struct view_model *model, const int *tops)
{
  enum view_id view = model->spectrum.view;
  const struct sc_trace *trace = &model->against->spectrum.trace;
  int columns = view_raster_columns(canvas), width = canvas->box.width;
  float *work = malloc(2 * (size_t)columns * sizeof *work);
  int *rows = malloc((size_t)width * sizeof *rows);
  range.low_hz += shift_hz(model, view);
  range.high_hz += shift_hz(model, view);
  if (work != NULL && rows != NULL) {
    view_curve(trace, trace->mean, range, view_model_scale(model->against, view).offset_db, columns,
               work, work + columns);
    view_raster_tops(canvas, work + columns, rows);
  }
  for (int x = 0; x < width && work != NULL && rows != NULL; x++)
    if (rows[x] < canvas->box.height && rows[x] != tops[x])
      view_put_character(grid, canvas->box.x + x, canvas->box.y + rows[x], VIEW_STYLE_SECOND,
                         CROSS);
  free(work);
  free(rows);
}

struct sc_plot_other view_beside_paper(const struct view_model *model)
{
  enum view_id view = model->spectrum.view;
  return (struct sc_plot_other){model->against->info->name, &model->against->spectrum.trace,
                                shift_hz(model, view),
                                view_model_scale(model->against, view).offset_db};
}

struct view_difference view_beside_difference(const struct view_model *model)
{
  return (struct view_difference){&model->spectrum.trace, model->against_db, "diff"};
}

void view_beside_settings(const struct view_state *state, const struct view_model *model,
                          bool brief, char *out, size_t size)
{
  if (!state->against || model->against == NULL || !view_model_has_trace(model, state->view))
    return;
  const struct view_model *second = model->against;
  const struct sc_trace *trace = &second->spectrum.trace;
  const char *why = why_not(model, state->view);
  view_append(out, size, ", × %s", second->info->name);
  if (second->trouble != NULL)
    view_append(out, size, " (%s)", second->trouble);
  else if (why != NULL)
    view_append(out, size, " (%s)", why);
  else if (!brief && fabs(trace->rbw_hz / model->spectrum.trace.rbw_hz - 1) > 0.01)
    view_append(out, size, " in %.3g Hz", trace->rbw_hz);
}

static struct sc_quantity level_of(const struct view_model *model, enum view_id view,
                                   const struct sc_line *line)
{
  double uncertainty =
      view == VIEW_AIR ? line->level_dbc.uncertainty : line->tone.level_db.uncertainty;
  return sc_measured(view_model_line_level(model, view, line), uncertainty);
}

static void say_lines(const struct view_model *model, enum view_id view, const struct sc_line *line,
                      const struct sc_line *other, char *out, size_t size)
{
  struct sc_quantity first = level_of(model, view, line);
  struct sc_quantity second = level_of(model->against, view, other);
  struct sc_quantity over =
      sc_measured(first.value - second.value, hypot(first.uncertainty, second.uncertainty));
  int decimals = view_decimals(over.uncertainty, 2) > 3 ? 3 : view_decimals(over.uncertainty, 2);
  view_append(out, size, ", the other capture %s, difference %s ±%.*f dB",
              view_decibels(second, view_model_scale(model, view).unit).text,
              common_number(over.value, decimals, true).text, decimals, over.uncertainty);
}

void view_beside_marker(const struct view_state *state, const struct view_model *model, double hz,
                        const struct sc_line *line, char *out, size_t size)
{
  enum view_id view = state->view;
  if (!view_beside_is_on(state, model))
    return;
  double other_hz = hz + shift_hz(model, view);
  const struct sc_line_list *list = view_model_lines(model->against, view);
  double near_hz = fmax(list->resolution_hz, view_model_lines(model, view)->resolution_hz);
  ptrdiff_t other = view_find_line(model->against, view, other_hz, near_hz);
  if (line != NULL && other >= 0) {
    say_lines(model, view, line, &list->lines[other], out, size);
    return;
  }
  double level = view_trace_level(model->against, view, other_hz);
  double own = line != NULL ? level_of(model, view, line).value : view_trace_level(model, view, hz);
  if (isnan(level))
    view_append(out, size, ", the other capture does not reach here");
  else
    view_append(out, size, ", the other capture %s%s %s, difference %s dB",
                line != NULL ? "has no line, its trace " : "", common_number(level, 1, false).text,
                view_model_scale(model, view).unit, common_number(own - level, 1, true).text);
}
