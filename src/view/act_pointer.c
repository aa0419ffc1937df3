/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What the pointer does in the plot. */
#include <math.h>

#include "view/act.h"
#include "view/plot.h"

static bool in_plot(const struct view_state *state)
{
  const struct view_pointer *pointer = &state->pointer;
  int column = pointer->x - state->plot_x, row = pointer->y - state->plot_y;
  return state->sheet == VIEW_SHEET_NONE && column >= 0 && column < state->plot_columns && row >= 0 &&
         row < state->plot_rows;
}

static double frequency(const struct view_state *state, const struct view_model *model)
{
  return view_plot_frequency(view_state_range(state, model), state->plot_columns,
                             state->pointer.x - state->plot_x);
}

VIEW_ACT(view_act_mouse)
{
  (void)model, (void)number;
  state->mouse = !state->mouse;
  view_state_say(state, state->mouse ? "The mouse acts here: the wheel zooms, drawing shifts, a "
                                       "click sets the marker."
                                     : "The mouse is the terminal's own again.");
}

/* A cell is wide: the highest peak within it and its neighbours is what is meant. */
VIEW_ACT(view_act_point)
{
  (void)number;
  if (!in_plot(state))
    return;
  struct view_range range = view_state_range(state, model);
  double hz = frequency(state, model), cell = (range.high_hz - range.low_hz) / state->plot_columns;
  double peak = view_find_highest(model, state->view, (struct view_range){hz - cell, hz + cell});
  view_state_move(state, model, isnan(peak) ? hz : peak);
}

VIEW_ACT(view_act_wheel)
{
  if (in_plot(state))
    view_act_zoom_about(state, model, frequency(state, model), (int)number);
}

/* All steps of one drawing make one span, so that going back undoes it at once. */
VIEW_ACT(view_act_drag)
{
  (void)number;
  struct view_range range = view_state_range(state, model);
  double span = range.high_hz - range.low_hz, centre = (range.low_hz + range.high_hz) / 2;
  centre -= span * state->pointer.moved / state->plot_columns;
  if (state->sheet != VIEW_SHEET_NONE)
    return;
  if (state->pointer.goes_on)
    view_state_change_span(state, model, centre, span);
  else
    view_state_set_span(state, model, centre, span);
}
