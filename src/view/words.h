/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Sentences about what is on the screen. */
#ifndef SIDECOMB_VIEW_WORDS_H
#define SIDECOMB_VIEW_WORDS_H

#include <stddef.h>

#include "view/state.h"

/* How the shown spectrum was made: window, resolution, records, time. `brief`: fewer words. */
void view_words_settings(const struct view_state *state, const struct view_model *model, bool brief,
                         char *out, size_t size);
/* Live, where there are no settings to say it: what clips, that nothing comes, that a recording
 * runs; mostly empty. */
void view_words_live(const struct view_model *model, char *out, size_t size);
/* Why there is no picture of the view yet, or what it waits for. */
void view_words_waiting(const struct view_state *state, const struct view_model *model, char *out,
                        size_t size);
/* What stands under a marker: frequency, level, most likely cause, distance from the standard
 * position; against the reference marker the difference too. Empty when the marker is off. */
void view_words_marker(const struct view_state *state, const struct view_model *model, int m,
                       char *out, size_t size);
#endif
