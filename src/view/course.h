/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Spectra of successive rows of time, in a bounded table: means of what was read of each. */
#ifndef SIDECOMB_VIEW_COURSE_H
#define SIDECOMB_VIEW_COURSE_H

#include <sidecomb/spectrum.h>

#include "view/model.h"

enum { VIEW_COURSE_ROWS = 128, VIEW_COURSE_COLUMNS = 512 };

/* Zero-initialise. */
struct view_course_table {
  float *level_db; /* rows * columns */
  unsigned taken[VIEW_COURSE_ROWS];
  double power[VIEW_COURSE_ROWS]; /* of all columns, mean */
  size_t rows, columns;
  double start_hz, step_hz, rbw_hz;
};

/* Empties it and gives it so many rows (none: they are appended). False: memory is short. */
bool view_course_open(struct view_course_table *table, size_t rows);
/* Adds a spectrum to the mean of a row; traces that follow have the same points. */
void view_course_add(struct view_course_table *table, size_t row, const struct sc_trace *trace);
/* As a new last row; the first one goes when there are VIEW_COURSE_ROWS. */
void view_course_append(struct view_course_table *table, const struct sc_trace *trace);
/* Valid until the next call; from_s and each_s are the caller's to fill in. */
struct view_course view_course_result(const struct view_course_table *table);
void view_course_free(struct view_course_table *table);

#endif
