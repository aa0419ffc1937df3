/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#include <config.h>

#include "capture/sound_card.h"

#include <math.h>

static const unsigned usual_rate_hz = 192000;
const unsigned capture_sound_rates[] = {8000,  11025, 16000,  22050,  32000,  44100,  48000, 64000,
                                        88200, 96000, 176400, 192000, 352800, 384000, 0};

/* The library prints to standard error by itself, which would tear the viewer's screen. */
static void say_nothing(const char *file, int line, const char *function, int error,
                        const char *format, ...)
{
  (void)file;
  (void)line;
  (void)function;
  (void)error;
  (void)format;
}

int capture_sound_card_open(struct capture_sound_card *card, const char *name)
{
  (void)snd_lib_error_set_handler(say_nothing);
  int error = snd_pcm_open(&card->pcm, name, SND_PCM_STREAM_CAPTURE, SND_PCM_NONBLOCK);
  if (error < 0)
    card->pcm = NULL;
  return error;
}

void capture_sound_card_close(struct capture_sound_card *card)
{
  if (card->pcm != NULL)
    (void)snd_pcm_close(card->pcm);
  card->pcm = NULL;
}

int capture_sound_card_ask(const struct capture_sound_card *card, snd_pcm_hw_params_t *params)
{
  int error = snd_pcm_hw_params_any(card->pcm, params);
  if (error >= 0)
    error = snd_pcm_hw_params_set_rate_resample(card->pcm, params, 0);
  if (error >= 0)
    error = snd_pcm_hw_params_set_access(card->pcm, params, SND_PCM_ACCESS_RW_INTERLEAVED);
  return error;
}

const struct capture_sound_format *capture_sound_card_format(const struct capture_sound_card *card,
                                                             snd_pcm_hw_params_t *params,
                                                             enum sc_sound_format asked)
{
  for (const struct capture_sound_format *format = capture_sound_formats; format->name != NULL;
       format++) {
    if (asked != SC_SOUND_FORMAT_ANY && format->format != asked)
      continue;
    if (snd_pcm_hw_params_set_format(card->pcm, params, format->alsa) >= 0)
      return format;
  }
  return NULL;
}

double capture_sound_card_rate(const struct capture_sound_card *card,
                               const snd_pcm_hw_params_t *params)
{
  snd_pcm_hw_params_t *tried = (snd_pcm_hw_params_t *)params; /* only tested */
  unsigned found = 0, least = 0;
  for (const unsigned *rate = capture_sound_rates; *rate > 0 && *rate <= usual_rate_hz; rate++)
    if (snd_pcm_hw_params_test_rate(card->pcm, tried, *rate, 0) >= 0)
      found = *rate;
  (void)snd_pcm_hw_params_get_rate_min(params, &least, NULL);
  return found > 0 ? found : least;
}

unsigned capture_sound_card_channels(const snd_pcm_hw_params_t *params)
{
  unsigned least = 1, most = 1;
  (void)snd_pcm_hw_params_get_channels_min(params, &least);
  (void)snd_pcm_hw_params_get_channels_max(params, &most);
  return most < 2 ? most : least > 2 ? least : 2;
}

unsigned capture_sound_card_bits(const struct capture_sound_card *card,
                                 const snd_pcm_hw_params_t *params)
{
  int significant = snd_pcm_hw_params_get_sbits((snd_pcm_hw_params_t *)params);
  unsigned bits = card->format->bits;
  return significant > 0 && (unsigned)significant < bits ? (unsigned)significant : bits;
}
