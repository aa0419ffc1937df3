/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows, then two plots that share their scale of kHz. All of it was counted while measuring. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <sidecomb/deviation.h>

#include "view/axis.h"
#include "view/deviation.h"
#include "view/facts.h"
#include "view/format.h"
#include "view/raster.h"

enum { LABEL_COLUMNS = 7, SIDE_BY_SIDE = 100, PLOT_LEAST = 5, BOTH_LEAST = 12, EVERY_COLUMNS = 10 };
enum { DOUBLE_LINE = 0x2504, UPRIGHT = 0x250A };
static const double decades = 5; /* of the distribution: 100 % down to 0.001 % */

static const struct view_fact facts[] = {
    {"peak without noise", "deviation.corrected_peak_khz", NULL, "up to 75 (BS.450-3)", (double)NAN,
     SC_DEVIATION_LIMIT_KHZ},
    {"peak as held", "deviation.peak_khz", NULL, "75 and noise", (double)NAN, (double)NAN},
    {"time above 75 kHz", "deviation.exceeded_percent", NULL, "0", (double)NAN, (double)NAN},
    {"half of 50 ms reach", "deviation.peaks_half_khz", NULL, "", (double)NAN, (double)NAN},
    {"a hundredth reaches", "deviation.peaks_hundredth_khz", NULL, "", (double)NAN, (double)NAN},
    {"rms", "deviation.rms_khz", NULL, "", (double)NAN, (double)NAN},
    {"power of the composite", "deviation.composite_power_dbr", NULL, "up to 0 dBr (BS.412)",
     (double)NAN, 0},
};
enum { FACTS = sizeof facts / sizeof *facts };

void view_deviation_sentence(const struct view_state *state, const struct view_model *model,
                             char *out, size_t size)
{
  (void)state;
  const struct sc_result *result = model->result;
  if (result == NULL) {
    snprintf(out, size, "deviation: nothing is measured yet.");
    return;
  }
  const struct sc_deviation *d = &result->deviation;
  bool clean = d->corrected_khz.why == NULL;
  struct sc_quantity peak = clean ? d->corrected_khz : d->peak_khz;
  if (peak.why != NULL) {
    snprintf(out, size, "deviation: not measured: %s.", peak.why);
    return;
  }
  int decimals = view_decimals(peak.uncertainty, 1);
  snprintf(out, size,
           "deviation: it reaches %.*f kHz%s, %.*f kHz %s the 75 kHz of ITU-R BS.450 and 47 CFR "
           "73.1570",
           decimals, peak.value, clean ? "" : " with noise", decimals,
           fabs(peak.value - SC_DEVIATION_LIMIT_KHZ),
           peak.value <= SC_DEVIATION_LIMIT_KHZ ? "below" : "above");
  if (d->exceeded_percent.why == NULL)
    view_append(out, size, "; above 75 kHz for %.3g %% of %s.", d->exceeded_percent.value,
                view_time(model->survey_s, 0.01).text);
  else
    view_append(out, size, ".");
}

/* ---- what both plots have */

struct plot {
  struct view_grid *grid;
  struct view_canvas canvas;
  double left, right; /* values at the edges */
};

static double top_khz(const struct sc_deviation *d)
{
  double peak = fmax(d->peak_khz.value, SC_DEVIATION_LIMIT_KHZ);
  return fmin(ceil(peak / 10 * 1.05) * 10, 150);
}

/* Title above, axis below, labels to the left; false: no room. */
static bool open_plot(struct plot *plot, struct view_box box, const char *title, const char *brief,
                      enum view_glyphs glyphs)
{
  view_put_cut(plot->grid, box.x, box.y, box.width, VIEW_STYLE_QUIET,
               view_text_fitting(title, brief, box.width - 1, plot->grid->ascii));
  struct view_box inner = {box.x + LABEL_COLUMNS, box.y + 1, box.width - LABEL_COLUMNS - 1,
                           box.height - 2};
  plot->canvas.box = inner;
  plot->canvas.glyphs = plot->grid->ascii ? VIEW_GLYPHS_PLAIN : glyphs;
  return inner.width >= 10 && inner.height >= 2;
}

static void put_level(const struct plot *plot, double level, const char *text)
{
  int row = view_raster_row(&plot->canvas, level);
  const struct view_box *box = &plot->canvas.box;
  if (row >= 0 && row < box->height)
    view_put(plot->grid, box->x - 1 - (int)strlen(text), box->y + row, VIEW_STYLE_QUIET, text);
}

static void put_axis(const struct plot *plot, const char *unit)
{
  const struct view_box *box = &plot->canvas.box;
  double step = view_round_step(plot->right - plot->left, box->width / EVERY_COLUMNS + 1);
  int end = box->x + box->width - (int)strlen(unit);
  for (double at = ceil(plot->left / step) * step; at <= plot->right; at += step) {
    char text[24];
    int width = snprintf(text, sizeof text, "%g", at);
    int x = box->x + (int)((at - plot->left) / (plot->right - plot->left) * box->width) - width / 2;
    if (x >= box->x - 1 && x + width < end)
      view_put(plot->grid, x, box->y + box->height, VIEW_STYLE_QUIET, text);
  }
  view_put(plot->grid, end, box->y + box->height, VIEW_STYLE_QUIET, unit);
}

/* Draws values[] of the canvas's curve columns; NAN where there is none. */
static void put_curve(const struct plot *plot, enum view_style style, const float *low,
                      const float *high)
{
  view_raster(plot->grid, &plot->canvas, style, low, high);
}

/* ---- over time */

static float larger(const struct sc_deviation_moment *moment)
{
  return fmaxf(moment->positive_khz, moment->negative_khz);
}

/* Columns between two moments repeat the one before; a column over several shows their range. */
static void fill_times(const struct sc_deviation *d, int columns, float *low, float *high)
{
  for (int c = 0; c < columns; c++) {
    size_t first = (size_t)c * d->moment_count / (size_t)columns;
    size_t end = (size_t)(c + 1) * d->moment_count / (size_t)columns;
    low[c] = high[c] = larger(&d->moments[first]);
    for (size_t i = first + 1; i < end; i++) {
      low[c] = fminf(low[c], larger(&d->moments[i]));
      high[c] = fmaxf(high[c], larger(&d->moments[i]));
    }
  }
}

static void put_limit_row(const struct plot *plot)
{
  const struct view_box *box = &plot->canvas.box;
  int row = view_raster_row(&plot->canvas, SC_DEVIATION_LIMIT_KHZ);
  for (int x = 0; x < box->width && row >= 0 && row < box->height; x++)
    view_put_character(plot->grid, box->x + x, box->y + row, VIEW_STYLE_MARKER, DOUBLE_LINE);
}

static void put_times(struct view_grid *grid, struct view_box box, const struct view_state *state,
                      const struct view_model *model)
{
  const struct sc_deviation *d = &model->result->deviation;
  struct plot plot = {.grid = grid};
  char title[96], brief[96], text[16];
  snprintf(title, sizeof title, "kHz, highest of each %.3g s; the broken line is 75 kHz",
           d->moment_s);
  snprintf(brief, sizeof brief, "kHz, highest of each %.3g s; ┄ 75 kHz", d->moment_s);
  if (!open_plot(&plot, box, title, brief, state->glyphs))
    return;
  plot.canvas.top = top_khz(d);
  plot.canvas.bottom = 0;
  plot.left = model->start_s;
  plot.right = model->start_s + d->moment_s * (double)d->moment_count;
  double step = view_round_step(plot.canvas.top, plot.canvas.box.height / 3 + 1);
  for (double level = 0; level < plot.canvas.top; level += step) {
    snprintf(text, sizeof text, "%g", level);
    put_level(&plot, level > 0 ? level : step / 100, text);
  }
  put_axis(&plot, "s");
  put_limit_row(&plot);
  int columns = view_raster_columns(&plot.canvas);
  float *work = malloc(2 * (size_t)columns * sizeof *work);
  if (work == NULL)
    return;
  fill_times(d, columns, work, work + columns);
  put_curve(&plot, VIEW_STYLE_TRACE, work, work + columns);
  free(work);
}

/* ---- distribution */

/* Share of the 50 ms that reach each class, in percent. */
static void add_up(const struct sc_deviation *d, float *reach)
{
  uint64_t count = 0;
  for (size_t i = SC_DEVIATION_CLASSES; i-- > 0;) {
    count += d->intervals[i];
    reach[i] = (float)(100.0 * (double)count / fmax((double)d->interval_count, 1));
  }
}

static float share_at(const float *percent, double khz)
{
  size_t i = khz > 0 ? (size_t)khz : 0;
  if (i >= SC_DEVIATION_CLASSES || !(percent[i] > 0))
    return NAN;
  return (float)log10((double)percent[i]);
}

static void put_rings(const struct plot *plot, const float *reach)
{
  const struct view_box *box = &plot->canvas.box;
  for (int x = 0; x < box->width; x += 2) {
    float value = share_at(reach, plot->right * (x + 0.5) / box->width);
    int row = isnan(value) ? -1 : view_raster_row(&plot->canvas, (double)value);
    if (row >= 0 && row < box->height)
      view_put_character(plot->grid, box->x + x, box->y + row, VIEW_STYLE_HOLD, 'o');
  }
}

static void put_limit_column(const struct plot *plot)
{
  const struct view_box *box = &plot->canvas.box;
  int x = (int)(SC_DEVIATION_LIMIT_KHZ / plot->right * box->width);
  for (int row = 0; row < box->height && x < box->width; row++)
    view_put_character(plot->grid, box->x + x, box->y + row, VIEW_STYLE_MARKER, UPRIGHT);
}

static void put_distribution(struct view_grid *grid, struct view_box box,
                             const struct view_state *state, const struct view_model *model)
{
  const struct sc_deviation *d = &model->result->deviation;
  struct plot plot = {.grid = grid, .right = top_khz(d)};
  float reach[SC_DEVIATION_CLASSES];
  if (!open_plot(&plot, box, "% of the time above x kHz; o % of 50 ms that reach x",
                 "% of the time above x; o of 50 ms",
                 state->glyphs == VIEW_GLYPHS_BARS ? VIEW_GLYPHS_DOTS : state->glyphs))
    return;
  plot.canvas.top = 2;
  plot.canvas.bottom = 2 - decades;
  static const char *const labels[] = {"100", "10", "1", "0.1", "0.01"};
  for (int i = 0; i < (int)decades; i++)
    put_level(&plot, 2 - i - 1e-3, labels[i]);
  put_axis(&plot, "kHz");
  put_limit_column(&plot);
  int columns = view_raster_columns(&plot.canvas);
  float *work = malloc((size_t)columns * sizeof *work);
  if (work == NULL)
    return;
  for (int c = 0; c < columns; c++)
    work[c] = share_at(d->time_above_percent, plot.right * (c + 0.5) / columns);
  put_curve(&plot, VIEW_STYLE_TRACE, work, work);
  free(work);
  add_up(d, reach);
  put_rings(&plot, reach);
}

/* ---- the page */

static void put_plots(struct view_grid *grid, struct view_box box, const struct view_state *state,
                      const struct view_model *model)
{
  struct view_box first = box, second = box;
  if (box.width >= SIDE_BY_SIDE) {
    first.width = box.width / 2;
    second.x += first.width;
    second.width -= first.width;
  } else {
    first.height = box.height >= BOTH_LEAST ? box.height / 2 : box.height;
    second.y += first.height;
    second.height -= first.height;
  }
  put_times(grid, first, state, model);
  if (second.height >= PLOT_LEAST)
    put_distribution(grid, second, state, model);
}

/* How the box is shared out. */
struct shares {
  bool plots,
      roomy; /* roomy: all rows and both plots fit; else the distribution follows the rows */
  struct view_box rows;
  int last; /* the last row that stands first */
};

static struct shares share_out(struct view_box box, bool ascii, const struct sc_result *result)
{
  const int lines = view_facts_lines(box.width, ascii, result, facts, FACTS);
  struct shares s = {.rows = box};
  s.plots = result->deviation.moment_count > 0 && box.height >= PLOT_LEAST + 1;
  s.roomy = box.height >= BOTH_LEAST + lines;
  if (s.plots)
    s.rows.height = s.roomy ? lines + 1 : box.height - PLOT_LEAST - 1;
  if (s.plots && s.rows.height > box.height / 2)
    s.rows.height = box.height / 2;
  s.last = view_facts_last(s.rows, ascii, result, facts, FACTS);
  return s;
}

int view_deviation_last(struct view_box box, bool ascii, const struct view_model *model)
{
  const struct shares s = share_out(box, ascii, model->result);
  return s.last + (s.plots && !s.roomy);
}

void view_deviation(struct view_grid *grid, struct view_box box, const struct view_state *state,
                    const struct view_model *model)
{
  const struct sc_result *result = model->result;
  if (result == NULL || box.height <= 0)
    return;
  const struct shares s = share_out(box, grid->ascii, result);
  if (s.plots && !s.roomy && state->sheet_first > s.last) {
    put_distribution(grid, box, state, model);
    return;
  }
  int used = view_facts(grid, s.rows, result, facts, FACTS, state->sheet_first);
  box.y += used;
  box.height -= used;
  if (s.plots)
    put_plots(grid, box, state, model);
}
