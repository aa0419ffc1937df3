/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Where a marker may go. A peak without a measured line is a point of the trace that falls by
 * `prominence` on both sides before something higher comes. */
#include <math.h>

#include <sidecomb/pilot.h>
#include <sidecomb/subcarriers.h>

#include "view/find.h"

static const double prominence = 4.0; /* power ratio: 6 dB */
/* Noise that adds to a line of its own power lifts the trace by 3 dB. */
static const double hidden_by_db = 3;

ptrdiff_t view_find_line(const struct view_model *model, enum view_id view, double hz,
                         double within_hz)
{
  const struct sc_line_list *list = view_model_lines(model, view);
  ptrdiff_t best = -1;
  double distance = within_hz;
  for (size_t i = 0; i < list->count; i++) {
    double away = fabs(view_line_hz(&list->lines[i]) - hz);
    if (away > distance)
      continue;
    distance = away;
    best = (ptrdiff_t)i;
  }
  return best;
}

ptrdiff_t view_find_strongest(const struct view_model *model, enum view_id view, double hz,
                              double within_hz)
{
  const struct sc_line_list *list = view_model_lines(model, view);
  ptrdiff_t best = -1;
  for (size_t i = 0; i < list->count; i++) {
    double level = list->lines[i].tone.level_db.value;
    if (fabs(view_line_hz(&list->lines[i]) - hz) > within_hz ||
        (best >= 0 && level <= list->lines[best].tone.level_db.value))
      continue;
    best = (ptrdiff_t)i;
  }
  return best;
}

/* A line whose neighbour or noise the trace shows in its place is no peak of the picture. */
static bool shows(const struct view_model *model, enum view_id view, const struct sc_line *line)
{
  const double trace = view_trace_level(model, view, view_line_hz(line));
  return isnan(trace) || view_model_line_level(model, view, line) > trace - hidden_by_db;
}

static bool lines_in(const struct view_model *model, enum view_id view, struct view_range range)
{
  const struct sc_line_list *list = view_model_lines(model, view);
  for (size_t i = 0; i < list->count; i++) {
    double hz = view_line_hz(&list->lines[i]);
    if (hz >= range.low_hz && hz <= range.high_hz && shows(model, view, &list->lines[i]))
      return true;
  }
  return false;
}

/* Whether the trace falls by the prominence on one side of point i. */
static bool falls(const struct sc_trace *trace, size_t i, int direction)
{
  ptrdiff_t at = (ptrdiff_t)i;
  for (at += direction; at >= 0 && at < (ptrdiff_t)trace->points; at += direction) {
    if (trace->mean[at] > trace->mean[i])
      return false;
    if (trace->mean[at] * prominence < trace->mean[i])
      return true;
  }
  return false;
}

static bool is_peak(const struct sc_trace *trace, size_t i)
{
  return falls(trace, i, -1) && falls(trace, i, 1);
}

/* Walks the peaks of the view in the range, by frequency. */
struct walk {
  const struct view_model *model;
  enum view_id view;
  struct view_range range;
  bool lines;
  size_t next;
};

static struct walk walk_start(const struct view_model *model, enum view_id view,
                              struct view_range range)
{
  return (struct walk){model, view, range, lines_in(model, view, range), 0};
}

static bool walk_line(struct walk *walk, double *hz, double *level)
{
  const struct sc_line_list *list = view_model_lines(walk->model, walk->view);
  while (walk->next < list->count) {
    const struct sc_line *line = &list->lines[walk->next++];
    *hz = view_line_hz(line);
    *level = line->tone.level_db.value;
    if (*hz >= walk->range.low_hz && *hz <= walk->range.high_hz &&
        shows(walk->model, walk->view, line))
      return true;
  }
  return false;
}

static bool walk_trace(struct walk *walk, double *hz, double *level)
{
  if (!view_model_has_trace(walk->model, walk->view))
    return false;
  const struct sc_trace *trace = &walk->model->spectrum.trace;
  while (walk->next < trace->points) {
    size_t i = walk->next++;
    *hz = trace->start_hz + (double)i * trace->step_hz;
    *level = trace->mean[i];
    if (*hz >= walk->range.low_hz && *hz <= walk->range.high_hz && is_peak(trace, i))
      return true;
  }
  return false;
}

static bool walk_next(struct walk *walk, double *hz, double *level)
{
  return walk->lines ? walk_line(walk, hz, level) : walk_trace(walk, hz, level);
}

double view_find_next(const struct view_model *model, enum view_id view, struct view_range range,
                      double hz, int direction)
{
  struct walk walk = walk_start(model, view, range);
  double best = (double)NAN, at, level;
  while (walk_next(&walk, &at, &level)) {
    bool beyond = (at - hz) * direction > 1e-6;
    if (beyond && (isnan(best) || (best - at) * direction > 0))
      best = at;
  }
  return best;
}

double view_find_highest(const struct view_model *model, enum view_id view, struct view_range range)
{
  struct walk walk = walk_start(model, view, range);
  double best = (double)NAN, most = -INFINITY, at, level;
  while (walk_next(&walk, &at, &level)) {
    if (level <= most)
      continue;
    most = level;
    best = at;
  }
  return best;
}

double view_find_table(const struct view_model *model, enum view_id view, double hz, int direction)
{
  double origin = view_model_origin(model, view), best = (double)NAN, low, high;
  view_model_limits(model, view, &low, &high);
  size_t count;
  const struct sc_position *table = sc_subcarriers(&count);
  for (size_t i = 0; i < 2 * count; i++) {
    double position = table[i / 2].position_hz;
    double at = origin + (i % 2 == 0 ? position : -position);
    bool beyond = (at - hz) * direction > 0.5, inside = at >= low && at <= high;
    if (beyond && inside && (isnan(best) || (best - at) * direction > 0))
      best = at;
  }
  return best;
}

double view_find_mirror(const struct view_model *model, enum view_id view, double hz)
{
  double middle = view_model_origin(model, view), low, high;
  if (view == VIEW_AUDIO)
    return (double)NAN;
  if (view == VIEW_COMPOSITE)
    middle = 2 * SC_PILOT_NOMINAL_HZ;
  view_model_limits(model, view, &low, &high);
  double mirrored = 2 * middle - hz;
  return mirrored >= low && mirrored <= high ? mirrored : (double)NAN;
}

double view_trace_level(const struct view_model *model, enum view_id view, double hz)
{
  if (!view_model_has_trace(model, view))
    return (double)NAN;
  const struct sc_trace *trace = &model->spectrum.trace;
  double at = round((hz - trace->start_hz) / trace->step_hz);
  if (!(at >= 0) || at >= (double)trace->points)
    return (double)NAN;
  return 10 * log10((double)trace->mean[(size_t)at]) + view_model_scale(model, view).offset_db;
}

/* The lobe of a window is nearly a parabola in decibels about its top: through the three highest
 * points it is met within some hundredths of a decibel, where a point alone may be 0.8 below. */
double view_trace_top(const struct view_model *model, enum view_id view, double hz)
{
  const struct sc_trace *trace = &model->spectrum.trace;
  if (!view_model_has_trace(model, view))
    return (double)NAN;
  const double near = round((hz - trace->start_hz) / trace->step_hz);
  if (!(near >= 2) || near + 2 >= (double)trace->points)
    return (double)NAN;
  size_t at = (size_t)near;
  for (size_t i = (size_t)near - 1; i <= (size_t)near + 1; i++)
    if (trace->mean[i] > trace->mean[at])
      at = i;
  const double below = 10 * log10((double)trace->mean[at - 1]),
               top = 10 * log10((double)trace->mean[at]),
               above = 10 * log10((double)trace->mean[at + 1]);
  const double bend = below - 2 * top + above;
  const double rise = bend < 0 && top >= below && top >= above
                          ? -(below - above) * (below - above) / (8 * bend)
                          : 0;
  return top + rise + view_model_scale(model, view).offset_db;
}
