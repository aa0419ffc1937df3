/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Where lines come from that no programme makes: the transmitter's reference, mixing of other
 * lines, and what stands where modulation has ended. Each returns true when it gave the line a
 * verdict. */
#ifndef SIDECOMB_ACCOUNT_ORIGINS_H
#define SIDECOMB_ACCOUNT_ORIGINS_H

#include <stdbool.h>

#include "account/roles.h"
#include "account/scene.h"

/* Side lines of the carrier in steps of the reference that the user gave (the comparison frequency
 * of an oscillator's loop leaks so), and multiples of it by themselves. */
bool account_as_reference_beside(const struct account_scene *scene, struct sc_line *line);
/* The same on the composite, where the side lines inside the channel are tones. */
bool account_as_reference(const struct account_composite *composite, struct sc_line *line);
/* Twice one line less another: what a third-order curve makes of both, weaker than they are. */
bool account_as_mixing(const struct account_scene *scene, struct sc_line *line);
/* So far from the carrier that the modulation, by Carson's rule, does not reach it. */
bool account_is_far(const struct account_scene *scene, const struct sc_line *line);

#endif
