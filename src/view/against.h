/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A second capture beside the first: read and measured by an engine of its own, asked for the
 * same part of the axis, counted from its own carrier. */
#ifndef SIDECOMB_VIEW_AGAINST_H
#define SIDECOMB_VIEW_AGAINST_H

#include "view/engine.h"

struct view_against;

/* Arguments as for view_engine_start. */
enum sc_error view_against_start(struct sc_source *source, const struct sc_source_options *options,
                                 const struct sc_analysis_settings *analysis,
                                 struct view_against **against, struct sc_message *message);
/* Readable when view_against_take has something new; -1 for NULL. */
int view_against_descriptor(const struct view_against *against);
/* Asks for what the first capture is asked for; held: what takes long stands still. Accepts
 * NULL. */
void view_against_ask(struct view_against *against, const struct view_request *request,
                      const struct view_model *first, bool held);
/* Brings the second up to date and puts it into the first's model, with the difference. What that
 * points to stays valid until the next call. Accepts NULL. */
void view_against_take(struct view_against *against, struct view_model *first);
/* Accepts NULL. */
void view_against_stop(struct view_against *against);

#endif
