/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A sound card's input through ALSA. */
#ifndef SIDECOMB_CAPTURE_SOUND_H
#define SIDECOMB_CAPTURE_SOUND_H

#include <sidecomb/devices.h>

#include "capture/container.h"

/* Opens what options->sound, sound_format, sound_channels and rate_hz name. Without ALSA in this
 * build: SC_UNSUPPORTED. */
enum sc_error capture_sound_open(const struct sc_source_options *options, struct capture **capture,
                                 struct sc_message *message);
/* Adds the sound cards to the list. Without ALSA there are none. */
enum sc_error capture_sound_find(struct sc_devices *devices);

#endif
