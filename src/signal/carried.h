/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A slow baseband raised to the modulation's rate and put on its subcarrier. */
#ifndef SIDECOMB_SIGNAL_CARRIED_H
#define SIDECOMB_SIGNAL_CARRIED_H

#include <stddef.h>
#include <stdint.h>

#include "signal/baseband.h"
#include "signal/rate.h"

struct signal_carried;
/* A baseband of NULL means that a real one is handed to each call; otherwise it is owned from
 * here on, also on failure. */
enum sc_error signal_carried_create(const struct signal_raise *raise,
                                    struct signal_baseband *baseband, double hz, double phase_rad,
                                    double rate_hz, struct signal_carried **carried);
/* The baseband's next slow sample has this index. */
void signal_carried_start(struct signal_carried *carried, int64_t index);
/* One slow sample that only fills the filters' past. */
void signal_carried_prime(struct signal_carried *carried, double given);
/* Adds SIGNAL_SLOW * factor frames to `khz`, the first at `frame`. */
void signal_carried_run(struct signal_carried *carried, const double *given, int64_t frame,
                        double *khz);
void signal_carried_destroy(struct signal_carried *carried);

#endif
