/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Stereo in rows: levels, separation, phase, order, and what stands at 38 kHz. */
#ifndef SIDECOMB_VIEW_STEREO_H
#define SIDECOMB_VIEW_STEREO_H

#include "view/grid.h"
#include "view/state.h"

/* The sentence that leads. */
void view_stereo_sentence(const struct view_state *state, const struct view_model *model, char *out,
                          size_t size);
void view_stereo(struct view_grid *grid, struct view_box box, const struct view_state *state,
                 const struct view_model *model);

/* The last row that stands first. */
int view_stereo_last(struct view_box box, bool ascii, const struct view_model *model);

#endif
