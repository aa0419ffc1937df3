/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The list of inputs: each that the library's configuration names is opened and asked. */
#include <config.h>

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "capture/device_list.h"
#include "capture/sound.h"
#include "capture/sound_card.h"
#include "common/text.h"

/* No card has this rate alone: who does it does all rates around it. */
static const unsigned odd_rate_hz = 47001;

static void add_rate(struct sc_device_ranges *rates, double least, double most)
{
  if (rates->count < SC_DEVICE_RANGES_MAX)
    rates->range[rates->count++] = (struct sc_device_range){least, most};
}

static void ask_rates(const struct capture_sound_card *card, snd_pcm_hw_params_t *params,
                      struct sc_device_ranges *rates)
{
  unsigned least = 0, most = 0;
  if (snd_pcm_hw_params_test_rate(card->pcm, params, odd_rate_hz, 0) >= 0 &&
      snd_pcm_hw_params_get_rate_min(params, &least, NULL) >= 0 &&
      snd_pcm_hw_params_get_rate_max(params, &most, NULL) >= 0) {
    add_rate(rates, least, most);
    return;
  }
  for (const unsigned *rate = capture_sound_rates; *rate > 0; rate++)
    if (snd_pcm_hw_params_test_rate(card->pcm, params, *rate, 0) >= 0)
      add_rate(rates, *rate, *rate);
}

static void ask_formats(const struct capture_sound_card *card, snd_pcm_hw_params_t *params,
                        struct sc_device_names *formats)
{
  const char *last = "";
  for (const struct capture_sound_format *format = capture_sound_formats; format->name != NULL;
       format++) {
    if (strcmp(format->name, last) == 0 ||
        snd_pcm_hw_params_test_format(card->pcm, params, format->alsa) < 0)
      continue;
    last = format->name;
    if (formats->count < SC_DEVICE_NAMES_MAX)
      (void)snprintf(formats->name[formats->count++], SC_DEVICE_NAME_LENGTH, "%s", format->name);
  }
}

static int ask(const struct capture_sound_card *card, struct sc_device *device)
{
  snd_pcm_hw_params_t *params;
  int error = snd_pcm_hw_params_malloc(&params);
  if (error < 0)
    return error;
  error = capture_sound_card_ask(card, params);
  if (error >= 0) {
    (void)snd_pcm_hw_params_get_channels_min(params, &device->channels_least);
    (void)snd_pcm_hw_params_get_channels_max(params, &device->channels_most);
    ask_formats(card, params, &device->formats);
    ask_rates(card, params, &device->rates_hz);
  }
  snd_pcm_hw_params_free(params);
  return error;
}

/* Many names of a configuration have no input behind them; these are left out. */
static bool is_input(int error)
{
  return error >= 0 || error == -EBUSY || error == -EACCES || error == -EPERM;
}

static enum sc_error look_at(struct sc_devices *devices, const char *name, const char *description)
{
  struct capture_sound_card card = {.pcm = NULL};
  int error = capture_sound_card_open(&card, name);
  if (!is_input(error))
    return SC_OK;
  struct sc_device *device = capture_device_add(devices, SC_DEVICE_SOUND, name);
  if (device == NULL) {
    capture_sound_card_close(&card);
    return SC_NO_MEMORY;
  }
  (void)common_clean(device->description, sizeof device->description, description,
                     strlen(description));
  if (error >= 0)
    error = ask(&card, device);
  if (error < 0)
    (void)snprintf(device->why, sizeof device->why, "%s", snd_strerror(error));
  capture_sound_card_close(&card);
  return SC_OK;
}

/* Descriptions may run over several lines. */
static void join_lines(char *text)
{
  for (; *text != 0; text++)
    if (*text == '\n')
      *text = ' ';
}

static enum sc_error take_hint(struct sc_devices *devices, const void *hint)
{
  char *name = snd_device_name_get_hint(hint, "NAME");
  char *way = snd_device_name_get_hint(hint, "IOID"); /* NULL: both ways */
  char *description = snd_device_name_get_hint(hint, "DESC");
  enum sc_error error = SC_OK;
  if (description != NULL)
    join_lines(description);
  if (name != NULL && (way == NULL || strcmp(way, "Input") == 0))
    error = look_at(devices, name, description == NULL ? "" : description);
  free(name);
  free(way);
  free(description);
  return error;
}

enum sc_error capture_sound_find(struct sc_devices *devices)
{
  void **hints;
  enum sc_error error = SC_OK;
  devices->sound_built = true;
  if (snd_device_name_hint(-1, "pcm", &hints) < 0)
    return SC_OK; /* no configuration of sound at all */
  for (void **hint = hints; *hint != NULL && error == SC_OK; hint++)
    error = take_hint(devices, *hint);
  (void)snd_device_name_free_hint(hints);
  (void)snd_config_update_free_global();
  return error;
}
