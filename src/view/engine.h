/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What measures while the screen is drawn: the passage that is looked at and the survey of
 * the whole, on threads of their own, so that no key waits for them. */
#ifndef SIDECOMB_VIEW_ENGINE_H
#define SIDECOMB_VIEW_ENGINE_H

#include <sidecomb/analysis.h>

#include "view/model.h"
#include "view/slice.h"

struct view_engine;

/* The engine alone uses the source until it is stopped. The options are those it was opened
 * with. The analysis settings' full_scale_khz holds for levels on the screen too. */
/* analysis NULL: the capture is shown, not measured. */
enum sc_error view_engine_start(struct sc_source *source, const struct sc_source_options *options,
                                const struct sc_analysis_settings *analysis,
                                struct view_engine **engine, struct sc_message *message);
/* Readable when view_engine_take has something new. */
int view_engine_descriptor(const struct view_engine *engine);
/* What is to be shown; cheap when nothing changed. channel_hz is filled in by the engine. */
void view_engine_ask(struct view_engine *engine, const struct view_request *request);
/* Lets what takes long stand still, or go on; a long passage still gets its first picture. */
void view_engine_hold(struct view_engine *engine, bool held);
/* Live: the account forgets what it was made of, and begins with what comes in from here on. */
void view_engine_anew(struct view_engine *engine);
/* Brings the model up to date; what it points to stays valid until the next call. */
void view_engine_take(struct view_engine *engine, struct view_model *model);
/* Where live samples come in; NULL: a file. */
struct view_intake *view_engine_intake(const struct view_engine *engine);
/* Accepts NULL. */
void view_engine_stop(struct view_engine *engine);

#endif
