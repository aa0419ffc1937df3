/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Rings for what is expected, and a strip for the difference: they differ from the trace by their
 * shape and place, so that no colour is needed. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "view/curve.h"
#include "view/overlay.h"

enum { LABEL_COLUMNS = 6, CURVE_ROWS = 3 };
static const double edge_db = 20; /* of the strip */
static const double alike_db = 3, much_db = 10;

bool view_overlay_is_on(const struct view_state *state, const struct view_model *model)
{
  return state->expected && state->view == VIEW_AIR && model->spectrum.view == VIEW_AIR &&
         model->spectrum.expected.points > 0 && model->spectrum.difference_db != NULL;
}

int view_overlay_rows(int height)
{
  return height >= 18 ? 5 : height >= 10 ? CURVE_ROWS : height >= 4;
}

void view_overlay_rings(struct view_grid *grid, const struct view_canvas *canvas,
                        struct view_range range, double offset_db, const struct view_model *model)
{
  const struct sc_trace *trace = &model->spectrum.expected;
  int columns = canvas->box.width;
  float *work = malloc(2 * (size_t)columns * sizeof *work);
  if (work == NULL)
    return;
  view_curve(trace, trace->mean, range, offset_db, columns, work, work + columns);
  for (int x = 0; x < columns; x += 2) {
    float high = fmaxf(work[columns + x], x + 1 < columns ? work[columns + x + 1] : NAN);
    int row = isnan(high) ? -1 : view_raster_row(canvas, (double)high);
    if (row >= 0 && row < canvas->box.height)
      view_put_character(grid, canvas->box.x + x, canvas->box.y + row, VIEW_STYLE_HOLD, 'o');
  }
  free(work);
}

double view_difference_at(const struct view_difference *difference, double hz)
{
  const struct sc_trace *trace = difference->trace;
  double at = round((hz - trace->start_hz) / trace->step_hz);
  if (difference->db == NULL || !(at >= 0 && at < (double)trace->points))
    return (double)NAN;
  return (double)difference->db[(size_t)at];
}

double view_overlay_at(const struct view_model *model, double hz)
{
  struct view_difference difference = {&model->spectrum.trace, model->spectrum.difference_db, ""};
  return view_difference_at(&difference, hz);
}

/* The difference that is farthest from none in a part of the axis. */
static float farthest(const struct view_difference *difference, double low_hz, double high_hz)
{
  const struct sc_trace *trace = difference->trace;
  double first = ceil((low_hz - trace->start_hz) / trace->step_hz);
  double last = floor((high_hz - trace->start_hz) / trace->step_hz);
  if (first > last)
    first = last = round(((low_hz + high_hz) / 2 - trace->start_hz) / trace->step_hz);
  float most = NAN;
  for (double i = fmax(first, 0); i <= fmin(last, (double)trace->points - 1); i++) {
    float value = difference->db[(size_t)i];
    if (!isnan(value) && !(fabsf(value) <= fabsf(most)))
      most = value;
  }
  return most;
}

static void put_sign(struct view_grid *grid, int x, int y, float difference)
{
  double value = (double)difference;
  char sign = value >= much_db ? '#' : value >= alike_db ? '+' : value <= -alike_db ? '-' : '=';
  enum view_style style = sign == '=' ? VIEW_STYLE_QUIET : VIEW_STYLE_WARNING;
  if (!isnan(value))
    view_put_character(grid, x, y, style, (unsigned char)sign);
}

static void put_left(struct view_grid *grid, struct view_box box, int row, const char *text)
{
  if (box.x >= LABEL_COLUMNS)
    view_put(grid, box.x - 1 - (int)strlen(text), box.y + row, VIEW_STYLE_QUIET, text);
}

static void put_curve(struct view_grid *grid, struct view_box box, enum view_glyphs glyphs,
                      const float *values)
{
  struct view_canvas canvas = {.box = box,
                               .top = edge_db,
                               .bottom = -edge_db,
                               .glyphs = glyphs == VIEW_GLYPHS_BARS ? VIEW_GLYPHS_DOTS : glyphs};
  char text[8];
  snprintf(text, sizeof text, "+%.0f", edge_db);
  put_left(grid, box, 0, text);
  put_left(grid, box, box.height / 2, "0 dB");
  snprintf(text, sizeof text, "-%.0f", edge_db);
  put_left(grid, box, box.height - 1, text);
  view_raster(grid, &canvas, VIEW_STYLE_HOLD, values, values);
}

void view_overlay_difference(struct view_grid *grid, struct view_box box, enum view_glyphs glyphs,
                             struct view_range range, const struct view_difference *difference)
{
  bool curve = box.height >= CURVE_ROWS;
  int columns = box.width * (curve && glyphs != VIEW_GLYPHS_PLAIN ? 2 : 1);
  double each = (range.high_hz - range.low_hz) / fmax(columns, 1);
  float *values = columns > 0 ? malloc((size_t)columns * sizeof *values) : NULL;
  if (values == NULL || box.height <= 0) {
    free(values);
    return;
  }
  for (int c = 0; c < columns; c++)
    values[c] = farthest(difference, range.low_hz + c * each, range.low_hz + (c + 1) * each);
  if (curve)
    put_curve(grid, box, glyphs, values);
  else
    put_left(grid, box, 0, difference->name);
  for (int c = 0; c < columns && !curve; c++)
    put_sign(grid, box.x + c, box.y, values[c]);
  free(values);
}
