/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Actions on levels, resolution and the look of the traces. */
#include <math.h>

#include "view/act.h"
#include "view/bounds.h"

VIEW_ACT(view_act_top)
{
  (void)model;
  struct view_pane *pane = view_state_pane(state);
  const double top = pane->top + number * pane->per_division;
  if (fabs(top) > VIEW_TOP_MOST_DB) {
    view_state_say(state, "The level at the top is from %d dB to %d dB.", -VIEW_TOP_MOST_DB,
                   VIEW_TOP_MOST_DB);
    return;
  }
  pane->top = top;
  pane->level_set = true;
}

VIEW_ACT(view_act_reference_level)
{
  (void)model;
  struct view_pane *pane = view_state_pane(state);
  pane->top = number;
  pane->level_set = true;
}

VIEW_ACT(view_act_division)
{
  (void)model;
  static const double sizes[] = {0.1, 0.2, 0.5, 1, 2, 5, 10, 15, 20};
  enum { COUNT = sizeof sizes / sizeof *sizes };
  struct view_pane *pane = view_state_pane(state);
  int at = 0;
  while (at + 1 < COUNT && sizes[at] < pane->per_division * 0.999)
    at++;
  at -= (int)number;
  if (at < 0 || at >= COUNT)
    return;
  pane->per_division = sizes[at];
  pane->level_set = true;
}

VIEW_ACT(view_act_follow)
{
  (void)number;
  view_state_find_level(state, model);
}

VIEW_ACT(view_act_rbw)
{
  (void)model;
  view_state_pane(state)->rbw_hz = number;
}

VIEW_ACT(view_act_window)
{
  (void)model;
  state->window =
      (enum sc_window)(((int)state->window + (int)number + SC_WINDOW_COUNT) % SC_WINDOW_COUNT);
  state->window_parameter = VIEW_KAISER_BETA;
}

VIEW_ACT(view_act_hold)
{
  (void)model, (void)number;
  state->hold = (enum view_hold)((state->hold + 1) % VIEW_HOLD_COUNT);
}

VIEW_ACT(view_act_glyphs)
{
  (void)model, (void)number;
  state->glyphs = (enum view_glyphs)((state->glyphs + 1) % VIEW_GLYPHS_COUNT);
}

VIEW_ACT(view_act_order)
{
  (void)model, (void)number;
  static const char *const names[VIEW_ORDER_COUNT] = {
      "what is not explained first", "by distance from the axis's zero", "by level"};
  struct view_pane *pane = view_state_pane(state);
  pane->order = (enum view_order)((pane->order + 1) % VIEW_ORDER_COUNT);
  view_state_say(state, "Rows: %s.", names[pane->order]);
}

VIEW_ACT(view_act_against)
{
  (void)model, (void)number;
  state->against = !state->against;
  state->expected = false;
}

VIEW_ACT(view_act_expected)
{
  (void)number;
  const bool hidden = state->sheet != VIEW_SHEET_NONE;
  state->sheet = VIEW_SHEET_NONE; /* where it is seen */
  state->expected = hidden || !state->expected;
  state->against = state->against && !state->expected;
  if (state->expected && !model->channel_known)
    view_state_say(state, "There is no channel yet whose composite could be sent again.");
}
