/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A trace in windows of 2 kHz, each by its median, which single lines do not move. */
#ifndef SIDECOMB_ANALYSIS_WINDOWS_H
#define SIDECOMB_ANALYSIS_WINDOWS_H

#include <stddef.h>

#include <sidecomb/result.h>
#include <sidecomb/spectrum.h>

/* Points of a window; the trace may be shorter. */
size_t analysis_window_bins(const struct sc_trace *trace);
/* count <= what analysis_window_bins returned. */
double analysis_window_median(const float *power, size_t count);

/* Medians of what lines do not account for: where two or more are in one bin's reach their phases
 * may stand still from record to record, so that they add up to anything up to `surely`'s sum of
 * amplitudes; on the average to `likely`'s sum of powers. */
struct analysis_rest {
  double surely, likely;
};
struct analysis_rest analysis_window_rest(const struct sc_trace *trace, size_t first, size_t count,
                                          const struct sc_line_list *lines);

#endif
