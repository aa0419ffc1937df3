/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The sample formats of sound cards that are read, best first. */
#ifndef SIDECOMB_CAPTURE_SOUND_FORMAT_H
#define SIDECOMB_CAPTURE_SOUND_FORMAT_H

#include <alsa/asoundlib.h>

#include <sidecomb/capture.h>

#include "capture/types.h"

struct capture_sound_format {
  snd_pcm_format_t alsa;
  enum sc_sound_format format;
  const char *name; /* as --sound-format takes it */
  unsigned bytes;   /* of one sample */
  unsigned bits;    /* 0 for floats */
  capture_decode *decode;
};

/* Ends with an entry whose name is NULL. One format may stand there in several layouts. */
extern const struct capture_sound_format capture_sound_formats[];

#endif
