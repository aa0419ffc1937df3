/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Round numbers along an axis, and where they stand. */
#ifndef SIDECOMB_VIEW_AXIS_H
#define SIDECOMB_VIEW_AXIS_H

#include "view/format.h"

/* 1, 2 or 5 times a power of ten, the smallest that divides `range` into at most `most` parts. */
double view_round_step(double range, int most);

struct view_axis {
  double low, high; /* values at the two edges */
  double step;      /* between round numbers; 0: no room for any */
  double unit;      /* labels are value / unit */
  const char *unit_name;
  int decimals;
};

/* An axis of frequencies, `columns` wide. */
struct view_axis view_axis_frequency(double low_hz, double high_hz, int columns, bool sign);
/* First round number at or above the low edge. */
double view_axis_first(const struct view_axis *axis);
struct view_number view_axis_label(const struct view_axis *axis, double value, bool sign);
/* Position of a value as share of the axis: 0 at the low edge, 1 at the high edge. */
double view_axis_share(const struct view_axis *axis, double value);

#endif
