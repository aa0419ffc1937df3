/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A scenario to samples: modulation at the fast rate, the way, the band limit, the receiver. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <sidecomb/scenario.h>

#include "signal/audio.h"
#include "signal/keys.h"
#include "signal/random.h"
#include "signal/way.h"

struct sc_generator {
  struct sc_scenario scenario;
  unsigned channels;
  struct signal_audio *audio; /* either this or the way */
  struct signal_way *way;
  struct signal_random random;
  double noise_deviation;
  double i_gain, q_from_q, q_from_i;
  double *block; /* frames ready to be taken */
  size_t held, taken;
};

/* ---- making */

static double noise_deviation(const struct sc_scenario *s)
{
  if (isnan(s->cnr_db) || s->what != SC_WHAT_IQ)
    return 0;
  const double noise = pow(10, -s->cnr_db / 10) * s->rate_hz / s->cnr_bandwidth_hz;
  return pow(10, s->level_dbfs / 20) * sqrt(noise / 2);
}

static enum sc_error make(struct sc_generator *generator, struct sc_message *message)
{
  const struct sc_scenario *s = &generator->scenario;
  size_t room = SIGNAL_AUDIO_BLOCK;
  enum sc_error error;
  if (s->what == SC_WHAT_AUDIO) {
    error = signal_audio_create(s, &generator->audio, message);
  } else {
    error = signal_way_create(s, &generator->way, message);
    room = error == SC_OK ? signal_way_room(generator->way) : 0;
  }
  if (error != SC_OK)
    return error;
  generator->block = calloc(2 * room, sizeof *generator->block);
  return generator->block != NULL ? SC_OK : SC_NO_MEMORY;
}

enum sc_error sc_generator_create(const struct sc_scenario *scenario,
                                  struct sc_generator **generator, struct sc_message *message)
{
  *generator = NULL;
  enum sc_error error = signal_scenario_check(scenario, message);
  if (error != SC_OK)
    return error;
  struct sc_generator *g = calloc(1, sizeof *g);
  if (g == NULL)
    return sc_fail(message, SC_NO_MEMORY, "%s", sc_error_text(SC_NO_MEMORY));
  g->scenario = *scenario;
  g->channels = scenario->what == SC_WHAT_COMPOSITE ? 1 : 2;
  g->noise_deviation = noise_deviation(scenario);
  g->i_gain = pow(10, scenario->iq_gain_db / 20);
  g->q_from_q = cos(scenario->iq_phase_rad);
  g->q_from_i = sin(scenario->iq_phase_rad);
  signal_random_seed(&g->random, scenario->seed);
  error = make(g, message);
  if (error == SC_OK) {
    *generator = g;
    return SC_OK;
  }
  sc_generator_destroy(g);
  if (error == SC_NO_MEMORY)
    return sc_fail(message, error, "%s", sc_error_text(error));
  return error;
}

unsigned sc_generator_channels(const struct sc_generator *generator)
{
  return generator->channels;
}

void sc_generator_destroy(struct sc_generator *generator)
{
  if (generator == NULL)
    return;
  signal_audio_destroy(generator->audio);
  signal_way_destroy(generator->way);
  free(generator->block);
  free(generator);
}

/* ---- playing */

/* The receiver's own: noise, unequal paths, direct current. */
static void receive(struct sc_generator *generator, double *iq, size_t frames)
{
  const struct sc_scenario *s = &generator->scenario;
  if (generator->noise_deviation > 0)
    signal_random_add(&generator->random, generator->noise_deviation, iq, 2 * frames);
  for (size_t k = 0; k < frames; k++, iq += 2) {
    const double i = iq[0], q = iq[1];
    iq[0] = generator->i_gain * i + s->dc_i;
    iq[1] = generator->q_from_q * q + generator->q_from_i * i + s->dc_q;
  }
}

static void keep_real(double *frames, size_t count)
{
  for (size_t i = 0; i < count; i++)
    frames[i] = frames[2 * i];
}

static void refill(struct sc_generator *generator)
{
  generator->taken = 0;
  if (generator->audio != NULL) {
    generator->held = SIGNAL_AUDIO_BLOCK;
    signal_audio_run(generator->audio, generator->block);
    return;
  }
  generator->held = signal_way_run(generator->way, generator->block);
  if (generator->channels == 2)
    receive(generator, generator->block, generator->held);
  else
    keep_real(generator->block, generator->held);
}

void sc_generator_run(struct sc_generator *generator, double *out, size_t frames)
{
  const size_t width = generator->channels;
  while (frames > 0) {
    while (generator->taken == generator->held)
      refill(generator);
    const size_t ready = generator->held - generator->taken;
    const size_t count = frames < ready ? frames : ready;
    memcpy(out, generator->block + width * generator->taken, width * count * sizeof *out);
    generator->taken += count;
    out += width * count;
    frames -= count;
  }
}

void sc_generator_info(const struct sc_generator *generator, struct sc_generator_info *info)
{
  if (generator->way != NULL) {
    signal_way_info(generator->way, info);
    return;
  }
  *info = (struct sc_generator_info){
      .removed_db = NAN, .peak_khz = NAN, .carrier_hz = NAN, .modulation_rate_hz = NAN};
}
