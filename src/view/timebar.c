/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The bar tells its parts by characters: # the passage of the picture, [ ] the section, a line as
 * far as the survey has come, dots beyond. */
#include <math.h>
#include <stdio.h>

#include "view/format.h"
#include "view/timebar.h"

enum { SURVEYED = 0x2500, LEAST_CELLS = 8 };

struct bar {
  int x, y, cells;
  double duration_s;
};

static int cell_of(const struct bar *bar, double seconds)
{
  int cell = (int)floor(seconds / bar->duration_s * bar->cells);
  return cell < 0 ? 0 : cell >= bar->cells ? bar->cells - 1 : cell;
}

static void put(struct view_grid *grid, const struct bar *bar, int cell, enum view_style style,
                uint32_t code)
{
  view_put_character(grid, bar->x + cell, bar->y, style, code);
}

/* What the picture was made of, which is more than the passage asked for where the resolution takes
 * longer; without a picture that passage. */
static void find_passage(const struct view_state *state, const struct view_model *model,
                         double *from_s, double *to_s)
{
  const bool drawn = view_model_has_trace(model, state->view);
  *from_s = drawn ? model->spectrum.from_s : state->position_s;
  *to_s = drawn ? model->spectrum.to_s : state->position_s + state->length_s;
}

static void draw_bar(struct view_grid *grid, const struct bar *bar, const struct view_state *state,
                     const struct view_model *model)
{
  double surveyed = model->survey_done ? bar->duration_s : model->survey_s;
  double from, to;
  find_passage(state, model, &from, &to);
  for (int cell = 0; cell < bar->cells; cell++) {
    bool done = (cell + 1) * bar->duration_s <= surveyed * bar->cells * (1 + 1e-9);
    put(grid, bar, cell, VIEW_STYLE_QUIET, done ? SURVEYED : '.');
  }
  for (int cell = cell_of(bar, from); cell <= cell_of(bar, to - 1e-9); cell++)
    put(grid, bar, cell, VIEW_STYLE_TRACE, '#');
  if (state->loop >= VIEW_LOOP_FROM)
    put(grid, bar, cell_of(bar, state->loop_from_s), VIEW_STYLE_MARKER, '[');
  if (state->loop == VIEW_LOOP_ON)
    put(grid, bar, cell_of(bar, state->loop_to_s - 1e-9), VIEW_STYLE_MARKER, ']');
}

/* "10:00, surveyed 34 %" */
static void say_end(const struct view_state *state, const struct view_model *model, char *out,
                    size_t size)
{
  double duration = view_model_duration(model);
  snprintf(out, size, "%s", view_time(model->start_s + duration, 0.01).text);
  if (model->survey_done)
    return;
  view_append(out, size, ", surveyed %.0f %%", floor(100 * model->survey_s / duration));
  if (state->held)
    view_append(out, size, ", stopped");
}

void view_time_bar(struct view_grid *grid, struct view_box box, const struct view_state *state,
                   const struct view_model *model)
{
  struct bar bar = {.y = box.y, .duration_s = view_model_duration(model)};
  if (box.height <= 0 || model->info->live || !(bar.duration_s > 0))
    return;
  char end[80];
  struct view_number from = view_time(model->start_s, 0.01);
  say_end(state, model, end, sizeof end);
  int left = view_text_width(from.text, grid->ascii) + 1;
  int right = view_text_width(end, grid->ascii) + 1;
  bar.x = box.x + left;
  bar.cells = box.width - left - right;
  if (bar.cells < LEAST_CELLS)
    return;
  view_put(grid, box.x, box.y, VIEW_STYLE_QUIET, from.text);
  draw_bar(grid, &bar, state, model);
  view_put(grid, bar.x + bar.cells + 1, box.y, VIEW_STYLE_QUIET, end);
}
