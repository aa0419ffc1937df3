/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Reference signals on their way through the demodulator, block by block. */
#ifndef SIDECOMB_TESTS_MEASURE_RECEIVED_H
#define SIDECOMB_TESTS_MEASURE_RECEIVED_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/composite.h>
#include <sidecomb/signal.h>

struct received {
  struct sc_demodulator_info info;
  struct sc_signal *signal;
  struct sc_demodulator *demodulator;
  size_t left; /* frames of IQ that are still to come */
  /* of the last block, as the demodulator gives them */
  const float *khz, *channel;
  size_t frames;
  bool first;
};

/* Fails the test when it cannot. channel_hz: where the channel is looked for. */
void received_start(struct received *received, const struct sc_signal_settings *settings,
                    double channel_hz, double seconds);
/* The next block; false: there is none, and everything is freed. */
bool received_next(struct received *received);

#endif
