/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Actions on time, and on the program itself. */
#include <math.h>

#include "view/act.h"
#include "view/axis.h"
#include "view/errand.h"

static void set_position(struct view_state *state, const struct view_model *model, double seconds)
{
  double last = view_model_duration(model) - state->length_s;
  state->position_s = fmax(0, fmin(seconds, last));
}

VIEW_ACT(view_act_play)
{
  (void)number;
  if (model->info->live && model->ended && state->playing) {
    view_state_say(state, "Nothing more comes in: what came last stays.");
    return;
  }
  bool at_end = state->position_s + state->length_s >= view_model_duration(model) - 1e-9;
  if (!state->playing && at_end && !model->info->live) {
    if (state->length_s >= view_model_duration(model) - 1e-9)
      state->length_s = fmin(state->length_s / 4, 1);
    state->position_s = 0;
  }
  state->playing = !state->playing;
}

void view_state_advance(struct view_state *state, const struct view_model *model, double seconds)
{
  double last = view_model_duration(model) - state->length_s;
  bool was_inside = state->position_s + state->length_s <= state->loop_to_s + 1e-9;
  state->position_s += seconds * state->speed;
  if (state->loop == VIEW_LOOP_ON && was_inside &&
      state->position_s + state->length_s > state->loop_to_s) {
    state->position_s = state->loop_from_s;
    return;
  }
  if (state->position_s < last)
    return;
  state->position_s = fmax(last, 0);
  state->playing = false;
}

/* The passage becomes short beside the section, else it would stand still. */
static void close_loop(struct view_state *state)
{
  state->loop = VIEW_LOOP_ON;
  state->loop_to_s = state->position_s + state->length_s;
  double section = state->loop_to_s - state->loop_from_s;
  state->length_s = fmin(state->length_s, section / 4);
  state->position_s = state->loop_from_s;
  state->playing = true;
  view_state_say(state, "Plays %s again and again: P ends that.", view_time(section, 0.01).text);
}

VIEW_ACT(view_act_loop)
{
  (void)model, (void)number;
  if (state->loop == VIEW_LOOP_FROM && state->position_s >= state->loop_from_s) {
    close_loop(state);
  } else if (state->loop == VIEW_LOOP_ON) {
    state->loop = VIEW_LOOP_NONE;
    view_state_say(state, "No section any more.");
  } else {
    state->loop = VIEW_LOOP_FROM;
    state->loop_from_s = state->position_s;
    view_state_say(state, "The section begins here, at %s: go to its end and press P again.",
                   view_time(model->start_s + state->position_s, 0.01).text);
  }
}

VIEW_ACT(view_act_step)
{
  double before = state->position_s;
  state->playing = false;
  set_position(state, model, state->position_s + number * state->length_s);
  if (state->position_s == before)
    view_state_say(state, "The passage already reaches the %s: L shortens it.",
                   number < 0 ? "beginning" : "end");
}

VIEW_ACT(view_act_jump)
{
  set_position(state, model, number - model->start_s);
}

VIEW_ACT(view_act_length)
{
  double most = view_state_longest(model);
  double length = number > 0 ? view_round_step(state->length_s * (1 + 1e-6), 1)
                             : view_round_step(state->length_s / 2.5 * (1 - 1e-6), 1);
  const double before = state->length_s;
  state->length_s = fmin(fmax(length, 0.001), most);
  if (state->length_s == before) /* exact: as it was */
    view_state_say(state, "No %s passage than this.", number > 0 ? "longer" : "shorter");
  if (!model->info->live)
    set_position(state, model, state->position_s);
}

VIEW_ACT(view_act_speed)
{
  (void)model;
  double speed = number > 0 ? state->speed * 2 : state->speed / 2;
  state->speed = fmin(fmax(speed, 1.0 / 16), 16);
  view_state_say(state, "Plays at %g times the capture's own speed.", state->speed);
}

VIEW_ACT(view_act_all)
{
  (void)number;
  state->playing = false;
  state->position_s = 0;
  state->length_s = view_state_longest(model);
}

VIEW_ACT(view_act_hold_work)
{
  (void)number;
  state->held = !state->held;
  const char *what = model->survey_done ? "What takes long" : "The survey";
  if (state->held)
    view_state_say(state, "%s stands still: X lets it go on.", what);
  else
    view_state_say(state, "%s goes on.", what);
}

VIEW_ACT(view_act_cover)
{
  (void)model;
  state->cover = (enum view_cover)number;
  state->page_first = 0;
}

VIEW_ACT(view_act_command)
{
  (void)number;
  state->prompt = (struct view_prompt){.command = true};
  view_errand_suggest(state, model);
}

VIEW_ACT(view_act_quit)
{
  (void)model, (void)number;
  state->quit = true;
}
