/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What sounds on left and right: tones, noise, sweeps, bursts, files; limited and pre-emphasised,
 * at an audio rate.
 */
#ifndef SIDECOMB_SIGNAL_PROGRAMME_H
#define SIDECOMB_SIGNAL_PROGRAMME_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <sidecomb/scenario.h>
#include <sidecomb/signal.h>

#include "signal/shape.h"

/* Tones and combs are steady: their lines are known in closed form. */
bool signal_programme_steady(enum sc_programme_kind kind);
/* The i-th tone of a steady part (amplitude in its kHz); a tone has one, a comb `count`. */
struct sc_signal_tone signal_programme_tone(const struct sc_programme *part, size_t i);
size_t signal_programme_tones(const struct sc_programme *part);
/* What a part adds to left and to right. */
void signal_programme_gains(enum sc_programme_to to, double *left, double *right);

struct signal_programme;
/* With `steady` every part is played, without it only those that are not steady. The shape is
 * the caller's and outlives the programme; limit_hz is its edge, for the noise's power. */
enum sc_error signal_programme_create(const struct sc_programme *parts, size_t count, bool steady,
                                      const struct signal_shape *shape, double limit_hz,
                                      uint64_t seed, struct signal_programme **programme,
                                      struct sc_message *message);
/* Nothing but silence will come. */
bool signal_programme_silent(const struct signal_programme *programme);
/* The next output sample has this index (time index / rate); once, before the first run. */
void signal_programme_start(struct signal_programme *programme, int64_t index);
void signal_programme_run(struct signal_programme *programme, double *left, double *right,
                          size_t count);
void signal_programme_destroy(struct signal_programme *programme);

#endif
