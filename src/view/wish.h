/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What a user wants of a live source: other settings of a receiver, a recording. Actions only note
 * it in the state; the loop grants it. */
#ifndef SIDECOMB_VIEW_WISH_H
#define SIDECOMB_VIEW_WISH_H

#include "view/state.h"

/* Begins a recording, or ends it. */
void view_wish_keep(struct view_state *state, const struct view_model *model, double number);
/* What is measured forgets what came before. */
void view_wish_anew(struct view_state *state, const struct view_model *model, double number);
/* number: typed frequency. */
void view_wish_tune(struct view_state *state, const struct view_model *model, double number);
/* What the setting that the action asks for is now, as it is typed; "" where it is not known, or
 * the action is of something else. */
void view_wish_present(const struct view_state *state, const struct view_action *action, char *text,
                       size_t length);
/* Takes in what the receiver has and is set to. */
void view_wish_learn(struct view_state *state, const struct sc_source *source);
/* The n-th word that the setting may begin with or be; NULL: no more, or the action is of something
 * else. */
const char *view_wish_word(const struct view_state *state, const struct view_action *action,
                           size_t n);
/* Of what was wanted, what the receiver says to it: "LNA=20". */
void view_wish_granted(const struct view_state *state, char *text, size_t length);
/* [NAME=]DB */
void view_wish_gain(struct view_state *state, const char *text);
void view_wish_antenna(struct view_state *state, const char *text);
/* number: Hz. */
void view_wish_bandwidth(struct view_state *state, const struct view_model *model, double number);
/* Parts per million. */
void view_wish_correction(struct view_state *state, const char *text);

#endif
