/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Labels above peaks: none hides a peak, a leader or another label. */
#ifndef SIDECOMB_VIEW_LABELS_H
#define SIDECOMB_VIEW_LABELS_H

#include <stdbool.h>
#include <stddef.h>

/* One wanted label: `column` of its peak and the `row` that the peak reaches, both within the
 * plot. On return of view_labels_place, where it stands. */
struct view_label {
  int column, row;
  int width; /* columns of its text */
  int rank;  /* the lowest is placed first */
  const char *text;
  int style;
  bool placed;
  int x, y; /* of its first character */
};

/* Places what fits on a plot of `width` by `height` cells whose trace reaches up to
 * tops[column]. A leader runs from below the label to the peak. `labels` is sorted by rank.
 * False: memory is short, nothing is placed. */
bool view_labels_place(struct view_label *labels, size_t count, int width, int height,
                       const int *tops);

#endif
