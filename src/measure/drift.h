/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* How surely a mean moves, by the means of equal stretches. */
#ifndef SIDECOMB_MEASURE_DRIFT_H
#define SIDECOMB_MEASURE_DRIFT_H

#include <stdbool.h>
#include <stddef.h>

struct measure_drift {
  bool known;  /* there were stretches enough */
  double rate; /* in the means' unit, per second */
  double uncertainty;
  bool sure; /* chance makes a rate as high as this once in 1e5 records, and the means rise alike */
};

/* Slope of the line that fits two equally spaced means or more best, per second. */
double measure_slope_of(const double *means, size_t count, double step_s);
/* `rate`: of the whole record, with the variance that noise alone gives it. The uncertainty comes
 * from the noise, and from what the means scatter beyond it about a line of their own, which
 * modulation and a rate that changes enlarge, taken as if its power went with 1 / f. */
struct measure_drift measure_drift_of(const double *means, size_t count, double stretch_s,
                                      double rate, double variance);

#endif
