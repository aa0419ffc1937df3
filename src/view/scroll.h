/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* How far pages and sheets are scrolled. */
#ifndef SIDECOMB_VIEW_SCROLL_H
#define SIDECOMB_VIEW_SCROLL_H

#include "view/model.h"
#include "view/state.h"

/* Moves the page that covers the screen, or else the sheet, by so many rows: not past its end, so
 * that the next key back is seen at once. */
void view_scroll(struct view_state *state, const struct view_model *model, int by);

#endif
