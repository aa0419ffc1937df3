/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What a user wants of a live source: other settings of a receiver, a recording. Actions only note
 * it in the state; the loop grants it. */
#ifndef SIDECOMB_VIEW_WISH_H
#define SIDECOMB_VIEW_WISH_H

#include "view/state.h"

/* Begins a recording, or ends it. */
void view_wish_keep(struct view_state *state, const struct view_model *model, double number);
/* number: typed frequency. */
void view_wish_tune(struct view_state *state, const struct view_model *model, double number);
/* [NAME=]DB */
void view_wish_gain(struct view_state *state, const char *text);
void view_wish_antenna(struct view_state *state, const char *text);
/* number: Hz. */
void view_wish_bandwidth(struct view_state *state, const struct view_model *model, double number);
/* Parts per million. */
void view_wish_correction(struct view_state *state, const char *text);

#endif
