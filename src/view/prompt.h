/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The line in which something is typed. */
#ifndef SIDECOMB_VIEW_PROMPT_H
#define SIDECOMB_VIEW_PROMPT_H

#include "view/state.h"

static inline bool view_prompt_is_open(const struct view_state *state)
{
  return state->prompt.action != NULL || state->prompt.command || state->prompt.confirm;
}
/* What stands before the text. */
const char *view_prompt_question(const struct view_state *state);
/* Takes a key while it is open: edits, Tab completes, Up and Down go through the history of
 * commands, Enter runs, Escape ends. */
void view_prompt_key(struct view_state *state, const struct view_model *model, int key);

#endif
