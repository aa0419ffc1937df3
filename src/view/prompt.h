/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The line in which a number is typed. */
#ifndef SIDECOMB_VIEW_PROMPT_H
#define SIDECOMB_VIEW_PROMPT_H

#include "view/state.h"

/* Takes a key while state->prompt.action is set: edits, Enter runs the action, Escape ends. */
void view_prompt_key(struct view_state *state, const struct view_model *model, int key);

#endif
