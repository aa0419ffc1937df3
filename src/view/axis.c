/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Axes with round numbers. */
#include <math.h>
#include <stdio.h>

#include "common/curve.h"
#include "common/number.h"
#include "view/axis.h"

double view_round_step(double range, int most)
{
  return common_round_step(range, most);
}

static void choose_unit(struct view_axis *axis)
{
  double most = fmax(fabs(axis->low), fabs(axis->high));
  bool mega = most >= 2e6, kilo = !mega && most >= 1e3;
  axis->unit = mega ? 1e6 : kilo ? 1e3 : 1;
  axis->unit_name = mega ? "MHz" : kilo ? "kHz" : "Hz";
}

static int step_decimals(const struct view_axis *axis)
{
  if (axis->step <= 0)
    return 0;
  int decimals = (int)ceil(-log10(axis->step / axis->unit) - 1e-9);
  return decimals < 0 ? 0 : decimals;
}

/* Columns that the widest label of the axis needs. */
static int label_columns(const struct view_axis *axis, bool sign)
{
  int widest = 0;
  const double ends[] = {axis->low, axis->high};
  for (int i = 0; i < 2; i++) {
    struct view_number label = view_axis_label(axis, ends[i], sign);
    int width = 0;
    while (label.text[width] != 0)
      width++;
    widest = width > widest ? width : widest;
  }
  return widest;
}

struct view_axis view_axis_frequency(double low_hz, double high_hz, int columns, bool sign)
{
  struct view_axis axis = {.low = low_hz, .high = high_hz};
  choose_unit(&axis);
  for (int most = columns / 4; most >= 1; most--) {
    axis.step = view_round_step(high_hz - low_hz, most);
    axis.decimals = step_decimals(&axis);
    double apart = axis.step / (high_hz - low_hz) * columns;
    if (label_columns(&axis, sign) + 2 <= apart)
      return axis;
  }
  axis.step = 0;
  return axis;
}

double view_axis_first(const struct view_axis *axis)
{
  return ceil(axis->low / axis->step - 1e-9) * axis->step;
}

struct view_number view_axis_label(const struct view_axis *axis, double value, bool sign)
{
  struct view_number out;
  if (fabs(value) < axis->step * 1e-6)
    snprintf(out.text, sizeof out.text, "0");
  else
    snprintf(out.text, sizeof out.text, "%s",
             common_number(value / axis->unit, axis->decimals, sign).text);
  return out;
}

double view_axis_share(const struct view_axis *axis, double value)
{
  return (value - axis->low) / (axis->high - axis->low);
}
