/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A table of actions and of what bounds their numbers. */
#include <stdio.h>

#include "view/act.h"
#include "view/bounds.h"
#include "view/format.h"

struct bounds {
  double low, high; /* as they would be typed */
  bool sign;        /* they are distances, to either side */
};

/* Places are typed as offsets or as tuned: the bounds stand in the same way. */
static struct bounds of_place(const struct view_state *state, const struct view_model *model,
                              double number)
{
  struct bounds bounds;
  const double moved = view_state_typed(state, model, number) - number;
  view_model_limits(model, state->view, &bounds.low, &bounds.high);
  bounds.low -= moved;
  bounds.high -= moved;
  bounds.sign = bounds.low < 0;
  return bounds;
}

static struct bounds of_span(const struct view_state *state, const struct view_model *model,
                             double number)
{
  (void)number;
  double low, high;
  view_model_limits(model, state->view, &low, &high);
  return (struct bounds){VIEW_LEAST_SPAN_HZ, high - low, false};
}

/* 0 lets it follow the span, and what is wider than that shows nothing. */
static struct bounds of_resolution(const struct view_state *state, const struct view_model *model,
                                   double number)
{
  (void)number;
  const struct view_range range = view_state_range(state, model);
  return (struct bounds){0, range.high_hz - range.low_hz, false};
}

static struct bounds of_top(const struct view_state *state, const struct view_model *model,
                            double number)
{
  (void)state, (void)model, (void)number;
  return (struct bounds){-VIEW_TOP_MOST_DB, VIEW_TOP_MOST_DB, false};
}

static struct bounds of_time(const struct view_state *state, const struct view_model *model,
                             double number)
{
  (void)state, (void)number;
  return (struct bounds){model->start_s, model->start_s + view_model_duration(model), false};
}

static const struct {
  void (*run)(struct view_state *state, const struct view_model *model, double number);
  struct bounds (*find)(const struct view_state *state, const struct view_model *model,
                        double number);
} table[] = {
    {view_act_go, of_place},       {view_act_centre, of_place}, {view_act_span, of_span},
    {view_act_rbw, of_resolution}, {view_act_jump, of_time},    {view_act_reference_level, of_top},
};

static struct view_number shown(const struct view_action *action, double value, bool sign)
{
  struct view_number out;
  if (action->ask == VIEW_ASK_TIME)
    return view_time(value, 0.01);
  if (action->ask != VIEW_ASK_LEVEL)
    return view_frequency(value, 1, sign);
  snprintf(out.text, sizeof out.text, "%g dB", value);
  return out;
}

bool view_bounds_admit(const struct view_action *action, struct view_state *state,
                       const struct view_model *model, double number, const char *text)
{
  size_t i = 0;
  while (i < sizeof table / sizeof *table && table[i].run != action->run)
    i++;
  if (i == sizeof table / sizeof *table)
    return true;
  const struct bounds bounds = table[i].find(state, model, number);
  if (number >= bounds.low && number <= bounds.high)
    return true;
  view_state_say(state, "'%.40s' is out of range: from %s to %s here.", text,
                 shown(action, bounds.low, bounds.sign).text,
                 shown(action, bounds.high, bounds.sign).text);
  return false;
}
