/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Where in the capture the passage lies, the section that is played, and how far the survey is. */
#ifndef SIDECOMB_VIEW_TIMEBAR_H
#define SIDECOMB_VIEW_TIMEBAR_H

#include "view/grid.h"
#include "view/model.h"
#include "view/state.h"

/* One row; nothing where the capture's length is not known. */
void view_time_bar(struct view_grid *grid, struct view_box box, const struct view_state *state,
                   const struct view_model *model);

#endif
