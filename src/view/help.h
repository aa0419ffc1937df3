/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The help: keys that work right here. */
#ifndef SIDECOMB_VIEW_HELP_H
#define SIDECOMB_VIEW_HELP_H

#include "view/grid.h"
#include "view/state.h"

/* Fills the box with the help, from line state->page_first on. */
void view_help(struct view_grid *grid, struct view_box box, const struct view_state *state,
               const struct view_model *model);

/* The last line that it begins with. */
int view_help_last(struct view_box box, const struct view_state *state,
                   const struct view_model *model);

#endif
