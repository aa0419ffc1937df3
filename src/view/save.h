/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Writes files that the user asked for: the shown trace, the report, a plot. */
#ifndef SIDECOMB_VIEW_SAVE_H
#define SIDECOMB_VIEW_SAVE_H

#include "view/state.h"

/* Does the errand that waits, if one does: writes the file whole or not at all and says so, or
 * asks first where the file is there already. */
void view_save(struct view_state *state, const struct view_model *model);

#endif
