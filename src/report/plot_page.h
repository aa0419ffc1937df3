/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A page of a plot and how far the drawing has come. */
#ifndef SIDECOMB_REPORT_PLOT_PAGE_H
#define SIDECOMB_REPORT_PLOT_PAGE_H

#include <stddef.h>

#include <sidecomb/plot.h>

#include "report/plot_layout.h"
#include "report/plot_pen.h"

/* What a page holds, ready to be drawn. */
struct plot_page {
  const struct sc_plot *plot;
  struct sc_sight_scale scale;
  struct plot_axis across, up; /* frequencies and levels */
  struct plot_row *rows;       /* room for SC_LISTED_MAX; filled when the height is known */
  size_t count, within;        /* rows, and lines in the span */
  double height;               /* that the drawing took */
};

struct plot_sheet {
  struct plot_pen *pen;
  struct plot_page *page;
  double y;                       /* where the next line of text begins */
  double left, top, right, below; /* of the frame */
};
extern const double plot_page_width, plot_margin;

/* The frame with all that is in and above it, from sheet->y on. */
void plot_draw_frame(struct plot_sheet *sheet);

enum sc_error plot_draw_page(struct plot_page *page, enum sc_plot_format format,
                             struct plot_bytes *out);

#endif
