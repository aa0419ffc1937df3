/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Both sides of the carrier: of each pair of lines what is FM, what AM, and what stands on one
 * side alone. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>

#include "common/number.h"
#include "report/layout.h"
#include "report/pairs.h"

enum { CELL = 32, PAIRS_MOST = 8 };

/* Widths of columns; where there is no room the levels of both lines are left to the table of
 * lines. */
struct columns {
  size_t offset, level;
  bool lines;
};
static const struct columns wide = {11, 9, true}, narrow = {8, 7, false};

static const char note[] =
    "Divided by level and phase, less what the composite makes; dBc of one line of the pair; "
    "alone: what one side, + or -, has more than the other. A part that is not given lies below "
    "the last column.";

static const struct sc_line *mirror_of(const struct sc_line_list *list, const struct sc_line *line)
{
  return line->mirror >= 0 ? &list->lines[line->mirror] : NULL;
}

/* One line stands for its pair: the upper one, or the one that is alone. */
static bool stands_for_pair(const struct sc_line *line)
{
  return line->parts_limit_dbc.why == NULL && (line->offset_hz.value > 0 || line->mirror < 0);
}

/* AM, or more on one side than on the other. */
static bool is_odd(const struct sc_line_list *list, const struct sc_line *line)
{
  const struct sc_line *mirror = mirror_of(list, line);
  return line->am_part_dbc.why == NULL || line->one_sided_dbc.why == NULL ||
         (mirror != NULL && mirror->one_sided_dbc.why == NULL);
}

static void print_level(struct report_buffer *out, const struct sc_quantity *level, size_t columns)
{
  char text[CELL] = "-";
  if (level->why == NULL)
    snprintf(text, sizeof text, "%s",
             common_number(level->value, level->uncertainty < 0.1 ? 2 : 1, false).text);
  report_right(out, text, columns);
}

static void print_pair(struct report_buffer *out, const struct sc_line_list *list,
                       const struct sc_line *line, const struct columns *columns)
{
  const struct sc_line *mirror = mirror_of(list, line);
  const struct sc_quantity none = sc_not_measured("");
  bool above = line->offset_hz.value > 0;
  const struct sc_line *upper = above ? line : mirror, *lower = above ? mirror : line;
  bool other = mirror != NULL && mirror->one_sided_dbc.why == NULL;
  const struct sc_quantity *alone = other ? &mirror->one_sided_dbc : &line->one_sided_dbc;
  char text[CELL];
  snprintf(text, sizeof text, "%.3f", fabs(line->offset_hz.value) / 1e3);
  report_right(out, text, columns->offset);
  if (columns->lines) {
    print_level(out, upper != NULL ? &upper->level_dbc : &none, columns->level);
    print_level(out, lower != NULL ? &lower->level_dbc : &none, columns->level);
  }
  print_level(out, &line->fm_part_dbc, columns->level);
  print_level(out, &line->am_part_dbc, columns->level);
  print_level(out, alone, columns->level);
  report_add(out, " %c", alone->why != NULL ? ' ' : above != other ? '+' : '-');
  print_level(out, &line->parts_limit_dbc, columns->level);
  report_add(out, "\n");
}

static void print_headings(struct report_buffer *out, const struct columns *columns, size_t width)
{
  static const char *const headings[] = {"above", "below", "FM", "AM", "alone"};
  report_add(out, "\nBoth sides of the carrier\n");
  report_wrap(out, note, 0, 0, width);
  report_right(out, "± kHz", columns->offset);
  for (size_t i = columns->lines ? 0 : 2; i < sizeof headings / sizeof *headings; i++)
    report_right(out, headings[i], columns->level);
  report_add(out, "  ");
  report_right(out, "limit", columns->level);
  report_add(out, "\n");
}

static int nearest_first(const void *a, const void *b)
{
  double left = fabs((*(const struct sc_line *const *)a)->offset_hz.value);
  double right = fabs((*(const struct sc_line *const *)b)->offset_hz.value);
  return (left > right) - (left < right);
}

/* How many pairs are stronger. */
static size_t rank_of(const struct sc_line_list *list, const struct sc_line *line)
{
  size_t rank = 0;
  for (size_t i = 0; i < list->count; i++)
    rank +=
        stands_for_pair(&list->lines[i]) && list->lines[i].level_dbc.value > line->level_dbc.value;
  return rank;
}

static size_t choose(const struct sc_line_list *list, size_t most, const struct sc_line **chosen)
{
  size_t count = 0;
  for (size_t i = 0; i < list->count; i++) {
    const struct sc_line *line = &list->lines[i];
    if (stands_for_pair(line) && (most == 0 || is_odd(list, line) || rank_of(list, line) < most))
      chosen[count++] = line;
  }
  qsort(chosen, count, sizeof *chosen, nearest_first);
  return count;
}

void report_pair_table(struct report_buffer *out, const struct sc_line_list *list, size_t most,
                       size_t width)
{
  const struct sc_line **chosen =
      list->why == NULL && list->count > 0 ? calloc(list->count, sizeof *chosen) : NULL;
  if (chosen == NULL)
    return;
  size_t count = choose(list, most > PAIRS_MOST ? PAIRS_MOST : most, chosen);
  const size_t room = wide.offset + 6 * wide.level + 2;
  const struct columns *columns = width >= room ? &wide : &narrow;
  if (count > 0)
    print_headings(out, columns, width);
  for (size_t i = 0; i < count; i++)
    print_pair(out, list, chosen[i], columns);
  free(chosen);
}
