/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A scenario's programme as audio, left and right, as it would be fed to the transmitter: limited,
 * not pre-emphasised; 75 kHz of deviation at the scenario's level.
 */
#ifndef SIDECOMB_SIGNAL_AUDIO_H
#define SIDECOMB_SIGNAL_AUDIO_H

#include <sidecomb/scenario.h>

enum { SIGNAL_AUDIO_BLOCK = 256 };

struct signal_audio;
enum sc_error signal_audio_create(const struct sc_scenario *scenario, struct signal_audio **audio,
                                  struct sc_message *message);
/* SIGNAL_AUDIO_BLOCK frames, interleaved. */
void signal_audio_run(struct signal_audio *audio, double *frames);
void signal_audio_destroy(struct signal_audio *audio);

#endif
