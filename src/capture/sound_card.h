/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What an input of a sound card can do, as ALSA says it. Functions that return int: negative is
 * one of ALSA's errors. */
#ifndef SIDECOMB_CAPTURE_SOUND_CARD_H
#define SIDECOMB_CAPTURE_SOUND_CARD_H

#include "capture/sound_format.h"

struct capture_sound_card {
  snd_pcm_t *pcm; /* NULL: not open */
  const struct capture_sound_format *format;
  unsigned bits; /* that are significant in the format; 0 for floats */
};

/* Common rates in ascending order; ends with 0. */
extern const unsigned capture_sound_rates[];

int capture_sound_card_open(struct capture_sound_card *card, const char *name);
void capture_sound_card_close(struct capture_sound_card *card);
/* Everything that it can do with interleaved samples and without a conversion of the rate. */
int capture_sound_card_ask(const struct capture_sound_card *card, snd_pcm_hw_params_t *params);
/* The best layout of the format asked for, set in `params`; NULL: there is none. */
const struct capture_sound_format *capture_sound_card_format(const struct capture_sound_card *card,
                                                             snd_pcm_hw_params_t *params,
                                                             enum sc_sound_format asked);
/* 192 kHz, or the nearest common rate below that it can do, or else its lowest. */
double capture_sound_card_rate(const struct capture_sound_card *card,
                               const snd_pcm_hw_params_t *params);
/* Two, or as near to that as it has. */
unsigned capture_sound_card_channels(const snd_pcm_hw_params_t *params);
/* Of parameters that were installed. */
unsigned capture_sound_card_bits(const struct capture_sound_card *card,
                                 const snd_pcm_hw_params_t *params);

#endif
