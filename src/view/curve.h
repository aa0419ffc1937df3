/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A measured trace as the extent that it has in each column of a plot. */
#ifndef SIDECOMB_VIEW_CURVE_H
#define SIDECOMB_VIEW_CURVE_H

#include <sidecomb/spectrum.h>

#include "view/find.h"

/* Fills low[] and high[] (`columns` each) with the lowest and highest level of
 * `power` within each column of the range, in dB plus `offset_db`; between points that stand
 * wider than columns it goes straight. NAN where the trace has nothing. */
void view_curve(const struct sc_trace *trace, const float *power, struct view_range range,
                double offset_db, int columns, float *low, float *high);

#endif
