/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Places on a view's axis: measured lines, peaks of the trace, table positions, mirrors. */
#ifndef SIDECOMB_VIEW_FIND_H
#define SIDECOMB_VIEW_FIND_H

#include "view/model.h"

/* Index of the measured line nearest to `hz` and at most `within_hz` away; -1: none. */
ptrdiff_t view_find_line(const struct view_model *model, enum view_id view, double hz,
                         double within_hz);

/* Index of the strongest line at most `within_hz` away; -1: none. */
ptrdiff_t view_find_strongest(const struct view_model *model, enum view_id view, double hz,
                              double within_hz);

/* Peaks are the measured lines of the view that the trace shows, where there are some between
 * `low_hz` and `high_hz`, otherwise what stands out of the trace. The functions return NAN for
 * none. */
struct view_range {
  double low_hz, high_hz;
};
/* The peak beyond `hz`, upwards (direction 1) or downwards (-1). */
double view_find_next(const struct view_model *model, enum view_id view, struct view_range range,
                      double hz, int direction);
double view_find_highest(const struct view_model *model, enum view_id view,
                         struct view_range range);

/* The standard position beyond `hz` (on air: on both sides of the carrier). */
double view_find_table(const struct view_model *model, enum view_id view, double hz, int direction);
/* The same distance on the other side: of the carrier on air, of 38 kHz on the composite, of
 * which the stereo difference's side bands are mirror images. NAN where nothing is mirrored. */
double view_find_mirror(const struct view_model *model, enum view_id view, double hz);

/* Level of the trace at a frequency on the view's scale: the nearest point. NAN: no trace. */
double view_trace_level(const struct view_model *model, enum view_id view, double hz);
/* That of a line which the trace shows there: the top of its lobe. NAN: outside. */
double view_trace_top(const struct view_model *model, enum view_id view, double hz);

#endif
