/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The steady parts of a composite as components of its value and of its phase. */
#ifndef SIDECOMB_SIGNAL_PARTS_H
#define SIDECOMB_SIGNAL_PARTS_H

#include <sidecomb/signal.h>

#include "signal/bank.h"

/* Components that the settings can make: three for a tone in left or right, one for a free
 * tone, one each for pilot and residual. */
size_t signal_parts_capacity(const struct sc_signal_settings *settings);

/* Adds every part to `composite` (real part in kHz), to `phase` (real part in radians: the
 * integral of 2 pi times the composite in hertz), or to both; each may be NULL. A part at zero
 * frequency is a shift of the carrier: *shift_hz is its sum. */
void signal_parts_add(const struct sc_signal_settings *settings, struct signal_bank *composite,
                      struct signal_bank *phase, double *shift_hz);

#endif
