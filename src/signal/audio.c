/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The programme alone. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdlib.h>

#include "signal/audio.h"
#include "signal/programme.h"

/* The programme's edge never comes nearer to half the rate than this part of the rate. */
static const double top = 0.45, edge_hz = 2000, full_khz = 75;

struct signal_audio {
  double scale;
  struct signal_shape *shape;
  struct signal_programme *programme;
};

enum sc_error signal_audio_create(const struct sc_scenario *scenario, struct signal_audio **audio,
                                  struct sc_message *message)
{
  const struct sc_station *station = &scenario->station;
  const double rate_hz = scenario->rate_hz * (1 + scenario->clock_ppm * 1e-6);
  const double limit_hz =
      fmin(station->limit_hz > 0 ? station->limit_hz : top * rate_hz, top * rate_hz);
  *audio = NULL;
  struct signal_audio *a = calloc(1, sizeof *a);
  if (a == NULL)
    return SC_NO_MEMORY;
  a->scale = pow(10, scenario->level_dbfs / 20) / full_khz;
  enum sc_error error =
      signal_shape_create(limit_hz, fmin(limit_hz + edge_hz, rate_hz / 2), 0, rate_hz, &a->shape);
  if (error == SC_OK)
    error = signal_programme_create(station->programme, station->programme_count, true, a->shape,
                                    limit_hz, scenario->seed, &a->programme, message);
  if (error != SC_OK) {
    signal_audio_destroy(a);
    return error;
  }
  signal_programme_start(a->programme, 0);
  *audio = a;
  return SC_OK;
}

void signal_audio_run(struct signal_audio *audio, double *frames)
{
  double left[SIGNAL_AUDIO_BLOCK], right[SIGNAL_AUDIO_BLOCK];
  signal_programme_run(audio->programme, left, right, SIGNAL_AUDIO_BLOCK);
  for (size_t i = 0; i < SIGNAL_AUDIO_BLOCK; i++) {
    frames[2 * i] = audio->scale * left[i];
    frames[2 * i + 1] = audio->scale * right[i];
  }
}

void signal_audio_destroy(struct signal_audio *audio)
{
  if (audio == NULL)
    return;
  signal_programme_destroy(audio->programme);
  signal_shape_destroy(audio->shape);
  free(audio);
}
