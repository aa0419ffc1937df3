/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Order statistics of a short array. */
#ifndef SIDECOMB_DSP_SELECT_H
#define SIDECOMB_DSP_SELECT_H

#include <stddef.h>

/* The value that `rank` others do not exceed (0: the smallest); rearranges the array. */
float dsp_select(float *values, size_t count, size_t rank);

#endif
