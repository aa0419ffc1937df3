/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Between which values a typed number has to be. What lies outside is refused, never replaced by
 * the nearest that would do: nothing changes, and the state says what may be written. */
#ifndef SIDECOMB_VIEW_BOUNDS_H
#define SIDECOMB_VIEW_BOUNDS_H

#include "view/action.h"

enum { VIEW_TOP_MOST_DB = 400 }; /* beyond any level that single precision holds */

/* `text` is what was typed for `number`. False: it is outside. */
bool view_bounds_admit(const struct view_action *action, struct view_state *state,
                       const struct view_model *model, double number, const char *text);

#endif
