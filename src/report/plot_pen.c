/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The pen through cairo. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <cairo-pdf.h>
#include <cairo-svg.h>
#include <cairo.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "common/text.h"
#include "report/plot_pen.h"

enum { TEXT_BYTES = 1100 };
static const double dots_per_inch = 200;

struct plot_pen {
  cairo_t *cr;
};

static void set_ink(cairo_t *cr, enum plot_ink ink)
{
  static const double inks[][3] = {[PLOT_INK] = {0, 0, 0},
                                   [PLOT_INK_QUIET] = {0.35, 0.35, 0.35},
                                   [PLOT_INK_RULE] = {0.8, 0.8, 0.8},
                                   [PLOT_INK_TRACE] = {0.05, 0.2, 0.45},
                                   [PLOT_INK_EXPECTED] = {0.75, 0.4, 0},
                                   [PLOT_INK_OTHER] = {0.6, 0.3, 0.3},
                                   [PLOT_INK_EXTREMES] = {0.6, 0.6, 0.6}};
  cairo_set_source_rgb(cr, inks[ink][0], inks[ink][1], inks[ink][2]);
}

/* ---- text */

void plot_pen_type(struct plot_pen *pen, double size, bool bold, enum plot_ink ink)
{
  cairo_select_font_face(pen->cr, "sans-serif", CAIRO_FONT_SLANT_NORMAL,
                         bold ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
  cairo_set_font_size(pen->cr, size);
  set_ink(pen->cr, ink);
}

double plot_pen_measure(void *context, const char *text)
{
  const struct plot_pen *pen = context;
  char clean[TEXT_BYTES];
  cairo_text_extents_t extents;
  common_clean(clean, sizeof clean, text, strlen(text));
  cairo_text_extents(pen->cr, clean, &extents);
  return extents.x_advance;
}

void plot_pen_put(struct plot_pen *pen, double x, double y, const char *text)
{
  char clean[TEXT_BYTES];
  common_clean(clean, sizeof clean, text, strlen(text));
  cairo_move_to(pen->cr, x, y);
  cairo_show_text(pen->cr, clean);
  cairo_new_path(pen->cr);
}

void plot_pen_put_right(struct plot_pen *pen, double x, double y, const char *text)
{
  plot_pen_put(pen, x - plot_pen_measure(pen, text), y, text);
}

void plot_pen_put_upright(struct plot_pen *pen, double x, double y, const char *text)
{
  cairo_save(pen->cr);
  cairo_translate(pen->cr, x, y);
  cairo_rotate(pen->cr, -acos(0));
  plot_pen_put(pen, 0, 0, text);
  cairo_restore(pen->cr);
}

void plot_pen_cut(struct plot_pen *pen, double width, const char *text, char *part, size_t size)
{
  size_t bytes = common_clean(part, size, text, strlen(text));
  while (bytes > 0 && plot_pen_measure(pen, part) > width) {
    do
      bytes--;
    while (bytes > 0 && ((unsigned char)part[bytes] & 0xC0) == 0x80);
    snprintf(part + bytes, size - bytes, "…");
  }
}

/* ---- lines */

void plot_pen_line(struct plot_pen *pen, enum plot_ink ink, double width, enum plot_dash dash)
{
  static const double dashes[][2] = {
      [PLOT_DASHED] = {6, 3}, [PLOT_SHORT_DASHES] = {3, 1.5}, [PLOT_DOTTED] = {1.5, 1.5}};
  set_ink(pen->cr, ink);
  cairo_set_line_width(pen->cr, width);
  cairo_set_line_join(pen->cr, CAIRO_LINE_JOIN_ROUND);
  cairo_set_dash(pen->cr, dashes[dash], dash == PLOT_SOLID ? 0 : 2, 0);
}

void plot_pen_move(struct plot_pen *pen, double x, double y)
{
  cairo_move_to(pen->cr, x, y);
}

void plot_pen_to(struct plot_pen *pen, double x, double y)
{
  cairo_line_to(pen->cr, x, y);
}

void plot_pen_stroke(struct plot_pen *pen)
{
  cairo_stroke(pen->cr);
}

void plot_pen_fill(struct plot_pen *pen)
{
  cairo_fill(pen->cr);
}

void plot_pen_box(struct plot_pen *pen, double left, double top, double right, double below)
{
  cairo_rectangle(pen->cr, left, top, right - left, below - top);
}

void plot_pen_keep(struct plot_pen *pen, double left, double top, double right, double below)
{
  cairo_save(pen->cr);
  plot_pen_box(pen, left, top, right, below);
  cairo_clip(pen->cr);
}

void plot_pen_let_go(struct plot_pen *pen)
{
  cairo_restore(pen->cr);
}

/* ---- pages */

static cairo_status_t take(void *context, const unsigned char *data, unsigned int length)
{
  struct plot_bytes *out = context;
  if (out->used + length > out->room) {
    size_t room = (out->used + length) * 2;
    unsigned char *grown = realloc(out->bytes, room);
    if (grown == NULL)
      return CAIRO_STATUS_NO_MEMORY;
    out->bytes = grown;
    out->room = room;
  }
  memcpy(out->bytes + out->used, data, length);
  out->used += length;
  return CAIRO_STATUS_SUCCESS;
}

static enum sc_error error_of(cairo_status_t status)
{
  if (status == CAIRO_STATUS_SUCCESS)
    return SC_OK;
  return status == CAIRO_STATUS_NO_MEMORY ? SC_NO_MEMORY : SC_UNSUPPORTED;
}

void plot_pen_try(void (*draw)(void *context, struct plot_pen *pen), void *context)
{
  cairo_surface_t *nowhere = cairo_recording_surface_create(CAIRO_CONTENT_COLOR_ALPHA, NULL);
  struct plot_pen pen = {cairo_create(nowhere)};
  draw(context, &pen);
  cairo_destroy(pen.cr);
  cairo_surface_destroy(nowhere);
}

static cairo_surface_t *open_surface(enum sc_plot_format format, double width, double height,
                                     struct plot_bytes *out)
{
  const double scale = dots_per_inch / 72;
  if (format == SC_PLOT_SVG)
    return cairo_svg_surface_create_for_stream(take, out, width, height);
  if (format == SC_PLOT_PDF)
    return cairo_pdf_surface_create_for_stream(take, out, width, height);
  return cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int)ceil(width * scale),
                                    (int)ceil(height * scale));
}

enum sc_error plot_pen_page(enum sc_plot_format format, double width, double height,
                            void (*draw)(void *context, struct plot_pen *pen), void *context,
                            struct plot_bytes *out)
{
  cairo_surface_t *surface = open_surface(format, width, height, out);
  struct plot_pen pen = {cairo_create(surface)};
  if (format == SC_PLOT_PNG)
    cairo_scale(pen.cr, dots_per_inch / 72, dots_per_inch / 72);
  cairo_set_source_rgb(pen.cr, 1, 1, 1);
  cairo_paint(pen.cr);
  draw(context, &pen);
  cairo_status_t status = cairo_status(pen.cr);
  cairo_destroy(pen.cr);
  if (status == CAIRO_STATUS_SUCCESS && format == SC_PLOT_PNG)
    status = cairo_surface_write_to_png_stream(surface, take, out);
  cairo_surface_finish(surface);
  if (status == CAIRO_STATUS_SUCCESS)
    status = cairo_surface_status(surface);
  cairo_surface_destroy(surface);
  return error_of(status);
}
