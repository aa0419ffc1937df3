/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What a channel that is too narrow for the deviation does to the composite. */
#ifndef SIDECOMB_ANALYSIS_WIDEN_H
#define SIDECOMB_ANALYSIS_WIDEN_H

#include <sidecomb/result.h>

/* Widens the uncertainties of all that was measured of the composite, or takes a value back.
 * `ripple`: of the channel's envelope (struct sc_am). */
void analysis_widen(struct sc_result *result, double half_width_hz, double ripple);

/* What the peaks of a channel of full width may lose, of them, where the deviation comes near to
 * its edges; 0: nothing. */
double analysis_reach_share(const struct sc_result *result, double half_width_hz);

/* The same for a receiver's image of amplitude `image` that coincides with the signal. */
void analysis_widen_by_image(struct sc_result *result, double image);

/* The same for any cause that may change amplitudes by so much of them. */
void analysis_widen_by_share(struct sc_result *result, double share);

#endif
