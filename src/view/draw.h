/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The whole screen, from state and model. */
#ifndef SIDECOMB_VIEW_DRAW_H
#define SIDECOMB_VIEW_DRAW_H

#include "view/grid.h"
#include "view/state.h"

/* Draws all of the grid. */
void view_draw(struct view_grid *grid, const struct view_state *state,
               const struct view_model *model);

#endif
