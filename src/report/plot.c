/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A plot as the bytes of a file. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "report/plot_page.h"

bool sc_plot_format(const char *path, enum sc_plot_format *format)
{
  static const char *const endings[] = {
      [SC_PLOT_SVG] = ".svg", [SC_PLOT_PNG] = ".png", [SC_PLOT_PDF] = ".pdf"};
  size_t length = strlen(path);
  for (size_t i = 0; i < sizeof endings / sizeof endings[0]; i++) {
    size_t tail = strlen(endings[i]);
    if (length <= tail || strcmp(path + length - tail, endings[i]) != 0)
      continue;
    *format = (enum sc_plot_format)i;
    return true;
  }
  return false;
}

static bool reaches(const struct sc_trace *trace, double low_hz, double high_hz)
{
  double last_hz = trace->start_hz + ((double)trace->points - 1) * trace->step_hz;
  return trace->points > 1 && trace->start_hz < high_hz && last_hz > low_hz && low_hz < high_hz;
}

/* About so many labels fit below the axis. */
enum { TICKS_MOST = 10 };

enum sc_error sc_plot_make(const struct sc_plot *plot, enum sc_plot_format format,
                           unsigned char **bytes, size_t *size, struct sc_message *message)
{
  *bytes = NULL;
  *size = 0;
  if (!reaches(plot->trace, plot->low_hz, plot->high_hz))
    return sc_fail(message, SC_UNSUPPORTED, "%s: nothing was measured in the span of the plot",
                   plot->info->name);
  struct plot_page page = {
      .plot = plot,
      .scale = sc_sight_scale(plot->of, plot->info->kind, plot->full_scale_khz, plot->result),
      .across = plot_frequency_axis(plot->low_hz - plot->origin_hz, plot->high_hz - plot->origin_hz,
                                    TICKS_MOST, plot->of == SC_SIGHT_AIR && !plot->absolute)};
  page.up = plot_level_axis(plot, page.scale);
  page.rows = calloc(SC_LISTED_MAX, sizeof *page.rows);
  struct plot_bytes out = {0};
  enum sc_error error = page.rows == NULL ? SC_NO_MEMORY : plot_draw_page(&page, format, &out);
  free(page.rows);
  if (error != SC_OK) {
    free(out.bytes);
    return sc_fail(message, error, "the plot cannot be drawn: %s", sc_error_text(error));
  }
  *bytes = out.bytes;
  *size = out.used;
  return SC_OK;
}
