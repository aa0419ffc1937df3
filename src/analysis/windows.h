/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A trace in windows of 2 kHz, each by its median, which single lines do not move. */
#ifndef SIDECOMB_ANALYSIS_WINDOWS_H
#define SIDECOMB_ANALYSIS_WINDOWS_H

#include <stddef.h>

#include <sidecomb/spectrum.h>

/* Points of a window; the trace may be shorter. */
size_t analysis_window_bins(const struct sc_trace *trace);
/* count <= what analysis_window_bins returned. */
double analysis_window_median(const float *power, size_t count);

#endif
