/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A first look at the whole capture: where in it the transmitter is. */
#ifndef SIDECOMB_VIEW_SCOUT_H
#define SIDECOMB_VIEW_SCOUT_H

#include <stdbool.h>

#include <sidecomb/capture.h>
#include <sidecomb/carrier.h>

struct view_scout;
/* NULL: memory is short. */
struct view_scout *view_scout_create(const struct sc_source_info *info);
/* Takes a block; true: it has seen enough. */
bool view_scout_feed(struct view_scout *scout, const struct sc_block *block);
struct sc_channel_guess view_scout_result(struct view_scout *scout);
/* Accepts NULL. */
void view_scout_destroy(struct view_scout *scout);

#endif
