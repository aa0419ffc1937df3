/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A recording while watching: a thread takes the live samples from the ring, beginning with those
 * of the last seconds, and writes them. */
#ifndef SIDECOMB_VIEW_KEEP_H
#define SIDECOMB_VIEW_KEEP_H

#include <sidecomb/record.h>

#include "view/intake.h"

enum { VIEW_KEEP_NAME = 64 };

struct view_keep;
/* Begins a SigMF pair in the current folder, named by the time. */
enum sc_error view_keep_start(struct view_intake *intake, const struct sc_source_info *info,
                              struct view_keep **keep, struct sc_message *message);
/* How far it is. False: it failed, and the message says why; it is to be stopped. `keep` may be
 * NULL, then nothing was kept. */
bool view_keep_look(struct view_keep *keep, struct sc_record_summary *summary,
                    struct sc_message *message);
/* Ends it; all that came by then is in the file, whose name is copied. */
enum sc_error view_keep_stop(struct view_keep *keep, char *name, struct sc_record_summary *summary,
                             struct sc_message *message);

#endif
