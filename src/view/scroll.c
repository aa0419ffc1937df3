/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Where scrolling ends depends on the screen, as what is long goes on in further lines. */
#include "view/scroll.h"
#include "view/halves.h"
#include "view/help.h"
#include "view/sheet.h"
#include "view/values.h"

static int last_of_page(const struct view_state *state, const struct view_model *model)
{
  const struct view_box all = {0, 0, state->screen_columns, state->screen_rows};
  return state->cover == VIEW_COVER_HELP ? view_help_last(all, state, model)
                                         : view_values_last(all, state, model);
}

static int last_of_sheet(const struct view_state *state, const struct view_model *model)
{
  const struct view_box box =
      view_halves_box(state, state->side, state->screen_columns, state->screen_rows);
  const struct view_layout layout = view_sheet_layout(box.width, box.height, state, model);
  return view_sheet_last(view_layout_sheet(&layout), state, model);
}

static int clamp(int value, int last)
{
  return value < 0 ? 0 : value > last ? last : value;
}

/* A screen that became larger may have left less to scroll. */
static void move(int *first, int by, int last)
{
  *first = clamp(clamp(*first, last) + by, last);
}

void view_scroll(struct view_state *state, const struct view_model *model, int by)
{
  if (state->cover != VIEW_COVER_NONE)
    move(&state->page_first, by, last_of_page(state, model));
  else
    move(&state->sheet_first, by, last_of_sheet(state, model));
}
