/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* In place of the sound cards where this was built without ALSA. */
#include <config.h>

#include "capture/sound.h"

enum sc_error capture_sound_open(const struct sc_source_options *options, struct capture **capture,
                                 struct sc_message *message)
{
  (void)options;
  (void)capture;
  return sc_fail(message, SC_UNSUPPORTED,
                 "--sound: this build knows no sound cards: build it where libasound is");
}

enum sc_error capture_sound_find(struct sc_devices *devices)
{
  (void)devices;
  return SC_OK;
}
