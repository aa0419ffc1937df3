/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Medians of windows of a trace. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <stdlib.h>

#include "analysis/windows.h"

enum { WINDOW_BINS_MAX = 512, WINDOW_BINS_LEAST = 9 };

static const double window_hz = 2e3;

static int by_power(const void *a, const void *b)
{
  float x = *(const float *)a, y = *(const float *)b;
  return (x > y) - (x < y);
}

double analysis_window_median(const float *power, size_t count)
{
  float sorted[WINDOW_BINS_MAX];
  for (size_t i = 0; i < count; i++)
    sorted[i] = power[i];
  qsort(sorted, count, sizeof *sorted, by_power);
  return (double)sorted[count / 2];
}

size_t analysis_window_bins(const struct sc_trace *trace)
{
  double bins = window_hz / trace->step_hz;
  return bins < WINDOW_BINS_LEAST ? WINDOW_BINS_LEAST
         : bins > WINDOW_BINS_MAX ? WINDOW_BINS_MAX
                                  : (size_t)bins;
}
