/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Sentences about the picture on the screen. */
#ifndef SIDECOMB_VIEW_CAPTION_H
#define SIDECOMB_VIEW_CAPTION_H

#include <stdbool.h>
#include <stddef.h>

#include "view/state.h"

/* How the shown spectrum was made: window, resolution, records, time. `brief`: fewer words. */
void view_caption_settings(const struct view_state *state, const struct view_model *model,
                           bool brief, char *out, size_t size);
/* Live, where there are no settings to say it: what clips, that nothing comes, that a recording
 * runs; mostly empty. */
void view_caption_live(const struct view_model *model, char *out, size_t size);
/* "e 1 limit not kept, 2 notices": the key, and what stands on its page; mostly not empty. Returns
 * whether a limit is not kept. */
bool view_caption_cautions(const struct view_model *model, char *out, size_t size);
/* Why there is no picture of the view yet, or what it waits for. */
void view_caption_waiting(const struct view_state *state, const struct view_model *model, char *out,
                          size_t size);

#endif
