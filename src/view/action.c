/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The table of actions, and keys looked up in it. */
#include <stdio.h>
#include <string.h>

#include "view/act.h"
#include "view/action.h"
#include "view/prompt.h"

static bool can_seek(const struct view_state *state, const struct view_model *model)
{
  (void)state;
  return !model->info->live && model->info->frames > 0;
}

static bool is_tuned(const struct view_state *state, const struct view_model *model)
{
  return state->view == VIEW_AIR && model->info->centre_hz > 0;
}

/* The table holds positions on the composite; on air they stand on both sides of the carrier. */
static bool has_table(const struct view_state *state, const struct view_model *model)
{
  (void)model;
  return state->view != VIEW_AUDIO;
}

static bool has_views(const struct view_state *state, const struct view_model *model)
{
  (void)state;
  return model->info->kind == SC_KIND_IQ;
}

static bool marker_is_on(const struct view_state *state, const struct view_model *model)
{
  (void)model;
  const struct view_pane *pane = view_state_shown(state);
  return pane->markers[pane->active].on;
}

static bool has_rows(const struct view_state *state, const struct view_model *model)
{
  return view_model_lines(model, state->view)->count > 0;
}

#define VIEWS VIEW_GROUP_VIEWS
#define MARKERS VIEW_GROUP_MARKERS
#define SPAN VIEW_GROUP_SPAN
#define LEVEL VIEW_GROUP_LEVEL
#define SPECTRUM VIEW_GROUP_SPECTRUM
#define TIME VIEW_GROUP_TIME
#define PROGRAM VIEW_GROUP_PROGRAM
#define NO_QUESTION VIEW_ASK_NOTHING, NULL

/* clang-format off */
/* name, group, keys, range, help, ask, question, applies, run, argument */
static const struct view_action actions[] = {
  {"view", VIEWS, {'1'}, VIEW_COUNT, "show on air, composite, audio",
   NO_QUESTION, has_views, view_act_view, 0},
  {"next-view", VIEWS, {'v'}, 1, "show the next view",
   NO_QUESTION, has_views, view_act_next_view, 0},
  {"tuned", VIEWS, {'z'}, 1, "frequencies as tuned, or as offsets from the carrier",
   NO_QUESTION, is_tuned, view_act_absolute, 0},
  {"rows", VIEWS, {'i'}, 1, "sort the account's rows another way",
   NO_QUESTION, has_rows, view_act_order, 0},

  {"marker", MARKERS, {'A'}, VIEW_MARKERS, "set a marker, or take the one that is set",
   NO_QUESTION, NULL, view_act_marker, 0},
  {"next-marker", MARKERS, {VIEW_KEY_TAB}, 1, "take the next marker",
   NO_QUESTION, NULL, view_act_cycle, 1},
  {"left", MARKERS, {VIEW_KEY_LEFT}, 1, "move the marker one step down",
   NO_QUESTION, NULL, view_act_columns, -1},
  {"right", MARKERS, {VIEW_KEY_RIGHT}, 1, "move the marker one step up",
   NO_QUESTION, NULL, view_act_columns, 1},
  {"far-left", MARKERS, {VIEW_KEY_SHIFT_LEFT, '{'}, 1, "move the marker twenty steps down",
   NO_QUESTION, NULL, view_act_columns, -20},
  {"far-right", MARKERS, {VIEW_KEY_SHIFT_RIGHT, '}'}, 1, "move the marker twenty steps up",
   NO_QUESTION, NULL, view_act_columns, 20},
  {"next-peak", MARKERS, {'n'}, 1, "to the next peak above",
   NO_QUESTION, NULL, view_act_peak, 1},
  {"previous-peak", MARKERS, {'p'}, 1, "to the next peak below",
   NO_QUESTION, NULL, view_act_peak, -1},
  {"highest", MARKERS, {'h'}, 1, "to the highest peak shown",
   NO_QUESTION, NULL, view_act_highest, 0},
  {"next-standard", MARKERS, {'t'}, 1, "to the next standard position above",
   NO_QUESTION, has_table, view_act_table, 1},
  {"previous-standard", MARKERS, {'T'}, 1, "to the next standard position below",
   NO_QUESTION, has_table, view_act_table, -1},
  {"mirror", MARKERS, {'m'}, 1, "to the mirrored place",
   NO_QUESTION, has_table, view_act_mirror, 0},
  {"row-up", MARKERS, {VIEW_KEY_UP}, 1, "to the line in the row above",
   NO_QUESTION, has_rows, view_act_row, -1},
  {"row-down", MARKERS, {VIEW_KEY_DOWN}, 1, "to the line in the row below",
   NO_QUESTION, has_rows, view_act_row, 1},
  {"open", MARKERS, {'o'}, 1, "to the next line that is not explained",
   NO_QUESTION, has_rows, view_act_open, 0},
  {"go", MARKERS, {'g'}, 1, "to a frequency",
   VIEW_ASK_FREQUENCY, "Marker to (as in 19k): ", NULL, view_act_go, 0},
  {"reference", MARKERS, {'d'}, 1, "read differences against this marker, or stop it",
   NO_QUESTION, marker_is_on, view_act_reference, 0},
  {"remove", MARKERS, {'x', VIEW_KEY_DELETE}, 1, "remove the marker",
   NO_QUESTION, marker_is_on, view_act_remove, 0},

  {"zoom-in", SPAN, {'+', '='}, 1, "narrower span about the marker",
   NO_QUESTION, NULL, view_act_zoom, 1},
  {"zoom-out", SPAN, {'-'}, 1, "wider span",
   NO_QUESTION, NULL, view_act_zoom, -1},
  {"shift-down", SPAN, {'('}, 1, "shift the span down",
   NO_QUESTION, NULL, view_act_shift, -0.25},
  {"shift-up", SPAN, {')'}, 1, "shift the span up",
   NO_QUESTION, NULL, view_act_shift, 0.25},
  {"to-centre", SPAN, {'c'}, 1, "centre on the marker",
   NO_QUESTION, NULL, view_act_to_centre, 0},
  {"centre", SPAN, {'f'}, 1, "type the centre",
   VIEW_ASK_FREQUENCY, "Centre (as in 19k): ", NULL, view_act_centre, 0},
  {"span", SPAN, {'s'}, 1, "type the span",
   VIEW_ASK_FREQUENCY, "Span (as in 2k): ", NULL, view_act_span, 0},
  {"fit", SPAN, {VIEW_KEY_HOME, '0'}, 1, "the span that fits the signal",
   NO_QUESTION, NULL, view_act_fit, 0},
  {"whole", SPAN, {VIEW_KEY_END, '9'}, 1, "all that the capture holds",
   NO_QUESTION, NULL, view_act_whole, 0},
  {"back", SPAN, {'['}, 1, "back to the span before",
   NO_QUESTION, NULL, view_act_history, -1},
  {"forward", SPAN, {']'}, 1, "forward again",
   NO_QUESTION, NULL, view_act_history, 1},

  {"raise", LEVEL, {VIEW_KEY_PAGE_UP}, 1, "raise the level at the top by a division",
   NO_QUESTION, NULL, view_act_top, 1},
  {"lower", LEVEL, {VIEW_KEY_PAGE_DOWN}, 1, "lower the level at the top by a division",
   NO_QUESTION, NULL, view_act_top, -1},
  {"top", LEVEL, {'r'}, 1, "type the level at the top",
   VIEW_ASK_LEVEL, "Level at the top, in dB: ", NULL, view_act_reference_level, 0},
  {"finer", LEVEL, {'y'}, 1, "fewer decibels in a division",
   NO_QUESTION, NULL, view_act_division, 1},
  {"coarser", LEVEL, {'Y'}, 1, "more decibels in a division",
   NO_QUESTION, NULL, view_act_division, -1},
  {"follow", LEVEL, {'a'}, 1, "let the levels follow the trace again",
   NO_QUESTION, NULL, view_act_follow, 0},

  {"resolution", SPECTRUM, {'b'}, 1, "type the resolution bandwidth",
   VIEW_ASK_FREQUENCY, "Resolution bandwidth (0 follows the span): ", NULL, view_act_rbw, 0},
  {"next-window", SPECTRUM, {'w'}, 1, "the next window function",
   NO_QUESTION, NULL, view_act_window, 1},
  {"previous-window", SPECTRUM, {'W'}, 1, "the window function before",
   NO_QUESTION, NULL, view_act_window, -1},
  {"hold", SPECTRUM, {'k'}, 1, "keep the highest, both extremes, or neither",
   NO_QUESTION, NULL, view_act_hold, 0},
  {"strokes", SPECTRUM, {'u'}, 1, "draw with dots, bars, or plain characters",
   NO_QUESTION, NULL, view_act_glyphs, 0},
  {"longer", SPECTRUM, {'l'}, 1, "average over a longer passage",
   NO_QUESTION, NULL, view_act_length, 1},
  {"shorter", SPECTRUM, {'L'}, 1, "average over a shorter passage",
   NO_QUESTION, NULL, view_act_length, -1},

  {"play", TIME, {VIEW_KEY_SPACE}, 1, "play, or pause",
   NO_QUESTION, NULL, view_act_play, 0},
  {"later", TIME, {'.'}, 1, "step to the passage after this one",
   NO_QUESTION, can_seek, view_act_step, 1},
  {"earlier", TIME, {','}, 1, "step to the passage before this one",
   NO_QUESTION, can_seek, view_act_step, -1},
  {"jump", TIME, {'j'}, 1, "jump to a time",
   VIEW_ASK_TIME, "Jump to (as in 2.5 or 1:30): ", can_seek, view_act_jump, 0},
  {"faster", TIME, {'>'}, 1, "play faster",
   NO_QUESTION, can_seek, view_act_speed, 1},
  {"slower", TIME, {'<'}, 1, "play slower",
   NO_QUESTION, can_seek, view_act_speed, -1},

  {"help", PROGRAM, {'?'}, 1, "show the keys that work here",
   NO_QUESTION, NULL, view_act_help, 0},
  {"quit", PROGRAM, {'q'}, 1, "leave",
   NO_QUESTION, NULL, view_act_quit, 0},
};
/* clang-format on */

size_t view_actions(const struct view_action **table)
{
  *table = actions;
  return sizeof actions / sizeof *actions;
}

const char *view_group_name(enum view_group group)
{
  static const char *const names[VIEW_GROUP_COUNT] = {"Views",    "Markers", "Span",   "Level",
                                                      "Spectrum", "Time",    "Program"};
  return names[group];
}

struct view_number view_action_keys(const struct view_action *action)
{
  struct view_number out, first = view_key_name(action->keys[0]);
  if (action->range > 1)
    snprintf(out.text, sizeof out.text, "%.20s to %.20s", first.text,
             view_key_name(action->keys[0] + action->range - 1).text);
  else if (action->keys[1] != 0)
    snprintf(out.text, sizeof out.text, "%.20s or %.20s", first.text,
             view_key_name(action->keys[1]).text);
  else
    out = first;
  return out;
}

bool view_action_applies(const struct view_action *action, const struct view_state *state,
                         const struct view_model *model)
{
  return action->applies == NULL || action->applies(state, model);
}

static const struct view_action *find(int key)
{
  for (size_t i = 0; i < sizeof actions / sizeof *actions; i++) {
    int range = actions[i].range > 1 ? actions[i].range : 1;
    if (key >= actions[i].keys[0] && key < actions[i].keys[0] + range)
      return &actions[i];
    if (actions[i].keys[1] != 0 && key == actions[i].keys[1])
      return &actions[i];
  }
  return NULL;
}

static void run(struct view_state *state, const struct view_model *model,
                const struct view_action *action, int key)
{
  if (action->ask != VIEW_ASK_NOTHING)
    state->prompt = (struct view_prompt){.action = action};
  else if (action->range > 1)
    action->run(state, model, key - action->keys[0]);
  else
    action->run(state, model, action->argument);
}

/* Any key but those that scroll closes the help. */
static void help_key(struct view_state *state, int key)
{
  int by = key == VIEW_KEY_DOWN        ? 1
           : key == VIEW_KEY_UP        ? -1
           : key == VIEW_KEY_PAGE_DOWN ? 10
           : key == VIEW_KEY_PAGE_UP   ? -10
                                       : 0;
  if (by == 0)
    state->help = false;
  state->help_first = state->help_first + by < 0 ? 0 : state->help_first + by;
}

void view_key(struct view_state *state, const struct view_model *model, int key)
{
  state->message[0] = 0;
  if (state->help) {
    help_key(state, key);
    return;
  }
  if (state->prompt.action != NULL) {
    view_prompt_key(state, model, key);
    return;
  }
  const struct view_action *action = find(key);
  if (action == NULL) {
    if (key != VIEW_KEY_ESCAPE && key != VIEW_KEY_ENTER && key != VIEW_KEY_NONE)
      view_state_say(state, "This key does nothing here: ? shows those that do.");
    return;
  }
  if (view_action_applies(action, state, model))
    run(state, model, action, key);
  else
    view_state_say(state, "Not here: '%s' does not apply to this capture or view.", action->help);
}
