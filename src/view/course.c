/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A column is the strongest point within it, so that no line is lost. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "view/course.h"

/* The weakest shade begins so far below the mean of the weaker half. */
static const double below_floor_db = 3;
/* Samples that are all 0, in a file with holes or that was filled up, have no level: it takes no
 * part in what is shaded. Noise is never as weak. */
static const double least_power = 1e-29;

bool view_course_open(struct view_course_table *table, size_t rows)
{
  float *cells = table->level_db;
  if (cells == NULL)
    cells = malloc((size_t)VIEW_COURSE_ROWS * VIEW_COURSE_COLUMNS * sizeof *cells);
  *table = (struct view_course_table){.level_db = cells,
                                      .rows = rows < VIEW_COURSE_ROWS ? rows : VIEW_COURSE_ROWS};
  return cells != NULL;
}

void view_course_free(struct view_course_table *table)
{
  free(table->level_db);
  *table = (struct view_course_table){.level_db = NULL};
}

/* The first trace says how many columns there are. */
static void take_shape(struct view_course_table *table, const struct sc_trace *trace)
{
  if (table->columns > 0)
    return;
  table->columns = trace->points < VIEW_COURSE_COLUMNS ? trace->points : VIEW_COURSE_COLUMNS;
  double points = (double)trace->points / (double)table->columns;
  table->step_hz = points * trace->step_hz;
  table->start_hz = trace->start_hz + (points - 1) / 2 * trace->step_hz;
  table->rbw_hz = trace->rbw_hz;
  for (size_t i = 0; i < table->rows * table->columns; i++)
    table->level_db[i] = NAN;
}

static double strongest(const struct sc_trace *trace, size_t columns, size_t column)
{
  size_t first = column * trace->points / columns, end = (column + 1) * trace->points / columns;
  double most = 1e-30;
  for (size_t i = first; i < end; i++)
    most = fmax(most, (double)trace->mean[i]);
  return most;
}

void view_course_add(struct view_course_table *table, size_t row, const struct sc_trace *trace)
{
  if (table->level_db == NULL || trace->points == 0 || row >= table->rows)
    return;
  take_shape(table, trace);
  double before = table->taken[row]++, all = 0;
  float *cells = table->level_db + row * table->columns;
  for (size_t c = 0; c < table->columns; c++) {
    double power = strongest(trace, table->columns, c);
    double sum = before > 0 ? before * pow(10, (double)cells[c] / 10) : 0;
    cells[c] = (float)(10 * log10((sum + power) / (before + 1)));
  }
  for (size_t i = 0; i < trace->points; i++)
    all += (double)trace->mean[i];
  table->power[row] = (table->power[row] * before + all) / (before + 1);
}

void view_course_append(struct view_course_table *table, const struct sc_trace *trace)
{
  if (table->level_db == NULL || trace->points == 0)
    return;
  take_shape(table, trace);
  if (table->rows == VIEW_COURSE_ROWS) {
    size_t rest = VIEW_COURSE_ROWS - 1;
    memmove(table->level_db, table->level_db + table->columns,
            rest * table->columns * sizeof *table->level_db);
    memmove(table->power, table->power + 1, rest * sizeof *table->power);
    memmove(table->taken, table->taken + 1, rest * sizeof *table->taken);
    table->rows--;
  }
  size_t row = table->rows++;
  table->taken[row] = 0;
  table->power[row] = 0;
  view_course_add(table, row, trace);
}

/* Mean of the levels below a limit. */
static double mean_below(const struct view_course_table *table, double limit)
{
  const double least_db = 10 * log10(least_power);
  double sum = 0, count = 0;
  for (size_t i = 0; i < table->rows * table->columns; i++) {
    if (!((double)table->level_db[i] > least_db) || (double)table->level_db[i] > limit)
      continue;
    sum += (double)table->level_db[i];
    count++;
  }
  return count > 0 ? sum / count : (double)NAN;
}

struct view_course view_course_result(const struct view_course_table *table)
{
  struct view_course course = {.level_db = table->level_db,
                               .rows = table->columns > 0 ? table->rows : 0,
                               .columns = table->columns,
                               .start_hz = table->start_hz,
                               .step_hz = table->step_hz,
                               .rbw_hz = table->rbw_hz,
                               .high_db = -INFINITY};
  double least = (double)INFINITY, most = 0;
  size_t rows = 0;
  for (size_t row = 0; row < course.rows; row++) {
    if (table->taken[row] == 0)
      continue;
    course.filled++;
    if (!(table->power[row] > least_power)) {
      course.zeros++;
      continue;
    }
    rows++;
    least = fmin(least, table->power[row]);
    most = fmax(most, table->power[row]);
  }
  for (size_t i = 0; i < course.rows * course.columns; i++)
    course.high_db =
        fmax(course.high_db, isnan(table->level_db[i]) ? -INFINITY : (double)table->level_db[i]);
  course.low_db = mean_below(table, mean_below(table, INFINITY)) - below_floor_db;
  if (isnan(course.low_db))
    course.low_db = course.high_db - below_floor_db;
  course.spread_db = rows > 1 ? 10 * log10(most / least) : (double)NAN;
  return course;
}
