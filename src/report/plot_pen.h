/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A pen on a page of points, 1/72 inch: the only place that knows the drawing library. */
#ifndef SIDECOMB_REPORT_PLOT_PEN_H
#define SIDECOMB_REPORT_PLOT_PEN_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/plot.h>

/* Dark enough to stay apart in grey; nothing is told by colour alone. */
enum plot_ink {
  PLOT_INK,
  PLOT_INK_QUIET,
  PLOT_INK_RULE,
  PLOT_INK_TRACE,
  PLOT_INK_EXPECTED,
  PLOT_INK_OTHER,
  PLOT_INK_EXTREMES
};
enum plot_dash { PLOT_SOLID, PLOT_DASHED, PLOT_SHORT_DASHES, PLOT_DOTTED };

struct plot_pen;

/* Text. Whatever it holds, it is clean when it is drawn. */
void plot_pen_type(struct plot_pen *pen, double size, bool bold, enum plot_ink ink);
/* `pen` is a struct plot_pen: a measure for plot_wrap. */
double plot_pen_measure(void *pen, const char *text);
void plot_pen_put(struct plot_pen *pen, double x, double y, const char *text);
void plot_pen_put_right(struct plot_pen *pen, double x, double y, const char *text);
/* Reads from below to above. */
void plot_pen_put_upright(struct plot_pen *pen, double x, double y, const char *text);
/* As much of the text as is `width` wide, into `part`, the cut marked by an ellipsis. */
void plot_pen_cut(struct plot_pen *pen, double width, const char *text, char *part, size_t size);

/* Lines: a path is begun by the first move and ended by stroke. */
void plot_pen_line(struct plot_pen *pen, enum plot_ink ink, double width, enum plot_dash dash);
void plot_pen_move(struct plot_pen *pen, double x, double y);
void plot_pen_to(struct plot_pen *pen, double x, double y);
void plot_pen_stroke(struct plot_pen *pen);
void plot_pen_fill(struct plot_pen *pen);
void plot_pen_box(struct plot_pen *pen, double left, double top, double right, double below);
/* Keeps what follows within the box, until it is let go. */
void plot_pen_keep(struct plot_pen *pen, double left, double top, double right, double below);
void plot_pen_let_go(struct plot_pen *pen);

/* Bytes of the finished file, grown by the drawing. */
struct plot_bytes {
  unsigned char *bytes;
  size_t used, room;
};
/* Draws a white page as a file. `draw` gets a pen and draws. SC_NO_MEMORY, or SC_UNSUPPORTED where
 * the drawing library fails otherwise. */
enum sc_error plot_pen_page(enum sc_plot_format format, double width, double height,
                            void (*draw)(void *context, struct plot_pen *pen), void *context,
                            struct plot_bytes *out);
/* Draws to nowhere, for measuring. */
void plot_pen_try(void (*draw)(void *context, struct plot_pen *pen), void *context);

#endif
