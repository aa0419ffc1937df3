/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The table of a plot: which lines, and their numbers in the report's digits. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <sidecomb/fields.h>

#include "report/plot_layout.h"

/* As the report's fields have them: offset, level, deviation. */
enum { HZ_DECIMALS = 4, DB_DECIMALS = 3, KHZ_DECIMALS = 6 };

static const struct sc_line_list *lines_of(const struct sc_plot *plot)
{
  static const struct sc_line_list none;
  if (plot->result == NULL)
    return &none;
  return plot->of == SC_SIGHT_AIR ? &plot->result->air_lines : &plot->result->composite_lines;
}

/* Of audio alone no line can be explained, so none stands out by that. */
static bool is_open(const struct sc_plot *plot, const struct sc_line *line)
{
  return plot->of != SC_SIGHT_AUDIO && line->verdict != SC_VERDICT_EXPLAINED &&
         line->verdict != SC_VERDICT_ARTEFACT;
}

static bool has_deviation(const struct sc_plot *plot)
{
  const struct sc_line_list *list = lines_of(plot);
  return plot->of == SC_SIGHT_COMPOSITE && list->count > 0 &&
         list->lines[0].deviation_khz.why == NULL;
}

static struct sc_quantity level_of(const struct sc_plot *plot, struct sc_sight_scale scale,
                                   const struct sc_line *line)
{
  if (plot->of == SC_SIGHT_AIR && line->level_dbc.why == NULL)
    return line->level_dbc;
  if (has_deviation(plot))
    return line->level_db75;
  return (struct sc_quantity){sc_sight_line_level(plot->of, scale, line),
                              line->tone.level_db.uncertainty, line->tone.level_db.why};
}

static void fill(const struct sc_plot *plot, struct sc_sight_scale scale,
                 const struct sc_line *line, struct plot_row *row)
{
  const bool signed_place = plot->of == SC_SIGHT_AIR && line->offset_hz.value > 0;
  *row = (struct plot_row){.line = line,
                           .hz = line->tone.frequency_hz.value,
                           .level_db = sc_sight_line_level(plot->of, scale, line),
                           .open = is_open(plot, line)};
  char *place = row->cells[PLOT_PLACE];
  snprintf(row->cells[PLOT_NAME], PLOT_CELL_LENGTH, "%s",
           line->label[0] != '\0' ? line->label : "no name");
  place[0] = '+';
  sc_format_quantity(line->offset_hz, HZ_DECIMALS, place + signed_place,
                     PLOT_CELL_LENGTH - signed_place);
  sc_format_quantity(level_of(plot, scale, line), DB_DECIMALS, row->cells[PLOT_LEVEL],
                     PLOT_CELL_LENGTH);
  if (has_deviation(plot))
    sc_format_quantity(line->deviation_khz, KHZ_DECIMALS, row->cells[PLOT_DEVIATION],
                       PLOT_CELL_LENGTH);
  snprintf(row->cells[PLOT_VERDICT], PLOT_CELL_LENGTH, "%s", sc_verdict_name(line->verdict));
}

void plot_headings(const struct sc_plot *plot, struct sc_sight_scale scale,
                   char headings[PLOT_COLUMNS][PLOT_CELL_LENGTH])
{
  snprintf(headings[PLOT_NAME], PLOT_CELL_LENGTH, "line");
  snprintf(headings[PLOT_PLACE], PLOT_CELL_LENGTH,
           plot->of == SC_SIGHT_AIR ? "offset, Hz" : "frequency, Hz");
  snprintf(headings[PLOT_LEVEL], PLOT_CELL_LENGTH, "level, %s", scale.unit);
  snprintf(headings[PLOT_DEVIATION], PLOT_CELL_LENGTH, "%s",
           has_deviation(plot) ? "deviation, kHz" : "");
  snprintf(headings[PLOT_VERDICT], PLOT_CELL_LENGTH, "verdict");
}

struct candidate {
  const struct sc_line *line;
  bool open, stands_out;
};

/* Open ones first, then what stands out of its neighbours, then by level. */
static int by_weight(const void *a, const void *b)
{
  const struct candidate *left = a, *right = b;
  if (left->open != right->open)
    return left->open ? -1 : 1;
  if (!left->open && left->stands_out != right->stands_out)
    return left->stands_out ? -1 : 1;
  double l = left->line->tone.level_db.value, r = right->line->tone.level_db.value;
  return (l < r) - (l > r);
}

static int by_frequency(const void *a, const void *b)
{
  const struct plot_row *left = a, *right = b;
  return (left->hz > right->hz) - (left->hz < right->hz);
}

/* The candidates are by frequency. */
static bool stands_out(const struct candidate *found, size_t count, size_t i, double within_hz)
{
  const struct sc_tone *tone = &found[i].line->tone;
  for (int way = -1; way <= 1; way += 2)
    for (size_t k = i + (size_t)way; k < count;
         k += (size_t)way) { /* below zero: count is passed */
      const struct sc_tone *other = &found[k].line->tone;
      if (fabs(other->frequency_hz.value - tone->frequency_hz.value) > within_hz)
        break;
      if (other->level_db.value > tone->level_db.value)
        return false;
    }
  return true;
}

size_t plot_rows(const struct sc_plot *plot, struct sc_sight_scale scale, size_t most,
                 struct plot_row *rows, size_t *within)
{
  const struct sc_line_list *list = lines_of(plot);
  struct candidate found[SC_LISTED_MAX];
  size_t count = 0, open = 0, used = 0;
  for (size_t i = 0; i < list->count && count < SC_LISTED_MAX; i++) {
    const struct sc_line *line = &list->lines[i];
    double hz = line->tone.frequency_hz.value;
    if (hz < plot->low_hz || hz > plot->high_hz)
      continue;
    found[count++] = (struct candidate){line, is_open(plot, line), false};
    open += is_open(plot, line);
  }
  *within = count;
  for (size_t i = 0; i < count; i++)
    found[i].stands_out = stands_out(found, count, i, (plot->high_hz - plot->low_hz) / 40);
  qsort(found, count, sizeof *found, by_weight);
  size_t others = count - open;
  size_t half = most / 2, left = most > others ? most - others : 0;
  size_t open_most = left > half ? left : half;
  open_most = open_most < open ? open_most : open;
  for (size_t i = 0; i < count && used < most; i++)
    if (!found[i].open || i < open_most)
      fill(plot, scale, found[i].line, &rows[used++]);
  qsort(rows, used, sizeof *rows, by_frequency);
  return used;
}
