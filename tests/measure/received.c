/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Generates IQ, rounds it to floats as captures have them, and demodulates it. */
#include <config.h>

#include <check.h>

#include "measure/received.h"

enum { BLOCK = 8000 };

void received_start(struct received *received, const struct sc_signal_settings *settings,
                    double channel_hz, double seconds)
{
  const struct sc_demodulator_settings demodulation = {settings->rate_hz, channel_hz};
  *received = (struct received){.left = (size_t)(seconds * settings->rate_hz)};
  ck_assert_int_eq(sc_signal_create(settings, &received->signal), SC_OK);
  ck_assert_int_eq(sc_demodulator_create(&demodulation, &received->demodulator), SC_OK);
  received->info = sc_demodulator_info(received->demodulator);
}

bool received_next(struct received *received)
{
  static double made[2 * BLOCK];
  static float iq[2 * BLOCK];
  struct received *r = received;
  r->first = r->khz == NULL;
  if (r->left == 0) {
    sc_signal_destroy(r->signal);
    sc_demodulator_destroy(r->demodulator);
    return false;
  }
  const size_t frames = r->left < BLOCK ? r->left : BLOCK;
  r->left -= frames;
  sc_signal_iq(r->signal, made, frames);
  for (size_t i = 0; i < 2 * frames; i++)
    iq[i] = (float)made[i];
  r->frames = sc_demodulator_feed(r->demodulator, iq, frames, r->first, &r->khz, &r->channel);
  return true;
}
