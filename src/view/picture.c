/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Shades are characters that grow denser, so that they read without colour; colours go from dark
 * blue over grey to light yellow, which get lighter for every kind of colour vision. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "common/number.h"
#include "view/axis.h"
#include "view/caption.h"
#include "view/format.h"
#include "view/picture.h"
#include "view/words.h"

enum { TIME_COLUMNS = 9, TIME_EVERY = 4, READOUT_FROM = 12, TEXT_LENGTH = 1024 };
static const uint32_t dense[VIEW_SHADES] = {' ',    0xB7,   0x2591, 0x2591,
                                            0x2592, 0x2592, 0x2593, 0x2588};
static const char plain[] = " .:-=+*#";
_Static_assert(sizeof plain == VIEW_SHADES + 1, "a character for each shade");

static const struct view_course *course_of(const struct view_state *state,
                                           const struct view_model *model)
{
  const struct view_spectrum *spectrum = &model->spectrum;
  return spectrum->view == state->view && spectrum->course.filled > 0 ? &spectrum->course : NULL;
}

void view_picture_sentence(const struct view_state *state, const struct view_model *model,
                           char *out, size_t size)
{
  const struct view_course *course = course_of(state, model);
  const struct view_spectrum *spectrum = &model->spectrum;
  if (course == NULL) {
    snprintf(out, size, "over time: %s. ", view_id_name(state->view));
    const size_t used = strlen(out);
    view_caption_waiting(state, model, out + used, size - used);
    return;
  }
  double resolution = course->each_s < 0.1 ? 1e-3 : 0.01;
  snprintf(out, size, "over time: %s, %zu rows of %.3g s", view_id_name(state->view), course->rows,
           course->each_s);
  view_append(
      out, size, ", %s to %s", view_time(model->start_s + course->from_s, resolution).text,
      view_time(model->start_s + course->from_s + course->each_s * (double)course->rows, resolution)
          .text);
  if (!isnan(course->spread_db))
    view_append(out, size, "; from the weakest to the strongest row %.1f dB", course->spread_db);
  if (course->zeros > 0)
    view_append(out, size, "%s %zu row%s of zeros", isnan(course->spread_db) ? ";" : ", without",
                course->zeros, course->zeros == 1 ? "" : "s");
  if (spectrum->share < 0.995 && !state->playing)
    view_append(out, size, "; %.2g %% of it %s read", 100 * spectrum->share,
                spectrum->refining ? "is" : "was");
  view_append(out, size, ".");
}

/* ---- shades */

/* The strongest cell under a place of the screen; NAN: nothing was read of it. */
static float strongest(const struct view_course *course, struct view_range range, int columns,
                       int column, size_t first_row, size_t end_row)
{
  double each = (range.high_hz - range.low_hz) / columns;
  double from = (range.low_hz + column * each - course->start_hz) / course->step_hz + 0.5;
  double to = from + each / course->step_hz;
  float most = NAN;
  for (size_t row = first_row; row < end_row; row++)
    for (double c = fmax(floor(from), 0); c < to && c < (double)course->columns; c++)
      most = fmaxf(most, course->level_db[row * course->columns + (size_t)c]);
  return most;
}

static void put_shade(struct view_grid *grid, int x, int y, const struct view_course *course,
                      float level)
{
  if (isnan(level))
    return; /* nothing was read of it yet */
  double height = fmax(course->high_db - course->low_db, 1);
  double share = fmin(fmax(((double)level - course->low_db) / height, 0), 1);
  int shade = (int)fmin(share * VIEW_SHADES, VIEW_SHADES - 1);
  view_put_character(grid, x, y, (enum view_style)(VIEW_STYLE_SHADE + shade),
                     grid->ascii ? (uint32_t)(unsigned char)plain[shade] : dense[shade]);
}

/* The newest rows that fit while time goes on, so that they move by whole rows. */
static struct view_course newest(const struct view_course *course, size_t most)
{
  struct view_course part = *course;
  size_t over = course->rows > most ? course->rows - most : 0;
  part.level_db += over * course->columns;
  part.rows -= over;
  part.from_s += (double)over * course->each_s;
  return part;
}

/* A row of the screen may be a part of a row of the course, or several of them. */
static void put_rows(struct view_grid *grid, struct view_box box, const struct view_course *course,
                     struct view_range range)
{
  for (int y = 0; y < box.height; y++) {
    size_t first = (size_t)y * course->rows / (size_t)box.height;
    size_t end = (size_t)(y + 1) * course->rows / (size_t)box.height;
    end = end > first ? end : first + 1;
    for (int x = 0; x < box.width; x++)
      put_shade(grid, box.x + x, box.y + y, course,
                strongest(course, range, box.width, x, first, end));
  }
}

/* ---- around them */

static void put_times(struct view_grid *grid, struct view_box box, const struct view_model *model,
                      const struct view_course *course)
{
  double each = course->each_s * (double)course->rows / box.height;
  for (int y = 0; y < box.height; y += TIME_EVERY) {
    struct view_number text = view_time(model->start_s + course->from_s + y * each, each / 10);
    int width = (int)strlen(text.text);
    if (width < TIME_COLUMNS)
      view_put(grid, box.x - 1 - width, box.y + y, VIEW_STYLE_QUIET, text.text);
  }
}

static void put_frequencies(struct view_grid *grid, struct view_box box,
                            const struct view_state *state, const struct view_model *model,
                            struct view_range range)
{
  bool tuned = state->view == VIEW_AIR && state->absolute;
  bool sign = state->view == VIEW_AIR && !tuned;
  double origin = tuned ? -model->info->centre_hz : view_model_origin(model, state->view);
  struct view_axis axis =
      view_axis_frequency(range.low_hz - origin, range.high_hz - origin, box.width, sign);
  int unit = box.x + box.width - (int)strlen(axis.unit_name), y = box.y + box.height;
  for (double at = view_axis_first(&axis); axis.step > 0 && at <= axis.high; at += axis.step) {
    struct view_number label = view_axis_label(&axis, at, sign);
    int width = (int)strlen(label.text);
    int x = box.x + (int)(view_axis_share(&axis, at) * box.width) - width / 2;
    if (x >= 0 && x + width < unit)
      view_put(grid, x, y, VIEW_STYLE_QUIET, label.text);
  }
  view_put(grid, unit, y, VIEW_STYLE_QUIET, axis.unit_name);
}

/* Letters of the markers over their columns. */
static void put_markers(struct view_grid *grid, struct view_box box, const struct view_state *state,
                        struct view_range range)
{
  const struct view_pane *pane = view_state_shown(state);
  for (int m = 0; m < VIEW_MARKERS; m++) {
    double share = (pane->markers[m].hz - range.low_hz) / (range.high_hz - range.low_hz);
    if (pane->markers[m].on && share >= 0 && share < 1)
      view_put_character(grid, box.x + (int)(share * box.width), box.y - 1,
                         m == pane->active ? VIEW_STYLE_ACTIVE : VIEW_STYLE_MARKER,
                         (uint32_t)('A' + m));
  }
}

/* "-110 .:-=+*# -10 dBc in 750 Hz" */
static void put_key(struct view_grid *grid, struct view_box box, int y,
                    const struct view_state *state, const struct view_model *model,
                    const struct view_course *course)
{
  struct sc_sight_scale scale = view_model_scale(model, state->view);
  char text[160], brief[128];
  snprintf(text, sizeof text, "%s ",
           common_number(course->low_db + scale.offset_db, 0, false).text);
  int x = view_put(grid, box.x, y, VIEW_STYLE_QUIET, text);
  for (int shade = 0; shade < VIEW_SHADES; shade++, x++) {
    double level =
        course->low_db + (shade + 0.5) / VIEW_SHADES * (course->high_db - course->low_db);
    put_shade(grid, x, y, course, (float)level);
  }
  snprintf(brief, sizeof brief, " %s %s in %.3g Hz",
           common_number(course->high_db + scale.offset_db, 0, false).text, scale.unit,
           course->rbw_hz);
  snprintf(text, sizeof text, "%s; time runs down", brief);
  const int columns = box.x + box.width - x;
  view_put_cut(grid, x, y, columns, VIEW_STYLE_QUIET,
               view_text_fitting(text, brief, columns, grid->ascii));
}

/* The marker's readout, below the picture where there is room. Returns its rows. */
static int put_readout(struct view_grid *grid, struct view_box box, const struct view_state *state,
                       const struct view_model *model)
{
  char text[TEXT_LENGTH];
  view_words_marker(state, model, view_state_shown(state)->active, text, sizeof text);
  if (box.height < READOUT_FROM || text[0] == 0)
    return 0;
  view_put_cut(grid, box.x, box.y + box.height - 1, box.width, VIEW_STYLE_PLAIN, text);
  view_grid_style(grid, (struct view_box){box.x, box.y + box.height - 1, 1, 1}, VIEW_STYLE_ACTIVE);
  return 1;
}

void view_picture(struct view_grid *grid, struct view_box box, const struct view_state *state,
                  const struct view_model *model)
{
  box.height -= put_readout(grid, box, state, model);
  const struct view_course *course = course_of(state, model);
  int left = box.width >= 40 ? TIME_COLUMNS : 0;
  struct view_box inner = {box.x + left, box.y + 1, box.width - left, box.height - 3};
  if (course == NULL || inner.height <= 0 || inner.width < 4)
    return;
  struct view_range range = view_state_range(state, model);
  struct view_course part = *course;
  struct view_box rows = inner;
  if (state->playing) {
    part = newest(course, (size_t)inner.height);
    rows.height = (int)part.rows;
  }
  put_rows(grid, rows, &part, range);
  if (left > 0)
    put_times(grid, rows, model, &part);
  put_frequencies(grid, inner, state, model, range);
  put_markers(grid, inner, state, range);
  put_key(grid, inner, box.y + box.height - 1, state, model, course);
}
