/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The spectrum against time: frequency across, time downwards, levels as shades. */
#ifndef SIDECOMB_VIEW_PICTURE_H
#define SIDECOMB_VIEW_PICTURE_H

#include "view/grid.h"
#include "view/state.h"

void view_picture_sentence(const struct view_state *state, const struct view_model *model,
                           char *out, size_t size);
void view_picture(struct view_grid *grid, struct view_box box, const struct view_state *state,
                  const struct view_model *model);

#endif
