/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A second capture in the picture of the first: its trace, and what a marker reads of it. */
#ifndef SIDECOMB_VIEW_BESIDE_H
#define SIDECOMB_VIEW_BESIDE_H

#include <sidecomb/plot.h>

#include "view/overlay.h"

/* Asked for, and there is something to draw. */
bool view_beside_is_on(const struct view_state *state, const struct view_model *model);
/* Crosses where the second's trace reaches, but not in cells that hold the top of the first's,
 * whose rows are `tops`. */
void view_beside_trace(struct view_grid *grid, const struct view_canvas *canvas,
                       struct view_range range, const struct view_model *model, const int *tops);
/* The second's trace for paper; only where view_beside_is_on. */
struct sc_plot_other view_beside_paper(const struct view_model *model);
/* The difference to draw below; its `db` is NULL where there is none. */
struct view_difference view_beside_difference(const struct view_model *model);

/* Adds to a sentence of settings what the crosses are, or why there are none. */
void view_beside_settings(const struct view_state *state, const struct view_model *model,
                          bool brief, char *out, size_t size);
/* Adds to a marker's readout the second's level there, and the difference: of its measured line
 * where the first has one (`line`), else of its trace (NULL). `hz` is on the first's axis. */
void view_beside_marker(const struct view_state *state, const struct view_model *model, double hz,
                        const struct sc_line *line, char *out, size_t size);

#endif
