/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Typing a number, and what to say when it is none. */
#include <string.h>

#include "view/action.h"
#include "view/prompt.h"

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
  default:
    *example = "19k, 38000 or 100.1M";
    return view_parse_frequency(text, number);
  }
}

static void finish(struct view_state *state, const struct view_model *model)
{
  const struct view_action *action = state->prompt.action;
  double number;
  const char *example;
  if (state->prompt.text[0] == 0) {
    state->prompt.action = NULL;
  } else if (parse(action, state->prompt.text, &number, &example)) {
    state->prompt.action = NULL;
    action->run(state, model, number);
  } else {
    view_state_say(state, "'%s' is no such number: write for example %s.", state->prompt.text,
                   example);
  }
}

void view_prompt_key(struct view_state *state, const struct view_model *model, int key)
{
  char *text = state->prompt.text;
  size_t length = strlen(text);
  if (key == VIEW_KEY_ESCAPE)
    state->prompt.action = NULL;
  else if (key == VIEW_KEY_ENTER)
    finish(state, model);
  else if (key == VIEW_KEY_BACKSPACE || key == VIEW_KEY_DELETE)
    text[length > 0 ? length - 1 : 0] = 0;
  else if (key >= ' ' && key < 127 && length + 1 < VIEW_PROMPT_LENGTH) {
    text[length] = (char)key;
    text[length + 1] = 0;
  }
}
