/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The capture opened once more, for a second view of it: shown, not measured. */
#ifndef SIDECOMB_VIEW_TWIN_H
#define SIDECOMB_VIEW_TWIN_H

#include "view/slice.h"

struct view_twin;

/* NULL with a message: it cannot be opened, or memory is short. */
struct view_twin *view_twin_start(const struct sc_source_options *options,
                                  struct sc_message *message);
/* Readable when view_twin_take has something new; -1 for NULL. */
int view_twin_descriptor(const struct view_twin *twin);
/* held: what takes long stands still. Accepts NULL. */
void view_twin_ask(struct view_twin *twin, const struct view_request *request, bool held);
/* The newest spectrum, valid until the next call; NULL for NULL. */
const struct view_spectrum *view_twin_take(struct view_twin *twin);
/* Accepts NULL. */
void view_twin_stop(struct view_twin *twin);

#endif
