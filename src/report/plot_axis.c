/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Axes with round numbers. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "common/curve.h"
#include "common/number.h"
#include "report/plot_layout.h"

enum { FLOOR_COLUMNS = 256 };
/* The floor is where a quarter of the columns lie below; so much room is left under it. */
static const double floor_share = 0.25, under_floor_db = 8, over_peak_db = 1, range_most_db = 130,
                    range_least_db = 40;

static int decimals_of(double step)
{
  int decimals = (int)ceil(-log10(step) - 1e-9);
  return decimals < 0 ? 0 : decimals;
}

struct plot_axis plot_frequency_axis(double low_hz, double high_hz, int most, bool sign)
{
  double largest = fmax(fabs(low_hz), fabs(high_hz));
  bool mega = largest >= 2e6, kilo = !mega && largest >= 2e3;
  struct plot_axis axis = {.low = low_hz,
                           .high = high_hz,
                           .step = common_round_step(high_hz - low_hz, most),
                           .unit = mega   ? 1e6
                                   : kilo ? 1e3
                                          : 1,
                           .unit_name = mega   ? "MHz"
                                        : kilo ? "kHz"
                                               : "Hz",
                           .sign = sign};
  axis.decimals = decimals_of(axis.step / axis.unit);
  return axis;
}

static int ascending(const void *a, const void *b)
{
  float left = *(const float *)a, right = *(const float *)b;
  return (left > right) - (left < right);
}

static void extremes(const struct sc_plot *plot, double offset_db, double *top, double *bottom)
{
  float low[FLOOR_COLUMNS], high[FLOOR_COLUMNS];
  const float *power = plot->highest ? plot->trace->max_hold : plot->trace->mean;
  int count = 0;
  common_curve(plot->trace, power, plot->low_hz, plot->high_hz, offset_db, FLOOR_COLUMNS, low,
               high);
  *top = -INFINITY;
  for (int c = 0; c < FLOOR_COLUMNS; c++) {
    if (isnan(low[c]))
      continue;
    *top = fmax(*top, high[c]);
    low[count++] = low[c];
  }
  qsort(low, (size_t)count, sizeof *low, ascending);
  *bottom = count > 0 ? low[(int)(floor_share * count)] : *top;
}

struct plot_axis plot_level_axis(const struct sc_plot *plot, struct sc_sight_scale scale)
{
  double top, bottom;
  extremes(plot, scale.offset_db, &top, &bottom);
  if (plot->mask != NULL)
    top = fmax(top, 0);
  top = 10 * ceil((top + over_peak_db) / 10);
  bottom = 10 * floor((bottom - under_floor_db) / 10);
  bottom = fmin(fmax(bottom, top - range_most_db), top - range_least_db);
  if (isfinite(plot->top_db) && isfinite(plot->bottom_db) && plot->top_db > plot->bottom_db) {
    top = plot->top_db;
    bottom = plot->bottom_db;
  }
  struct plot_axis axis = {.low = bottom,
                           .high = top,
                           .step = common_round_step(top - bottom, 13),
                           .unit = 1,
                           .unit_name = scale.unit};
  axis.decimals = decimals_of(axis.step);
  return axis;
}

bool plot_tick(const struct plot_axis *axis, int k, double *value)
{
  *value = (ceil(axis->low / axis->step - 1e-9) + k) * axis->step;
  return *value <= axis->high + 1e-9 * axis->step;
}

void plot_tick_label(const struct plot_axis *axis, double value, char text[PLOT_TICK_LENGTH])
{
  if (fabs(value) < 1e-6 * axis->step)
    snprintf(text, PLOT_TICK_LENGTH, "0");
  else
    snprintf(text, PLOT_TICK_LENGTH, "%s",
             common_number(value / axis->unit, axis->decimals, axis->sign).text);
}
