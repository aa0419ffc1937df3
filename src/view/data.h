/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What the data subcarrier says: a row for each field, and how sure it is. */
#ifndef SIDECOMB_VIEW_DATA_H
#define SIDECOMB_VIEW_DATA_H

#include "view/grid.h"
#include "view/model.h"
#include "view/state.h"

/* The sentence that leads. */
void view_data_sentence(const struct view_state *state, const struct view_model *model, char *out,
                        size_t size);
/* From row state->sheet_first on; where rows do not fit, the last line says how many. */
void view_data(struct view_grid *grid, struct view_box box, const struct view_state *state,
               const struct view_model *model);

/* The last row that stands first. */
int view_data_last(struct view_box box, bool ascii, const struct view_model *model);

#endif
