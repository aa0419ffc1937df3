/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The frame of a plot: grid, traces, mask, labels with their leaders, markers. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "common/curve.h"
#include "report/plot_page.h"

static const double frame_height = 260, level_room = 34, kilohertz_room = 38, tick_room = 34,
                    tag_gap = 16, tag_type = 9, tag_most = 120;
static const double type = 10;
enum { CURVE_COLUMNS = 2000 };

static double x_of(const struct plot_sheet *sheet, double hz)
{
  const struct sc_plot *plot = sheet->page->plot;
  double share = (hz - plot->low_hz) / (plot->high_hz - plot->low_hz);
  return sheet->left + share * (sheet->right - sheet->left);
}

static double y_of(const struct plot_sheet *sheet, double level)
{
  double share = plot_share(&sheet->page->up, level);
  return sheet->below - fmin(fmax(share, 0), 1) * (sheet->below - sheet->top);
}

static void stroke_line(struct plot_sheet *sheet, double x1, double y1, double x2, double y2)
{
  plot_pen_move(sheet->pen, x1, y1);
  plot_pen_to(sheet->pen, x2, y2);
  plot_pen_stroke(sheet->pen);
}

/* The same level as deviation, on the right of an absolute composite. */
static void put_deviation(struct plot_sheet *sheet, double level, double y)
{
  char text[PLOT_TICK_LENGTH];
  double khz = 75 * pow(10, level / 20);
  if (strcmp(sheet->page->scale.unit, "dB75") != 0)
    return;
  if (khz >= 0.01)
    snprintf(text, sizeof text, "%.2g", khz);
  else
    snprintf(text, sizeof text, "%.2g Hz", khz * 1e3);
  plot_pen_put(sheet->pen, sheet->right + 4, y + type / 3, text);
}

static void draw_levels(struct plot_sheet *sheet)
{
  double value;
  const struct plot_axis *axis = &sheet->page->up;
  for (int k = 0; plot_tick(axis, k, &value); k++) {
    char text[PLOT_TICK_LENGTH];
    double y = y_of(sheet, value);
    plot_pen_line(sheet->pen, PLOT_INK_RULE, 0.5, PLOT_SOLID);
    stroke_line(sheet, sheet->left, y, sheet->right, y);
    plot_tick_label(axis, value, text);
    plot_pen_type(sheet->pen, type, false, PLOT_INK);
    plot_pen_put_right(sheet->pen, sheet->left - 4, y + type / 3, text);
    put_deviation(sheet, value, y);
  }
}

static void draw_frequencies(struct plot_sheet *sheet)
{
  double value;
  const struct sc_plot *plot = sheet->page->plot;
  const struct plot_axis *axis = &sheet->page->across;
  for (int k = 0; plot_tick(axis, k, &value); k++) {
    char text[PLOT_TICK_LENGTH];
    double x = x_of(sheet, value + plot->origin_hz);
    plot_pen_line(sheet->pen, PLOT_INK_RULE, 0.5, PLOT_SOLID);
    stroke_line(sheet, x, sheet->top, x, sheet->below + 3);
    plot_tick_label(axis, value, text);
    plot_pen_type(sheet->pen, type, false, PLOT_INK);
    plot_pen_put(sheet->pen, x - plot_pen_measure(sheet->pen, text) / 2, sheet->below + type + 3,
                 text);
  }
}

static void draw_axis_titles(struct plot_sheet *sheet)
{
  const struct sc_plot *plot = sheet->page->plot;
  char text[PLOT_TEXT_LENGTH];
  const char *what = plot->of != SC_SIGHT_AIR ? "Frequency"
                     : plot->absolute         ? "Frequency as tuned"
                     : plot->result != NULL   ? "Offset from the carrier"
                                              : "Offset from the middle of the channel";
  snprintf(text, sizeof text, "%s, %s", what, sheet->page->across.unit_name);
  plot_pen_type(sheet->pen, type, false, PLOT_INK);
  plot_pen_put(sheet->pen, (sheet->left + sheet->right - plot_pen_measure(sheet->pen, text)) / 2,
               sheet->below + 2 * type + 7, text);
  plot_pen_put_right(sheet->pen, sheet->left - 4, sheet->top - 9, sheet->page->scale.unit);
  if (strcmp(sheet->page->scale.unit, "dB75") == 0)
    plot_pen_put(sheet->pen, sheet->right + 4, sheet->top - 9, "kHz");
}

static void draw_border(struct plot_sheet *sheet)
{
  plot_pen_line(sheet->pen, PLOT_INK, 0.8, PLOT_SOLID);
  plot_pen_box(sheet->pen, sheet->left, sheet->top, sheet->right, sheet->below);
  plot_pen_stroke(sheet->pen);
}

/* ---- traces */

/* The highest and the lowest point of each column joined: no line is lost. tops[] keeps the highest
 * of all traces, where leaders end. */
static void draw_trace(struct plot_sheet *sheet, const struct sc_trace *trace, const float *power,
                       double shift_hz, double offset_db, float *tops)
{
  const struct sc_plot *plot = sheet->page->plot;
  float low[CURVE_COLUMNS], high[CURVE_COLUMNS];
  common_curve(trace, power, plot->low_hz + shift_hz, plot->high_hz + shift_hz, offset_db,
               CURVE_COLUMNS, low, high);
  double each = (sheet->right - sheet->left) / CURVE_COLUMNS;
  bool on = false;
  for (int c = 0; c < CURVE_COLUMNS; c++) {
    double x = sheet->left + (c + 0.5) * each;
    tops[c] = fmaxf(tops[c], high[c]); /* of which either may be NAN */
    if (isnan(high[c])) {
      on = false;
      continue;
    }
    if (on)
      plot_pen_to(sheet->pen, x, y_of(sheet, high[c]));
    else
      plot_pen_move(sheet->pen, x, y_of(sheet, high[c]));
    if (low[c] < high[c])
      plot_pen_to(sheet->pen, x, y_of(sheet, low[c]));
    on = true;
  }
  plot_pen_stroke(sheet->pen);
}

static void draw_mask_range(struct plot_sheet *sheet, const struct sc_mask_range *range,
                            double sign)
{
  const struct sc_plot *plot = sheet->page->plot;
  double edge = sign > 0 ? plot->high_hz - plot->origin_hz : plot->origin_hz - plot->low_hz;
  double upper = fmin(range->upper_hz, edge);
  if (upper <= range->lower_hz)
    return;
  double upper_db = range->upper_db;
  if (isfinite(range->upper_hz) && upper < range->upper_hz)
    upper_db = range->lower_db + (range->upper_db - range->lower_db) * (upper - range->lower_hz) /
                                     (range->upper_hz - range->lower_hz);
  stroke_line(sheet, x_of(sheet, plot->origin_hz + sign * range->lower_hz),
              y_of(sheet, -range->lower_db), x_of(sheet, plot->origin_hz + sign * upper),
              y_of(sheet, -upper_db));
}

static void draw_mask(struct plot_sheet *sheet)
{
  const struct sc_mask *mask = sheet->page->plot->mask;
  plot_pen_line(sheet->pen, PLOT_INK, 1.6, PLOT_DASHED);
  for (size_t i = 0; mask != NULL && i < mask->range_count; i++)
    for (double sign = -1; sign <= 1; sign += 2)
      draw_mask_range(sheet, &mask->ranges[i], sign);
}

static void draw_traces(struct plot_sheet *sheet, float *tops)
{
  const struct sc_plot *plot = sheet->page->plot;
  const double offset_db = sheet->page->scale.offset_db;
  for (int c = 0; c < CURVE_COLUMNS; c++)
    tops[c] = NAN;
  plot_pen_keep(sheet->pen, sheet->left, sheet->top, sheet->right, sheet->below);
  if (plot->other != NULL && plot->other->trace->points > 1) {
    plot_pen_line(sheet->pen, PLOT_INK_OTHER, 0.9, PLOT_SHORT_DASHES);
    draw_trace(sheet, plot->other->trace, plot->other->trace->mean, plot->other->shift_hz,
               plot->other->offset_db, tops);
  }
  plot_pen_line(sheet->pen, PLOT_INK_EXTREMES, 0.5, PLOT_SOLID);
  if (plot->show_highest && plot->trace->max_hold != NULL)
    draw_trace(sheet, plot->trace, plot->trace->max_hold, 0, offset_db, tops);
  if (plot->show_lowest && plot->trace->min_hold != NULL)
    draw_trace(sheet, plot->trace, plot->trace->min_hold, 0, offset_db, tops);
  if (plot->expected != NULL && plot->expected->points > 1) {
    plot_pen_line(sheet->pen, PLOT_INK_EXPECTED, 0.9, PLOT_DOTTED);
    draw_trace(sheet, plot->expected, plot->expected->mean, 0, offset_db, tops);
  }
  plot_pen_line(sheet->pen, PLOT_INK_TRACE, 0.7, PLOT_SOLID);
  draw_trace(sheet, plot->trace, plot->highest ? plot->trace->max_hold : plot->trace->mean, 0,
             offset_db, tops);
  draw_mask(sheet);
  plot_pen_let_go(sheet->pen);
}

/* ---- labels and markers */

static void tag_text(const struct plot_row *row, size_t number, char *text, size_t size)
{
  const char *name = row->line->label;
  snprintf(text, size, "%zu%s%s", number, name[0] != '\0' ? "  " : "", name);
}

/* Height that the longest label takes; the labels stand upright. */
static double tags_height(struct plot_sheet *sheet)
{
  double highest = 0;
  for (size_t i = 0; i < sheet->page->count; i++) {
    char text[PLOT_CELL_LENGTH];
    tag_text(&sheet->page->rows[i], i + 1, text, sizeof text);
    plot_pen_type(sheet->pen, tag_type, sheet->page->rows[i].open, PLOT_INK);
    highest = fmax(highest, fmin(plot_pen_measure(sheet->pen, text), tag_most));
  }
  return highest + tag_gap;
}

static void draw_tag(struct plot_sheet *sheet, size_t i, const struct plot_tag *tag, double tip)
{
  const struct plot_row *row = &sheet->page->rows[i];
  char text[PLOT_CELL_LENGTH], part[PLOT_CELL_LENGTH + 4];
  double foot = sheet->top - tag_gap + 1;
  plot_pen_line(sheet->pen, PLOT_INK_QUIET, 0.4, PLOT_SOLID);
  plot_pen_move(sheet->pen, tag->x, foot + 1);
  plot_pen_to(sheet->pen, tag->at, sheet->top - 1);
  if (tip > sheet->top)
    plot_pen_to(sheet->pen, tag->at, tip);
  plot_pen_stroke(sheet->pen);
  plot_pen_type(sheet->pen, tag_type, row->open, PLOT_INK);
  tag_text(row, i + 1, text, sizeof text);
  plot_pen_cut(sheet->pen, tag_most, text, part, sizeof part);
  plot_pen_put_upright(sheet->pen, tag->x + tag_type * 0.36, foot - 1, part);
}

/* Leaders end above their peaks, so that no tip is hidden. */
static void draw_tags(struct plot_sheet *sheet, const float *tops)
{
  struct plot_tag tags[SC_LISTED_MAX];
  const struct plot_page *page = sheet->page;
  for (size_t i = 0; i < page->count; i++)
    tags[i] = (struct plot_tag){.at = x_of(sheet, page->rows[i].hz), .width = tag_type * 1.15};
  if (!plot_tags_spread(tags, page->count, sheet->left + 2, sheet->right + 8))
    return;
  for (size_t i = 0; i < page->count; i++) {
    double column = (tags[i].at - sheet->left) / (sheet->right - sheet->left) * CURVE_COLUMNS;
    int c = (int)fmin(fmax(column, 0), CURVE_COLUMNS - 1);
    double level = fmax(tops[c], page->rows[i].level_db);
    draw_tag(sheet, i, &tags[i], y_of(sheet, level) - 3);
  }
}

static void draw_marker(struct plot_sheet *sheet, const struct sc_plot_marker *marker)
{
  const struct sc_plot *plot = sheet->page->plot;
  if (marker->hz < plot->low_hz || marker->hz > plot->high_hz)
    return;
  double x = x_of(sheet, marker->hz);
  plot_pen_line(sheet->pen, PLOT_INK_QUIET, 0.7, PLOT_DOTTED);
  stroke_line(sheet, x, sheet->top, x, sheet->below);
  plot_pen_line(sheet->pen, PLOT_INK, 1, PLOT_SOLID);
  plot_pen_move(sheet->pen, x, sheet->below);
  plot_pen_to(sheet->pen, x - 4, sheet->below - 7);
  plot_pen_to(sheet->pen, x + 4, sheet->below - 7);
  plot_pen_fill(sheet->pen);
}

static int by_place(const void *a, const void *b)
{
  const struct plot_tag *left = a, *right = b;
  return (left->at > right->at) - (left->at < right->at);
}

/* Their letters stand above their tips, side by side where markers are near each other. */
static void draw_markers(struct plot_sheet *sheet)
{
  const struct sc_plot *plot = sheet->page->plot;
  struct plot_tag tags[SC_PLOT_MARKERS_MAX];
  size_t count = 0;
  for (size_t i = 0; i < plot->marker_count; i++) {
    draw_marker(sheet, &plot->markers[i]);
    if (plot->markers[i].hz >= plot->low_hz && plot->markers[i].hz <= plot->high_hz)
      tags[count++] = (struct plot_tag){
          .at = x_of(sheet, plot->markers[i].hz), .width = tag_type, .text = plot->markers[i].name};
  }
  qsort(tags, count, sizeof *tags, by_place);
  if (!plot_tags_spread(tags, count, sheet->left + 2, sheet->right - 2))
    return;
  plot_pen_type(sheet->pen, tag_type, true, PLOT_INK);
  for (size_t i = 0; i < count; i++)
    plot_pen_put(sheet->pen, tags[i].x - tag_type / 3, sheet->below - 9, tags[i].text);
}

/* ---- all of it */

void plot_draw_frame(struct plot_sheet *sheet)
{
  float tops[CURVE_COLUMNS];
  bool deviation = strcmp(sheet->page->scale.unit, "dB75") == 0;
  sheet->left = plot_margin + level_room;
  sheet->right = plot_page_width - plot_margin - (deviation ? kilohertz_room : 8);
  sheet->top = sheet->y + 8 + tags_height(sheet);
  sheet->below = sheet->top + frame_height;
  draw_levels(sheet);
  draw_frequencies(sheet);
  draw_traces(sheet, tops);
  draw_border(sheet);
  draw_markers(sheet);
  draw_tags(sheet, tops);
  draw_axis_titles(sheet);
  sheet->y = sheet->below + tick_room;
}
