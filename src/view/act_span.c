/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Actions on views and spans. */
#include <math.h>

#include "view/act.h"
#include "view/axis.h"
#include "view/format.h"

VIEW_ACT(view_act_view)
{
  enum view_id view = (enum view_id)number;
  state->sheet = VIEW_SHEET_NONE;
  if (view_model_offers(model, view))
    state->view = view;
  else
    view_state_say(state, "A capture of kind %s has no view '%s'.", sc_kind_name(model->info->kind),
                   view_id_name(view));
}

VIEW_ACT(view_act_next_view)
{
  (void)number;
  for (int step = 1; step < VIEW_COUNT; step++) {
    enum view_id view = (enum view_id)(((int)state->view + step) % VIEW_COUNT);
    if (!view_model_offers(model, view))
      continue;
    state->view = view;
    state->sheet = VIEW_SHEET_NONE;
    return;
  }
  view_state_say(state, "This capture has no other view.");
}

VIEW_ACT(view_act_sheet)
{
  (void)model;
  enum view_sheet sheet = (enum view_sheet)number;
  state->sheet = state->sheet == sheet ? VIEW_SHEET_NONE : sheet;
  state->sheet_first = 0;
}

/* What may stand beside: the other spectrum, else the deviation or stereo. */
static struct view_other companion(const struct view_state *state, const struct view_model *model)
{
  for (int view = 0; view < VIEW_COUNT; view++)
    if ((enum view_id)view != state->view && view_model_offers(model, (enum view_id)view))
      return (struct view_other){(enum view_id)view, VIEW_SHEET_NONE, 0};
  bool audio = model->info->kind == SC_KIND_AUDIO;
  return (struct view_other){state->view, audio ? VIEW_SHEET_STEREO : VIEW_SHEET_DEVIATION, 0};
}

VIEW_ACT(view_act_two)
{
  (void)number;
  state->two = !state->two;
  state->side = 0;
  if (state->two)
    state->other = companion(state, model);
}

VIEW_ACT(view_act_other_side)
{
  (void)model, (void)number;
  view_state_swap(state);
  state->side = !state->side;
}

/* The next of 1, 2, 5, 10, ... times a power of ten below (direction 1) or above it. */
static double next_span(double span, int direction)
{
  return direction > 0 ? view_round_step(span / 2.5 * (1 - 1e-6), 1)
                       : view_round_step(span * (1 + 1e-6), 1);
}

static bool marker_shown(const struct view_marker *marker, struct view_range range)
{
  return marker->on && marker->hz >= range.low_hz && marker->hz <= range.high_hz;
}

void view_act_zoom_about(struct view_state *state, const struct view_model *model, double hz,
                         int direction)
{
  struct view_range range = view_state_range(state, model);
  double old = range.high_hz - range.low_hz, centre = (range.low_hz + range.high_hz) / 2;
  double span = next_span(old, direction);
  view_state_set_span(state, model, hz + (centre - hz) * span / old, span);
}

VIEW_ACT(view_act_zoom)
{
  const struct view_pane *pane = view_state_shown(state);
  const struct view_marker *marker = &pane->markers[pane->active];
  struct view_range range = view_state_range(state, model);
  double old = range.high_hz - range.low_hz, centre = (range.low_hz + range.high_hz) / 2;
  double span = next_span(old, (int)number);
  if (marker_shown(marker, range))
    centre = number > 0 ? marker->hz : marker->hz + (centre - marker->hz) * span / old;
  view_state_set_span(state, model, centre, span);
}

VIEW_ACT(view_act_shift)
{
  struct view_range range = view_state_range(state, model);
  double span = range.high_hz - range.low_hz;
  view_state_set_span(state, model, range.low_hz + span * (0.5 + number), span);
}

VIEW_ACT(view_act_to_centre)
{
  (void)number;
  const struct view_pane *pane = view_state_shown(state);
  const struct view_marker *marker = &pane->markers[pane->active];
  struct view_range range = view_state_range(state, model);
  if (!marker->on)
    view_state_say(state, "No marker is set: press A to set one.");
  else
    view_state_set_span(state, model, marker->hz, range.high_hz - range.low_hz);
}

/* What was typed becomes the centre: near an end of the capture the span gives way. */
VIEW_ACT(view_act_centre)
{
  struct view_range range = view_state_range(state, model);
  double low, high, span = range.high_hz - range.low_hz,
                    hz = view_state_typed(state, model, number);
  view_model_limits(model, state->view, &low, &high);
  const double most = fmax(2 * fmin(hz - low, high - hz), VIEW_LEAST_SPAN_HZ);
  if (span > most * (1 + 1e-9))
    view_state_say(state, "The span is now %s: the capture ends there.",
                   view_frequency(most, 1, false).text);
  view_state_set_span(state, model, hz, fmin(span, most));
}

VIEW_ACT(view_act_span)
{
  const struct view_pane *pane = view_state_shown(state);
  const struct view_marker *marker = &pane->markers[pane->active];
  struct view_range range = view_state_range(state, model);
  double centre = (range.low_hz + range.high_hz) / 2;
  if (marker_shown(marker, range))
    centre = marker->hz;
  view_state_set_span(state, model, centre, number);
}

VIEW_ACT(view_act_fit)
{
  (void)number;
  double centre, span;
  view_model_fit(model, state->view, &centre, &span);
  view_state_set_span(state, model, centre, span);
}

VIEW_ACT(view_act_whole)
{
  (void)number;
  double low, high;
  view_model_limits(model, state->view, &low, &high);
  view_state_set_span(state, model, (low + high) / 2, high - low);
}

VIEW_ACT(view_act_history)
{
  (void)model;
  struct view_pane *pane = view_state_pane(state);
  if (number < 0 && pane->span_at > 0)
    pane->span_at--;
  else if (number > 0 && pane->span_at + 1 < pane->span_count)
    pane->span_at++;
  else
    view_state_say(state, "No %s span.", number < 0 ? "earlier" : "later");
}

VIEW_ACT(view_act_absolute)
{
  (void)number;
  if (model->info->centre_hz <= 0)
    view_state_say(state, "The capture does not say its frequency: start with --centre HZ.");
  else
    state->absolute = !state->absolute;
}
