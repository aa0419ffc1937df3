/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A measured trace as the extent that it has in each column of a plot. */
#ifndef SIDECOMB_VIEW_CURVE_H
#define SIDECOMB_VIEW_CURVE_H

#include <sidecomb/spectrum.h>

#include "common/curve.h"
#include "view/find.h"

/* common_curve for the part of the axis that is shown. */
static inline void view_curve(const struct sc_trace *trace, const float *power,
                              struct view_range range, double offset_db, int columns, float *low,
                              float *high)
{
  common_curve(trace, power, range.low_hz, range.high_hz, offset_db, columns, low, high);
}

#endif
