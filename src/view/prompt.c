/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Editing one line. It is edited at its end only, as it is short. */
#include <stdio.h>
#include <string.h>

#include "view/action.h"
#include "view/command.h"
#include "view/prompt.h"
#include "view/text.h"

/* Control and U: what a terminal's own lines take for it. */
enum { CLEAR_KEY = 'U' & 0x1F };

const char *view_prompt_question(const struct view_state *state)
{
  if (state->prompt.confirm)
    return state->prompt.text;
  return state->prompt.command ? ":" : state->prompt.action->question;
}

static void close_prompt(struct view_state *state)
{
  state->prompt.action = NULL;
  state->prompt.command = false;
}

static void remember(struct view_state *state, const char *text)
{
  struct view_history *history = &state->history;
  size_t newest = (history->count + VIEW_HISTORY - 1) % VIEW_HISTORY;
  if (history->count > 0 && strcmp(history->lines[newest], text) == 0)
    return;
  snprintf(history->lines[history->count % VIEW_HISTORY], VIEW_PROMPT_LENGTH, "%s", text);
  history->count++;
}

static void recall(struct view_state *state, int by)
{
  const struct view_history *history = &state->history;
  size_t most = history->count < VIEW_HISTORY ? history->count : VIEW_HISTORY;
  struct view_prompt *prompt = &state->prompt;
  if (!prompt->command || (by < 0 && prompt->back == 0) || (by > 0 && prompt->back == most))
    return;
  prompt->back = by > 0 ? prompt->back + 1 : prompt->back - 1;
  prompt->text[0] = 0;
  if (prompt->back > 0)
    memcpy(prompt->text, history->lines[(history->count - prompt->back) % VIEW_HISTORY],
           sizeof prompt->text);
}

static void finish(struct view_state *state, const struct view_model *model)
{
  struct view_prompt asked = state->prompt;
  if (asked.text[0] == 0) {
    close_prompt(state);
  } else if (asked.command) {
    close_prompt(state);
    remember(state, asked.text);
    view_command_run(state, model, asked.text);
  } else if (view_action_answer(asked.action, state, model, asked.text)) {
    close_prompt(state);
  }
}

static void add(char *text, int key)
{
  char bytes[VIEW_CHARACTER_BYTES];
  size_t length = strlen(text), more = view_text_encode((uint32_t)key, bytes);
  if (length + more < VIEW_PROMPT_LENGTH)
    memcpy(text + length, bytes, more + 1);
}

/* Takes the last character away, all its bytes. */
static void shorten(char *text)
{
  size_t length = strlen(text);
  while (length > 0 && ((unsigned char)text[length - 1] & 0xC0) == 0x80)
    length--;
  text[length > 0 ? length - 1 : 0] = 0;
}

void view_prompt_key(struct view_state *state, const struct view_model *model, int key)
{
  char *text = state->prompt.text;
  bool printable = (key >= ' ' && key < 127) || (key >= 0xA0 && key < VIEW_KEY_LEFT);
  if (key == CLEAR_KEY || (printable && state->prompt.offered))
    text[0] = 0;
  state->prompt.offered = false;
  if (key == VIEW_KEY_ESCAPE || (key == VIEW_KEY_BACKSPACE && text[0] == 0))
    close_prompt(state);
  else if (key == VIEW_KEY_ENTER)
    finish(state, model);
  else if (key == VIEW_KEY_TAB)
    view_command_complete(state, model);
  else if (key == VIEW_KEY_UP || key == VIEW_KEY_DOWN)
    recall(state, key == VIEW_KEY_UP ? 1 : -1);
  else if (key == VIEW_KEY_BACKSPACE || key == VIEW_KEY_DELETE)
    shorten(text);
  else if (printable)
    add(text, key);
}
