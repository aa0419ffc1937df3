/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Extremes over time in a bounded number of moments, which grow longer with the record. */
#ifndef SIDECOMB_MEASURE_MOMENTS_H
#define SIDECOMB_MEASURE_MOMENTS_H

#include <stddef.h>

#include "measure/extremes.h"

enum { MEASURE_MOMENTS = 512 }; /* even */

/* Zero-initialise. */
struct measure_moments {
  struct measure_extremes at[MEASURE_MOMENTS];
  size_t count;                  /* complete ones */
  size_t each;                   /* intervals in a moment; 0: none came yet */
  struct measure_extremes begun; /* the one after them */
  size_t filled;                 /* intervals in it */
};

/* Adds an interval. Once the moments are used up, two and two become one. */
void measure_moments_add(struct measure_moments *moments, const struct measure_extremes *interval);

#endif
