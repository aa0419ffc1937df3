/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The account: what is seen, in a sentence, and a row for each line with its cause. */
#ifndef SIDECOMB_VIEW_ACCOUNT_H
#define SIDECOMB_VIEW_ACCOUNT_H

#include "view/grid.h"
#include "view/state.h"

/* Fills order[] (SC_LISTED_MAX) with the indices of the view's lines as the rows show them;
 * returns how many. */
size_t view_account_order(const struct view_state *state, const struct view_model *model,
                          size_t *order);
/* The line in the row above (-1) or below (1) the active marker's; -1: no lines. */
ptrdiff_t view_account_step(const struct view_state *state, const struct view_model *model,
                            int direction);
/* The next line in the rows, after the active marker's, that is not explained; -1: none. */
ptrdiff_t view_account_open(const struct view_state *state, const struct view_model *model);

void view_account_sentence(struct view_grid *grid, struct view_box box,
                           const struct view_state *state, const struct view_model *model);
void view_account_rows(struct view_grid *grid, struct view_box box, const struct view_state *state,
                       const struct view_model *model);

#endif
