/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Keys looked up in the table of actions, and answers given to those that ask. */
#include <stdio.h>
#include <string.h>

#include <sidecomb/subcarriers.h>

#include "view/act.h"
#include "view/action.h"
#include "view/bounds.h"
#include "view/errand.h"
#include "view/prompt.h"
#include "view/scroll.h"
#include "view/wish.h"

const char *view_group_name(enum view_group group)
{
  static const char *const names[VIEW_GROUP_COUNT] = {"Views",    "Markers", "Span",  "Level",
                                                      "Spectrum", "Time",    "Files", "Program"};
  return names[group];
}

struct view_number view_action_keys(const struct view_action *action)
{
  struct view_number out, first = view_key_name(action->keys[0]);
  if (action->range > 1)
    snprintf(out.text, sizeof out.text, action->range > 2 ? "%.20s to %.20s" : "%.20s or %.20s",
             first.text, view_key_name(action->keys[0] + action->range - 1).text);
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
  const struct view_action *actions;
  size_t count = view_actions(&actions);
  for (size_t i = 0; i < count; i++) {
    int range = actions[i].range > 1 ? actions[i].range : 1;
    if (key >= actions[i].keys[0] && key < actions[i].keys[0] + range)
      return &actions[i];
    if (actions[i].keys[1] != 0 && key == actions[i].keys[1])
      return &actions[i];
  }
  return NULL;
}

void view_action_refuse(const struct view_action *action, struct view_state *state,
                        const char *what)
{
  if (action->run == view_act_two)
    view_state_say(state, "Two views need %d columns, and here are %d.", VIEW_TWO_COLUMNS,
                   state->screen_columns);
  else
    view_state_say(state, "Not here: '%s' does not apply to this capture or view.", what);
}

static bool shows_view(const struct view_action *action)
{
  return action != NULL && (action->run == view_act_view || action->run == view_act_sheet);
}

struct view_number view_action_views(const struct view_state *state, const struct view_model *model)
{
  struct view_number out = {""};
  int first = 0; /* of the row of keys that is under way */
  for (int key = '1'; key <= '9' + 1; key++) {
    const struct view_action *action = find(key);
    const bool is = shows_view(action) && view_action_applies(action, state, model);
    if (is && first == 0)
      first = key;
    if (is || first == 0)
      continue;
    const char *blank = out.text[0] != 0 ? " " : "";
    if (key - first > 2)
      view_append(out.text, sizeof out.text, "%s%c-%c", blank, first, key - 1);
    for (int k = first; k < key && key - first <= 2; k++)
      view_append(out.text, sizeof out.text, "%s%c", k > first ? " " : blank, k);
    first = 0;
  }
  return out;
}

void view_action_run(const struct view_action *action, struct view_state *state,
                     const struct view_model *model, int place)
{
  if (action->ask == VIEW_ASK_NOTHING) {
    action->run(state, model, action->range > 1 ? place : action->argument);
    return;
  }
  state->prompt = (struct view_prompt){.action = action};
  view_errand_suggest(state, model);
  if (action->ask == VIEW_ASK_FILE)
    snprintf(state->prompt.text, sizeof state->prompt.text, "%s", state->prompt.files[0]);
  else
    view_wish_present(state, action, state->prompt.text, sizeof state->prompt.text);
  state->prompt.offered = state->prompt.text[0] != 0;
}

static bool parse_place(const char *text, double *hz)
{
  size_t count;
  const struct sc_position *table = sc_subcarriers(&count);
  for (size_t i = 0; i < count; i++)
    if (strcmp(table[i].key, text) == 0) {
      *hz = table[i].position_hz;
      return true;
    }
  return view_parse_frequency(text, hz);
}

static bool parse(const struct view_action *action, const char *text, double *number,
                  const char **example)
{
  switch (action->ask) {
  case VIEW_ASK_TIME:
    *example = "2.5, 300 ms or 1:30";
    return view_parse_time(text, number);
  case VIEW_ASK_LEVEL:
    *example = "-20";
    return view_parse_level(text, number);
  case VIEW_ASK_PLACE:
    *example = "19k, 100.1M, pilot or rds";
    return parse_place(text, number);
  default:
    *example = "19k, 38000 or 100.1M";
    return view_parse_frequency(text, number);
  }
}

bool view_action_answer(const struct view_action *action, struct view_state *state,
                        const struct view_model *model, const char *text)
{
  double number;
  const char *example;
  if (action->ask == VIEW_ASK_TEXT || action->ask == VIEW_ASK_FILE)
    action->run_text(state, text);
  else if (!parse(action, text, &number, &example)) {
    view_state_say(state, "'%.60s' does not suit: write for example %s.", text, example);
    return false;
  } else if (!view_bounds_admit(action, state, model, number, text))
    return false;
  else
    action->run(state, model, number);
  return true;
}

enum { ALL_ROWS = 1000000 }; /* more than any page has */

/* Rows that a key scrolls by, where a page has so many. */
static int scrolled_by(int key, int page)
{
  return key == VIEW_KEY_DOWN         ? 1
         : key == VIEW_KEY_UP         ? -1
         : key == VIEW_KEY_PAGE_DOWN  ? page
         : key == VIEW_KEY_PAGE_UP    ? -page
         : key == VIEW_KEY_WHEEL_DOWN ? 3
         : key == VIEW_KEY_WHEEL_UP   ? -3
         : key == VIEW_KEY_HOME       ? -ALL_ROWS
         : key == VIEW_KEY_END        ? ALL_ROWS
                                      : 0;
}

/* One line of a page stays in sight. */
static int page_of(const struct view_state *state)
{
  return state->screen_rows > 3 ? state->screen_rows - 2 : 1;
}

/* Over time the keys move markers, as in the spectrum. */
static bool scrolls(const struct view_state *state)
{
  return state->sheet != VIEW_SHEET_NONE && state->sheet != VIEW_SHEET_COURSE;
}

/* Any key but those that scroll closes the page, and one that names a view or another page shows
 * that: from `covered`, the same page is only closed, and the view beneath stays. */
static void leave_cover(struct view_state *state, const struct view_model *model, int key)
{
  const enum view_cover covered = state->cover;
  const struct view_action *action = find(key);
  state->cover = VIEW_COVER_NONE;
  if (action == NULL || !view_action_applies(action, state, model))
    return;
  const bool page = action->run == view_act_cover && covered != (enum view_cover)action->argument;
  const bool sheet =
      action->run == view_act_sheet && state->sheet != (enum view_sheet)action->argument;
  if (page || sheet || action->run == view_act_view)
    view_action_run(action, state, model, key - action->keys[0]);
}

static void cover_key(struct view_state *state, const struct view_model *model, int key)
{
  const int by = scrolled_by(key, page_of(state));
  if (by == 0)
    leave_cover(state, model, key);
  else
    view_scroll(state, model, by);
}

/* What a sheet hides may change, but not without a word. */
static void tell_of_hidden(const struct view_action *action, struct view_state *state,
                           enum view_sheet sheet)
{
  const bool spectrum = action->group == VIEW_GROUP_MARKERS || action->group == VIEW_GROUP_SPAN ||
                        action->group == VIEW_GROUP_LEVEL || action->group == VIEW_GROUP_SPECTRUM;
  if (spectrum && action->ask == VIEW_ASK_NOTHING && sheet == state->sheet && scrolls(state) &&
      state->message[0] == 0)
    view_state_say(state, "That is done to the spectrum: Esc shows it.");
}

void view_key(struct view_state *state, const struct view_model *model, int key)
{
  state->message[0] = 0;
  if (state->cover != VIEW_COVER_NONE) {
    cover_key(state, model, key);
    return;
  }
  if (state->prompt.confirm) {
    view_errand_answer(state, key);
    return;
  }
  if (view_prompt_is_open(state)) {
    view_prompt_key(state, model, key);
    return;
  }
  const int by = scrolls(state) ? scrolled_by(key, page_of(state) / 2) : 0;
  if (by != 0) {
    view_scroll(state, model, by);
    return;
  }
  if (state->sheet != VIEW_SHEET_NONE && key == VIEW_KEY_ESCAPE) {
    state->sheet = VIEW_SHEET_NONE;
    return;
  }
  const struct view_action *action = find(key);
  if (action == NULL) {
    if (key != VIEW_KEY_ESCAPE && key != VIEW_KEY_ENTER && key != VIEW_KEY_NONE)
      view_state_say(state, "This key does nothing here: ? shows those that do.");
    return;
  }
  const enum view_sheet sheet = state->sheet;
  if (view_action_applies(action, state, model)) {
    view_action_run(action, state, model, key - action->keys[0]);
    tell_of_hidden(action, state, sheet);
  } else
    view_action_refuse(action, state, action->help);
}
