/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* From the composite to the receiver's band: modulation, what the way adds, the band limit.
 */
#ifndef SIDECOMB_SIGNAL_WAY_H
#define SIDECOMB_SIGNAL_WAY_H

#include <stddef.h>

#include <sidecomb/scenario.h>

struct signal_way;
enum sc_error signal_way_create(const struct sc_scenario *scenario, struct signal_way **way,
                                struct sc_message *message);
/* Frames that one run gives at most. */
size_t signal_way_room(const struct signal_way *way);
/* The next frames, I and Q; of a composite scenario the composite in I. The first is t = 0.
 * May be none. */
size_t signal_way_run(struct signal_way *way, double *iq);
void signal_way_info(const struct signal_way *way, struct sc_generator_info *info);
void signal_way_destroy(struct signal_way *way);

#endif
