/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What single steady tones tell of the two channels: separation and phase between them. */
#ifndef SIDECOMB_MEASURE_STEREO_TONES_H
#define SIDECOMB_MEASURE_STEREO_TONES_H

#include "measure/stereo_sums.h"

/* Of the strongest tones that stand in one channel, and in both. */
void stereo_state_tones(const struct sc_stereo_meter *meter, struct sc_stereo *result);

#endif
