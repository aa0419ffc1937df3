/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What the measured composite makes on air, drawn over the measured trace as a chain of rings, and
 * under the plot's axis what the air has more or less than that. */
#ifndef SIDECOMB_VIEW_OVERLAY_H
#define SIDECOMB_VIEW_OVERLAY_H

#include "view/grid.h"
#include "view/raster.h"
#include "view/state.h"

/* Asked for, and there is something to draw. */
bool view_overlay_is_on(const struct view_state *state, const struct view_model *model);
/* Rows that the difference takes of a plot so high. */
int view_overlay_rows(int height);
void view_overlay_rings(struct view_grid *grid, const struct view_canvas *canvas,
                        struct view_range range, double offset_db, const struct view_model *model);
/* What is drawn below a plot: dB at the points of a trace, and what is compared, in five letters. */
struct view_difference {
  const struct sc_trace *trace;
  const float *db;
  const char *name;
};
/* A curve in dB where the box has three rows or more, else a row of signs: = within 3 dB, + and -
 * beyond, # where there is 10 dB more. */
void view_overlay_difference(struct view_grid *grid, struct view_box box, enum view_glyphs glyphs,
                             struct view_range range, const struct view_difference *difference);
/* At one frequency, in dB; NAN: not known there. */
double view_difference_at(const struct view_difference *difference, double hz);
/* At one frequency, in dB; NAN: not known there. */
double view_overlay_at(const struct view_model *model, double hz);

#endif
