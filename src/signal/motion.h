/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* How a station's carrier moves about its frequency, in closed form. */
#ifndef SIDECOMB_SIGNAL_MOTION_H
#define SIDECOMB_SIGNAL_MOTION_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <sidecomb/scenario.h>

bool signal_motion_any(const struct sc_motion *motion);
/* How far from its frequency it is at the most during so many seconds. */
double signal_motion_most_hz(const struct sc_motion *motion, double seconds);
/* Radians that the motion adds to the phase at n frames from `first` on. */
void signal_motion_run(const struct sc_motion *motion, int64_t first, double rate_hz,
                       double *radians, size_t n);
/* Turns n complex frames by so much, and adds them. */
void signal_motion_add_turned(const double *from, const double *radians, double *to, size_t n);

#endif
