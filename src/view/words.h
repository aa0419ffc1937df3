/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Sentences about what a marker stands on. */
#ifndef SIDECOMB_VIEW_WORDS_H
#define SIDECOMB_VIEW_WORDS_H

#include <stddef.h>

#include "view/state.h"

/* What stands under a marker: frequency, level, most likely cause, distance from the standard
 * position; against the reference marker the difference too. Empty when the marker is off. */
void view_words_marker(const struct view_state *state, const struct view_model *model, int m,
                       char *out, size_t size);
#endif
