/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The walk of the phase between two equal tones. */
#ifndef SIDECOMB_MEASURE_AUDIO_WALK_H
#define SIDECOMB_MEASURE_AUDIO_WALK_H

#include <stddef.h>

#include "measure/audio_parts.h"

/* `samples`: two floats a frame, from `from_s` of the part on; `hz` as it is recorded, `clock`
 * seconds of the recording per second of the sequence. */
void audio_walk_fit(const float *samples, size_t frames, double rate_hz, double hz, double clock,
                    double from_s, struct audio_walk *walk);

#endif
