/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Scales floats into the doubles that the judgement of audio takes. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdlib.h>

#include "analysis/listener.h"

enum { CHUNK = 4096 };
/* No converter of sound has more, whatever its container (common practice, no source). */
enum { CONVERTER_BITS = 24 };

struct analysis_listener {
  unsigned channels;
  double scale;
  struct sc_audio_meter *meter; /* NULL: the rate cannot be judged */
  bool discontinuity;
  double chunk[2 * CHUNK];
};

enum sc_error analysis_listener_create(double rate_hz, unsigned channels, double full_scale,
                                       unsigned bits, struct analysis_listener **listener)
{
  *listener = NULL;
  struct analysis_listener *l = calloc(1, sizeof *l);
  if (l == NULL)
    return SC_NO_MEMORY;
  l->channels = channels;
  l->scale = 1 / full_scale;
  const struct sc_audio_settings settings = {
      rate_hz, channels,
      exp2(1 - (double)(bits >= 1 && bits < CONVERTER_BITS ? bits : CONVERTER_BITS))};
  const enum sc_error error = sc_audio_create(&settings, &l->meter);
  if (error != SC_OK && error != SC_BAD_ARGUMENT) {
    free(l);
    return error;
  }
  *listener = l;
  return SC_OK;
}

void analysis_listener_feed(struct analysis_listener *l, const float *samples, size_t frames,
                            bool discontinuity)
{
  l->discontinuity = l->discontinuity || discontinuity;
  while (l->meter != NULL && frames > 0) {
    const size_t run = frames < CHUNK ? frames : CHUNK;
    for (size_t i = 0; i < run * l->channels; i++)
      l->chunk[i] = l->scale * (double)samples[i];
    sc_audio_feed(l->meter, l->chunk, run, l->discontinuity);
    l->discontinuity = false;
    samples += run * l->channels;
    frames -= run;
  }
}

void analysis_listener_result(struct analysis_listener *l, struct sc_audio *audio)
{
  if (l->meter != NULL)
    sc_audio_result(l->meter, audio);
  else
    sc_audio_refuse(audio, "its sample rate is not within 32 to 192 kHz");
}

void analysis_listener_destroy(struct analysis_listener *l)
{
  if (l == NULL)
    return;
  sc_audio_destroy(l->meter);
  free(l);
}
