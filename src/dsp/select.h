/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Order statistics of a short array. */
#ifndef SIDECOMB_DSP_SELECT_H
#define SIDECOMB_DSP_SELECT_H

#include <stddef.h>

/* The value that `rank` others do not exceed (0: the smallest). None of the values, fewer than
 * 2^32, may be negative or no number. */
float dsp_select(const float *values, size_t count, size_t rank);
/* The same, sooner where the value lies near `hint` (0: not known). */
float dsp_select_near(const float *values, size_t count, size_t rank, float hint);

#endif
