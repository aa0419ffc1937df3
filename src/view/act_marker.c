/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Actions on markers. */
#include <math.h>
#include <stdio.h>

#include "view/account.h"
#include "view/act.h"
#include "view/format.h"

/* Where the active marker is; the middle of the picture while it is off. */
static double here(const struct view_state *state, const struct view_model *model)
{
  const struct view_pane *pane = view_state_shown(state);
  const struct view_marker *marker = &pane->markers[pane->active];
  struct view_range range = view_state_range(state, model);
  return marker->on ? marker->hz : (range.low_hz + range.high_hz) / 2;
}

VIEW_ACT(view_act_marker)
{
  struct view_pane *pane = view_state_pane(state);
  double at = here(state, model);
  int before = pane->active;
  pane->active = (int)number;
  if (pane->markers[pane->active].on) {
    view_state_show(state, model, pane->markers[pane->active].hz);
    return;
  }
  view_state_move(state, model, at);
  if (pane->reference < 0 && pane->markers[before].on)
    pane->reference = before;
}

VIEW_ACT(view_act_cycle)
{
  struct view_pane *pane = view_state_pane(state);
  for (int step = 1; step < VIEW_MARKERS; step++) {
    int m = (pane->active + step * (int)number + VIEW_MARKERS * VIEW_MARKERS) % VIEW_MARKERS;
    if (!pane->markers[m].on)
      continue;
    view_act_marker(state, model, m);
    return;
  }
  view_state_say(state, "No other marker: press B to J to set one.");
}

VIEW_ACT(view_act_columns)
{
  struct view_pane *pane = view_state_pane(state);
  struct view_range range = view_state_range(state, model);
  double dot = (range.high_hz - range.low_hz) / fmax(2 * state->plot_columns, 1);
  double from = here(state, model), to = from + number * dot;
  view_state_move(state, model, to);
  /* Within reach of the line it came from: a step has to leave it. */
  struct view_marker *marker = &pane->markers[pane->active];
  if ((marker->hz - from) * number > 0 || to < range.low_hz || to > range.high_hz)
    return;
  marker->locked = false;
  marker->hz = to;
}

static void move_or_say(struct view_state *state, const struct view_model *model, double hz,
                        const char *otherwise)
{
  if (isnan(hz))
    view_state_say(state, "%s", otherwise);
  else
    view_state_move(state, model, hz);
}

/* A frequency that was calculated, not seen. */
static void place_or_say(struct view_state *state, const struct view_model *model, double hz,
                         const char *otherwise)
{
  if (isnan(hz))
    view_state_say(state, "%s", otherwise);
  else
    view_state_place(state, model, hz);
}

VIEW_ACT(view_act_peak)
{
  double hz = view_find_next(model, state->view, view_state_range(state, model), here(state, model),
                             (int)number);
  move_or_say(state, model, hz, "No further peak in this span.");
}

VIEW_ACT(view_act_highest)
{
  (void)number;
  double hz = view_find_highest(model, state->view, view_state_range(state, model));
  move_or_say(state, model, hz, "Nothing stands out in this span.");
}

VIEW_ACT(view_act_table)
{
  double hz = view_find_table(model, state->view, here(state, model), (int)number);
  place_or_say(state, model, hz, "No further standard position on this side.");
}

VIEW_ACT(view_act_mirror)
{
  (void)number;
  double hz = view_find_mirror(model, state->view, here(state, model));
  place_or_say(state, model, hz, "The mirrored place lies outside.");
}

static void move_to_line(struct view_state *state, const struct view_model *model, ptrdiff_t line,
                         const char *otherwise)
{
  const struct sc_line_list *list = view_model_lines(model, state->view);
  move_or_say(state, model, line < 0 ? (double)NAN : view_line_hz(&list->lines[line]), otherwise);
}

VIEW_ACT(view_act_row)
{
  ptrdiff_t line = view_account_step(state, model, (int)number);
  move_to_line(state, model, line, "The account has no rows yet.");
}

VIEW_ACT(view_act_open)
{
  (void)number;
  move_to_line(state, model, view_account_open(state, model), "Every line is explained.");
}

VIEW_ACT(view_act_go)
{
  view_state_place(state, model, view_state_typed(state, model, number));
}

VIEW_ACT(view_act_reference)
{
  (void)model, (void)number;
  struct view_pane *pane = view_state_pane(state);
  if (!pane->markers[pane->active].on)
    return;
  pane->reference = pane->reference == pane->active ? -1 : pane->active;
  if (pane->reference < 0)
    view_state_say(state, "Differences are off.");
  else
    view_state_say(state, "Differences are now against marker %c.", 'A' + pane->reference);
}

/* Moving onto a line holds the marker to it; this lets it go, or takes the line that is near. */
VIEW_ACT(view_act_hold_line)
{
  (void)number;
  struct view_pane *pane = view_state_pane(state);
  struct view_marker *marker = &pane->markers[pane->active];
  char letter = (char)('A' + pane->active);
  if (!marker->on)
    return;
  if (marker->locked) {
    marker->locked = false;
    view_state_say(state, "%c stays where it is, whatever its line does.", letter);
    return;
  }
  ptrdiff_t line = view_state_line(state, model, pane->active);
  if (line < 0) {
    view_state_say(state, "No measured line is near %c: n and p go to the next.", letter);
    return;
  }
  view_state_move(state, model, view_line_hz(&view_model_lines(model, state->view)->lines[line]));
  view_state_say(state, "%c= follows its line.", letter);
}

VIEW_ACT(view_act_remove)
{
  (void)number;
  struct view_pane *pane = view_state_pane(state);
  pane->markers[pane->active] = (struct view_marker){.on = false};
  if (pane->reference == pane->active)
    pane->reference = -1;
  for (int m = 0; m < VIEW_MARKERS; m++)
    if (pane->markers[m].on) {
      view_act_marker(state, model, m);
      return;
    }
}

void view_act_name(struct view_state *state, const char *text)
{
  struct view_pane *pane = view_state_pane(state);
  struct view_marker *marker = &pane->markers[pane->active];
  if (!marker->on)
    view_state_say(state, "No marker is set: press A to set one.");
  else
    snprintf(marker->name, sizeof marker->name, "%s", text);
}
