/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Drawing finer than a cell: dots (Braille, 2 by 4 in a cell), bars (eighths of a cell), or
 * plain characters (4 heights in a cell). */
#ifndef SIDECOMB_VIEW_RASTER_H
#define SIDECOMB_VIEW_RASTER_H

#include "view/grid.h"
#include "view/state.h"

/* Where a trace is drawn and which levels its edges are. */
struct view_canvas {
  struct view_box box;
  double top, bottom; /* level at the upper edge of the box and at the lower one */
  enum view_glyphs glyphs;
};

/* Columns that a curve for this canvas needs: see view_curve. */
int view_raster_columns(const struct view_canvas *canvas);
/* Draws a curve; cells that it touches take its style, and dots join those already there. */
void view_raster(struct view_grid *grid, const struct view_canvas *canvas, enum view_style style,
                 const float *low, const float *high);
/* First row of the box, counted from its top, that the curve touches in each cell column;
 * the box's height where it touches none. */
void view_raster_tops(const struct view_canvas *canvas, const float *high, int *tops);
/* Row of a level, counted from the top of the box; may lie outside. */
int view_raster_row(const struct view_canvas *canvas, double level);

#endif
