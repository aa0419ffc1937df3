/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Commands: every action by its name, an argument after it. "span 2k", "view composite",
 * "marker B", "go pilot". A name may be cut short as long as it stays the only one. */
#ifndef SIDECOMB_VIEW_COMMAND_H
#define SIDECOMB_VIEW_COMMAND_H

#include "view/state.h"

enum { VIEW_MATCHES_MAX = 96 };

/* Fills matches[] (VIEW_MATCHES_MAX) with the words that can complete the input line's last one;
 * *typed is set to where that begins in the text. Returns how many. */
size_t view_command_matches(const struct view_state *state, const struct view_model *model,
                            const char **matches, const char **typed);
/* Extends the input line's text as far as all matches agree. */
void view_command_complete(struct view_state *state, const struct view_model *model);
void view_command_run(struct view_state *state, const struct view_model *model, const char *text);

#endif
