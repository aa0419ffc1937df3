/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The noise beside a channel, for those who measure what is in it. */
#ifndef SIDECOMB_MEASURE_CHANNEL_H
#define SIDECOMB_MEASURE_CHANNEL_H

#include <stdbool.h>

#include <sidecomb/spectrum.h>

struct measure_noise {
  double density;              /* power per hertz */
  double relative_uncertainty; /* statistical only */
};
/* Noise density of the emptiest part of the spectrum beyond +/-150 kHz from the carrier, the outer
 * twentieth of the span on either side left out because receivers roll off there. false: less
 * than two pieces of 25 kHz remain. */
bool measure_noise_beside(const struct sc_trace *air, double carrier_hz,
                          struct measure_noise *noise);

#endif
