/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The steady parts of a composite as components of its value and of its phase.
 *
 * The integral of 2 pi Re(W e^{j 2 pi f t}) is Re(W e^{j 2 pi f t} / (j f)), so that the phase of
 * the carrier needs no summing over samples.
 */
#ifndef SIDECOMB_SIGNAL_PARTS_H
#define SIDECOMB_SIGNAL_PARTS_H

#include <sidecomb/signal.h>

#include "signal/bank.h"

/* Where parts go: the composite in kHz, the phase in radians. A part at zero frequency is a shift
 * of the carrier. */
struct signal_parts {
  struct signal_bank *composite, *phase;
  double shift_hz;
};

/* Both banks with room for `capacity` components. On failure nothing is left behind. */
enum sc_error signal_parts_create(struct signal_parts *parts, size_t capacity, double rate_hz);
void signal_parts_destroy(struct signal_parts *parts);

/* khz sin(2 pi f t + p): one component. */
void signal_parts_sine(struct signal_parts *parts, double frequency_hz, double khz,
                       double phase_rad);
/* khz sin(2 pi f t + p) sin(2 pi c t + q), a tone on the difference: two components. */
void signal_parts_product(struct signal_parts *parts, const struct sc_signal_tone *tone, double khz,
                          double centre_hz, double centre_rad);

/* Components that the settings can make, and making them. */
size_t signal_parts_capacity(const struct sc_signal_settings *settings);
void signal_parts_add(struct signal_parts *parts, const struct sc_signal_settings *settings);

#endif
