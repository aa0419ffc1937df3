/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A spectrum on paper: trace, axes, the lines with number, name and leader, and a table of them.
 *
 * One page as wide as A4 is, legible at A5 and in grey. The numbers of the table are those of the
 * report, in the same digits; a level in the trace is that of a tone (see spectrum.h). All text of
 * the capture is cleaned before it is drawn.
 *
 * Cost: a few milliseconds; a bitmap takes 16 MB while it is made. Nothing is written: the caller
 * gets bytes. */
#ifndef SIDECOMB_PLOT_H
#define SIDECOMB_PLOT_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/api.h>
#include <sidecomb/capture.h>
#include <sidecomb/error.h>
#include <sidecomb/mask.h>
#include <sidecomb/result.h>
#include <sidecomb/sight.h>
#include <sidecomb/spectrum.h>

enum sc_plot_format { SC_PLOT_SVG, SC_PLOT_PNG, SC_PLOT_PDF };
/* By the ending of a file's name. False: it is none of .svg, .png and .pdf. */
SC_API bool sc_plot_format(const char *path, enum sc_plot_format *format);

enum { SC_PLOT_MARKERS_MAX = 10, SC_PLOT_READING_LENGTH = 640 };
struct sc_plot_marker {
  char name[40];
  double hz; /* in the trace's frequencies */
  char reading[SC_PLOT_READING_LENGTH];
};

/* A second capture's trace beside the first. */
struct sc_plot_other {
  const char *name;
  const struct sc_trace *trace;
  double shift_hz;  /* what is to be added to a frequency of the first to have the second's */
  double offset_db; /* of its own scale, in the same unit */
};

struct sc_plot {
  enum sc_sight_of of;
  const struct sc_source_info *info;
  const struct sc_result *result; /* NULL: none yet; then there is no table */
  double full_scale_khz;          /* of a captured composite; 0: unknown */
  const struct sc_trace *trace;
  const struct sc_trace *expected;   /* what the composite makes; NULL: not drawn */
  const struct sc_plot_other *other; /* NULL: not drawn */
  double low_hz, high_hz;            /* ends of the axis, in the trace's frequencies */
  double origin_hz;                  /* what the axis counts from */
  bool absolute;                     /* it counts tuned frequencies, not offsets */
  double from_s, to_s;               /* the passage, from the capture's start */
  double carried_s;               /* of it, with the carrier, which alone the trace is of; 0: all */
  double top_db, bottom_db;       /* on the scale of sc_sight_scale; NAN: by the trace */
  const struct sc_mask *mask;     /* NULL: none; the trace is in its resolution */
  bool highest;                   /* draw max_hold instead of the mean */
  bool show_highest, show_lowest; /* also the extremes of single records */
  size_t rows;                    /* lines in the table; 0: as many as the page holds */
  const struct sc_plot_marker *markers;
  size_t marker_count; /* at most SC_PLOT_MARKERS_MAX */
};

/* Allocates *bytes, which the caller frees with free(); NULL on failure. SC_UNSUPPORTED: the trace
 * holds nothing of the span. */
SC_API SC_MUST_USE enum sc_error sc_plot_make(const struct sc_plot *plot,
                                              enum sc_plot_format format, unsigned char **bytes,
                                              size_t *size, struct sc_message *message);

/* The trace of the span as CSV: comments that say how it was made, names of the columns with their
 * units, a row for each point, and in it what is expected and the second capture where they are
 * drawn. The caller frees *text; NULL after SC_NO_MEMORY. */
SC_API SC_MUST_USE enum sc_error sc_plot_csv(const struct sc_plot *plot, char **text);

#endif
