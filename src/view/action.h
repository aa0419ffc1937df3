/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What keys do. One table holds key, name, help and function; the help screen and the man
 * page are printed from it. An action leads from a state to the next one. */
#ifndef SIDECOMB_VIEW_ACTION_H
#define SIDECOMB_VIEW_ACTION_H

#include "view/key.h"
#include "view/state.h"

enum view_group {
  VIEW_GROUP_VIEWS,
  VIEW_GROUP_MARKERS,
  VIEW_GROUP_SPAN,
  VIEW_GROUP_LEVEL,
  VIEW_GROUP_SPECTRUM,
  VIEW_GROUP_TIME,
  VIEW_GROUP_FILES,
  VIEW_GROUP_PROGRAM,
  VIEW_GROUP_COUNT
};

/* What an action asks for before it runs. */
enum view_ask {
  VIEW_ASK_NOTHING,
  VIEW_ASK_FREQUENCY,
  VIEW_ASK_PLACE, /* a frequency, or the key of a standard position */
  VIEW_ASK_TIME,
  VIEW_ASK_LEVEL,
  VIEW_ASK_TEXT,
  VIEW_ASK_FILE
};

struct view_action {
  const char *name; /* "next-peak" */
  enum view_group group;
  int keys[2];      /* 0: none */
  int range;        /* so many keys follow on from keys[0]; 0 and 1: only itself */
  const char *help; /* what it does, in the imperative, no full stop */
  enum view_ask ask;
  const char *question; /* what the input line asks */
  /* NULL: always. Whether it does something here. */
  bool (*applies)(const struct view_state *state, const struct view_model *model);
  /* `number`: `argument` of the table, the key's place in its range, or what was typed. */
  void (*run)(struct view_state *state, const struct view_model *model, double number);
  double argument;
  void (*run_text)(struct view_state *state, const char *text); /* of text and file, then no run */
};

/* Number of actions; *actions is the table, by group. */
size_t view_actions(const struct view_action **actions);
const char *view_group_name(enum view_group group);
/* Keys of an action as the help shows them: "A to J", "n", "+ or =". */
struct view_number view_action_keys(const struct view_action *action);
/* Keys of the views that this capture has: "1 2 4-7". */
struct view_number view_action_views(const struct view_state *state,
                                     const struct view_model *model);
bool view_action_applies(const struct view_action *action, const struct view_state *state,
                         const struct view_model *model);

/* Says why an action that does not apply was not run; `what`: how the user calls it. */
void view_action_refuse(const struct view_action *action, struct view_state *state,
                        const char *what);

/* Runs an action that asks, with what was typed for it. False: the text does not suit, and
 * the state says so. */
bool view_action_answer(const struct view_action *action, struct view_state *state,
                        const struct view_model *model, const char *text);
/* Runs an action without an answer; `place` counts within its range of keys. */
void view_action_run(const struct view_action *action, struct view_state *state,
                     const struct view_model *model, int place);

/* Takes a key: runs an action, edits the input line, or moves the page. */
void view_key(struct view_state *state, const struct view_model *model, int key);

#endif
