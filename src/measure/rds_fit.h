/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A straight line through points that come one by one. */
#ifndef SIDECOMB_MEASURE_RDS_FIT_H
#define SIDECOMB_MEASURE_RDS_FIT_H

struct measure_rds_fit {
  double n, x, y, xx, xy, yy; /* sums, from the first point */
  double x0, y0;
};

void measure_rds_fit_add(struct measure_rds_fit *fit, double x, double y);
/* Needs three points; the uncertainty follows from what the line leaves. */
void measure_rds_fit_slope(const struct measure_rds_fit *fit, double *slope, double *uncertainty);

#endif
