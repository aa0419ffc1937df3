/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The plot: traces, round numbers, markers and labelled peaks. */
#ifndef SIDECOMB_VIEW_PLOT_H
#define SIDECOMB_VIEW_PLOT_H

#include "view/grid.h"
#include "view/state.h"

/* Draws the shown span of the state's view into the box. */
void view_plot(struct view_grid *grid, struct view_box box, const struct view_state *state,
               const struct view_model *model);
/* The part of the box in which traces are drawn. */
struct view_box view_plot_area(struct view_box box);
/* Frequency at the middle of a column of that part. */
double view_plot_frequency(struct view_range range, int columns, int column);

#endif
