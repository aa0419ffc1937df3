/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Deviation over time and its distribution, beside the 75 kHz of the standards. */
#ifndef SIDECOMB_VIEW_DEVIATION_H
#define SIDECOMB_VIEW_DEVIATION_H

#include "view/grid.h"
#include "view/state.h"

/* The sentence that leads. */
void view_deviation_sentence(const struct view_state *state, const struct view_model *model,
                             char *out, size_t size);
/* Rows, peaks over time, and the distribution; on a low screen the distribution alone when
 * state->sheet_first has passed the rows. */
void view_deviation(struct view_grid *grid, struct view_box box, const struct view_state *state,
                    const struct view_model *model);

/* The last row that stands first. */
int view_deviation_last(struct view_box box, bool ascii, const struct view_model *model);

#endif
