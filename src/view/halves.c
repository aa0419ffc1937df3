/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A half is drawn as a screen of its own and copied. The left one belongs to the engine that also
 * measures, the right one to an engine that only reads. */
#include "view/halves.h"
#include "view/draw.h"

enum { BAR = 0x2502 };

bool view_halves_shown(const struct view_state *state, int width)
{
  return state->two && width >= VIEW_TWO_COLUMNS && state->cover == VIEW_COVER_NONE;
}

struct view_box view_halves_box(const struct view_state *state, int side, int width, int height)
{
  struct view_box box = {0, 0, width, height};
  if (!view_halves_shown(state, width))
    return box;
  int left = (width - 1) / 2;
  box.x = side == 0 ? 0 : left + 1;
  box.width = side == 0 ? left : width - left - 1;
  return box;
}

static void copy_into(struct view_grid *grid, struct view_box box, const struct view_grid *half)
{
  for (int y = 0; y < half->height; y++)
    for (int x = 0; x < half->width; x++) {
      struct view_cell *to = view_grid_cell(grid, box.x + x, box.y + y);
      const struct view_cell *from = view_grid_cell(half, x, y);
      if (to != NULL && from != NULL)
        *to = *from;
    }
}

/* False: memory is short. */
static bool draw_half(struct view_grid *grid, struct view_grid *scratch, struct view_box box,
                      const struct view_state *state, const struct view_model *model)
{
  scratch->ascii = grid->ascii;
  if (!view_grid_resize(scratch, box.width, box.height))
    return false;
  view_draw(scratch, state, model);
  copy_into(grid, box, scratch);
  return true;
}

/* Its last row says how the keys get there. */
static void quieten(struct view_grid *grid, struct view_box box)
{
  struct view_box row = {box.x, box.y + box.height - 1, box.width, 1};
  view_grid_blank(grid, row);
  view_put_cut(grid, row.x, row.y, row.width, VIEW_STYLE_QUIET,
               "U takes the keys to this side, V shows one view again");
}

void view_halves_draw(struct view_grid *grid, struct view_grid *scratch, struct view_state *state,
                      const struct view_model *model, const struct view_model *other)
{
  struct view_box active = view_halves_box(state, state->side, grid->width, grid->height);
  struct view_box idle = view_halves_box(state, !state->side, grid->width, grid->height);
  view_grid_clear(grid);
  if (!draw_half(grid, scratch, active, state, model))
    return;
  view_state_swap(state);
  draw_half(grid, scratch, idle, state, other);
  view_state_swap(state);
  quieten(grid, idle);
  int bar = (grid->width - 1) / 2;
  for (int y = 0; y < grid->height; y++)
    view_put_character(grid, bar, y, VIEW_STYLE_QUIET, BAR);
}

/* ---- models */

bool view_halves_reads(enum view_sheet sheet)
{
  return sheet == VIEW_SHEET_NONE || sheet == VIEW_SHEET_COURSE;
}

/* Live, the first engine's spectrum serves both where both show the same, or one needs none. */
static struct view_spectrum shared(const struct view_state *state, const struct view_model *first)
{
  bool rows = state->sheet == VIEW_SHEET_COURSE;
  bool same = state->view == state->other.view && rows == (state->other.sheet == VIEW_SHEET_COURSE);
  if (same || !view_halves_reads(state->sheet) || !view_halves_reads(state->other.sheet))
    return first->spectrum;
  return (struct view_spectrum){
      .view = state->other.view,
      .why = "Live input is read once, so one of the two has a spectrum: U takes the keys here"};
}

struct view_model view_halves_model(const struct view_state *state, const struct view_model *first,
                                    const struct view_spectrum *own)
{
  struct view_model model = *first;
  model.against = NULL;
  model.against_db = NULL;
  model.spectrum = own != NULL ? *own : shared(state, first);
  return model;
}
