/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The values: everything that the survey of the capture measured, with its uncertainty. */
#ifndef SIDECOMB_VIEW_VALUES_H
#define SIDECOMB_VIEW_VALUES_H

#include "view/grid.h"
#include "view/model.h"
#include "view/state.h"

/* Fills the box with the values, from line state->page_first on. */
void view_values(struct view_grid *grid, struct view_box box, const struct view_state *state,
                 const struct view_model *model);
/* The last line that it begins with. */
int view_values_last(struct view_box box, const struct view_state *state,
                     const struct view_model *model);

#endif
