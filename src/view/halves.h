/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Two views at once: where each stands on the screen, and what it shows. */
#ifndef SIDECOMB_VIEW_HALVES_H
#define SIDECOMB_VIEW_HALVES_H

#include "view/grid.h"
#include "view/state.h"

/* Whether two are shown on a screen so wide. */
bool view_halves_shown(const struct view_state *state, int width);
/* The part of the screen that a side takes: 0 left, 1 right; all of it where one is shown. */
struct view_box view_halves_box(const struct view_state *state, int side, int width, int height);
/* Draws both; `other` is the model of the side that the keys do not act on. `scratch` is only
 * used meanwhile and keeps its memory. */
void view_halves_draw(struct view_grid *grid, struct view_grid *scratch, struct view_state *state,
                      const struct view_model *model, const struct view_model *other);

/* Whether what stands on a side is a spectrum, or is made of spectra. */
bool view_halves_reads(enum view_sheet sheet);
/* The model of a side that the first engine does not serve: with a spectrum of its own, or (NULL,
 * live) with the first's where that is the same, else with the reason why there is none. */
struct view_model view_halves_model(const struct view_state *state, const struct view_model *first,
                                    const struct view_spectrum *own);

#endif
