/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What stands in the place of the spectrum and its account: its sentence and its contents. */
#ifndef SIDECOMB_VIEW_SHEET_H
#define SIDECOMB_VIEW_SHEET_H

#include "view/grid.h"
#include "view/layout.h"
#include "view/state.h"

/* Its word in commands and hints: "data". */
const char *view_sheet_word(enum view_sheet sheet);
/* The sentence that leads, in the box of the account's. */
void view_sheet_sentence(struct view_grid *grid, struct view_box box,
                         const struct view_state *state, const struct view_model *model);
/* The layout with as many lines for the sentence as it takes. */
struct view_layout view_sheet_layout(int width, int height, const struct view_state *state,
                                     const struct view_model *model);
/* From row state->sheet_first on, where rows do not fit. */
void view_sheet(struct view_grid *grid, struct view_box box, const struct view_state *state,
                const struct view_model *model);
/* The last row that stands first in the box; 0 where nothing is scrolled. */
int view_sheet_last(struct view_box box, const struct view_state *state,
                    const struct view_model *model);

#endif
