/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdlib.h>
#include <string.h>

#include "view/copy.h"

static void copy_array(float *to, const float *from, size_t points, const float **out)
{
  *out = from == NULL ? NULL : to;
  if (from != NULL)
    memcpy(to, from, points * sizeof *to);
}

/* At least one, so that there is an array even of nothing. */
static bool make_room(struct view_copy *copy, size_t floats)
{
  floats = floats > 0 ? floats : 1;
  if (floats <= copy->room)
    return true;
  float *grown = realloc(copy->points, floats * sizeof *grown);
  if (grown == NULL)
    return false;
  copy->points = grown;
  copy->room = floats;
  return true;
}

bool view_copy_take(struct view_copy *copy, const struct view_spectrum *spectrum)
{
  const struct sc_trace *trace = &spectrum->trace;
  size_t points = trace->points, expected = spectrum->expected.points;
  const struct view_course *course = &spectrum->course;
  size_t cells = course->rows * course->columns;
  if (!make_room(copy, 4 * points + expected + cells))
    return false;
  float *to = copy->points;
  copy->spectrum = *spectrum;
  copy_array(to, trace->mean, points, &copy->spectrum.trace.mean);
  copy_array(to + points, trace->max_hold, points, &copy->spectrum.trace.max_hold);
  copy_array(to + 2 * points, trace->min_hold, points, &copy->spectrum.trace.min_hold);
  copy_array(to + 3 * points, spectrum->difference_db, points, &copy->spectrum.difference_db);
  copy_array(to + 4 * points, spectrum->expected.mean, expected, &copy->spectrum.expected.mean);
  copy_array(to + 4 * points + expected, course->level_db, cells, &copy->spectrum.course.level_db);
  return true;
}
