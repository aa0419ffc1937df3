/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Sum and sum of squares of a run of frames. */
#ifndef SIDECOMB_MEASURE_POWER_H
#define SIDECOMB_MEASURE_POWER_H

#include <stddef.h>

struct measure_power {
  double sum, squares;
};

struct measure_power measure_power_of(const float *x, size_t frames);

#endif
