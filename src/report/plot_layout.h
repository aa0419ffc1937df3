/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What stands where and says what in a plot; no drawing. */
#ifndef SIDECOMB_REPORT_PLOT_LAYOUT_H
#define SIDECOMB_REPORT_PLOT_LAYOUT_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/plot.h>

/* ---- axes */

enum { PLOT_TICK_LENGTH = 24 };
struct plot_axis {
  double low, high, step; /* values at the ends, and between round numbers */
  double unit;            /* labels are value / unit */
  const char *unit_name;
  int decimals;
  bool sign;
};
/* At most so many steps. */
struct plot_axis plot_frequency_axis(double low_hz, double high_hz, int most, bool sign);
/* Levels about the trace: its highest point and its floor within, unless the plot says. */
struct plot_axis plot_level_axis(const struct sc_plot *plot, struct sc_sight_scale scale);
/* The k-th round number, false when it lies beyond the high end. */
bool plot_tick(const struct plot_axis *axis, int k, double *value);
void plot_tick_label(const struct plot_axis *axis, double value, char text[PLOT_TICK_LENGTH]);
static inline double plot_share(const struct plot_axis *axis, double value)
{
  return (value - axis->low) / (axis->high - axis->low);
}

/* ---- the table */

enum { PLOT_CELL_LENGTH = 96 };
/* Columns of the table; the cause follows them. */
enum plot_column {
  PLOT_NAME,
  PLOT_PLACE, /* offset or frequency */
  PLOT_LEVEL,
  PLOT_DEVIATION, /* empty where it is not known */
  PLOT_VERDICT,
  PLOT_COLUMNS
};
struct plot_row {
  const struct sc_line *line;
  double hz, level_db; /* of the peak, on the plot's axes */
  bool open;           /* residual, spurious or unknown */
  char cells[PLOT_COLUMNS][PLOT_CELL_LENGTH];
};
/* What the columns hold, with units; empty: the column is not used. */
void plot_headings(const struct sc_plot *plot, struct sc_sight_scale scale,
                   char headings[PLOT_COLUMNS][PLOT_CELL_LENGTH]);
/* Fills rows[] (`most`) by frequency: those that nothing explains, up to half of the rows and more
 * where there are no others; then lines that are the strongest within a fortieth of the span to
 * either side, then the rest; each by level. Returns how many; *within: lines in the span. */
size_t plot_rows(const struct sc_plot *plot, struct sc_sight_scale scale, size_t most,
                 struct plot_row *rows, size_t *within);

/* ---- labels above the plot */

struct plot_tag {
  double at;        /* of its peak */
  double width;     /* of the tag, with what keeps it from its neighbours */
  double x;         /* its middle, as placed */
  const char *text; /* carried along */
};
/* Places tags, which are sorted by `at`, between low and high: none overlaps another, their order
 * stays, and the sum of squares of the distances from their peaks is least (so leaders do not
 * cross). False: they are too wide together, nothing is placed. */
bool plot_tags_spread(struct plot_tag *tags, size_t count, double low, double high);

/* ---- words */

enum { PLOT_TEXT_LENGTH = 1024 };
void plot_title(const struct sc_plot *plot, char text[PLOT_TEXT_LENGTH]);
void plot_subtitle(const struct sc_plot *plot, char text[PLOT_TEXT_LENGTH]);
/* How the trace was made. */
void plot_making(const struct sc_plot *plot, char text[PLOT_TEXT_LENGTH]);
/* What the mask says; empty without one. */
void plot_mask_words(const struct sc_plot *plot, char text[PLOT_TEXT_LENGTH]);
/* What the axis of levels shows. */
void plot_level_words(const struct sc_plot *plot, struct sc_sight_scale scale,
                      char text[PLOT_TEXT_LENGTH]);

/* A line's cause, with its name before it unless that is in it. */
void plot_cause_words(const struct sc_line *line, bool with_name, char text[PLOT_TEXT_LENGTH]);

/* The bytes of `text` that go on the next line, at most `width` wide; *skip: and what follows them
 * before the line after. Words are parted only where one alone is wider. 0 at the end. */
size_t plot_wrap(const char *text, double width, double (*measure)(void *context, const char *text),
                 void *context, size_t *skip);

#endif
