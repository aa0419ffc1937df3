/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What is to be written to a file. Actions only note it in the state; save.c does it. */
#ifndef SIDECOMB_VIEW_ERRAND_H
#define SIDECOMB_VIEW_ERRAND_H

#include "view/state.h"

enum view_written {
  VIEW_WRITTEN_TRACE,       /* .csv */
  VIEW_WRITTEN_REPORT,      /* .txt */
  VIEW_WRITTEN_REPORT_JSON, /* .json */
  VIEW_WRITTEN_PLOT,        /* .svg, .png, .pdf */
  VIEW_WRITTEN_UNKNOWN
};
/* By the ending of the name. */
enum view_written view_errand_kind(const char *path);

/* Names to offer: the capture's own, made fit for a file, the view, and each ending. Fills the
 * prompt's list, the plot first. */
void view_errand_suggest(struct view_state *state, const struct view_model *model);
/* Notes that `path` is to be written. */
void view_errand_set(struct view_state *state, const char *path);
/* Notes that the settings are to be written. */
void view_errand_settings(struct view_state *state, const struct view_model *model, double number);
/* The file is there: asks before it is replaced. */
void view_errand_confirm(struct view_state *state);
/* The answer to that. */
void view_errand_answer(struct view_state *state, int key);

#endif
