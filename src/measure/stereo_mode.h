/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What kind of composite it is: stereo, mono, silent, or a difference without pilot. */
#ifndef SIDECOMB_MEASURE_STEREO_MODE_H
#define SIDECOMB_MEASURE_STEREO_MODE_H

#include "measure/stereo_powers.h"

/* Sets mode and evidence. */
void stereo_judge_mode(const struct sc_stereo_meter *meter, const struct sc_stereo_context *context,
                       const struct stereo_powers *powers, struct sc_stereo *result);

#endif
