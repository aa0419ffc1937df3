/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Least squares of a line, as sums. */
#include "measure/rds_fit.h"

#include <math.h>

void measure_rds_fit_add(struct measure_rds_fit *fit, double x, double y)
{
  if (fit->n == 0.0) {
    fit->x0 = x;
    fit->y0 = y;
  }
  const double dx = x - fit->x0, dy = y - fit->y0;
  fit->n += 1.0;
  fit->x += dx;
  fit->y += dy;
  fit->xx += dx * dx;
  fit->xy += dx * dy;
  fit->yy += dy * dy;
}

void measure_rds_fit_slope(const struct measure_rds_fit *fit, double *slope, double *uncertainty)
{
  const double sxx = fit->xx - fit->x * fit->x / fit->n;
  const double sxy = fit->xy - fit->x * fit->y / fit->n;
  const double syy = fit->yy - fit->y * fit->y / fit->n;
  *slope = sxy / sxx;
  const double rest = fmax(0.0, syy - *slope * sxy) / (fit->n - 2.0);
  *uncertainty = sqrt(rest / sxx);
}
