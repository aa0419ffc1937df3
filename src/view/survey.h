/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The survey: the whole capture through the analysis, on a thread of its own, with results
 * on the way. It is where the account comes from. */
#ifndef SIDECOMB_VIEW_SURVEY_H
#define SIDECOMB_VIEW_SURVEY_H

#include <sidecomb/analysis.h>

#include "view/intake.h"

struct view_survey;

struct view_survey_settings {
  const struct sc_source_options *options; /* files: opened once more */
  const struct sc_source_info *info;
  struct view_intake *intake; /* live: what comes in; NULL for files */
  struct sc_analysis_settings analysis;
  void (*notify)(void *context); /* from its thread, when a result is there */
  void *context;
};

/* NULL: memory is short or no thread can be started. */
struct view_survey *view_survey_start(const struct view_survey_settings *settings);
/* Wakes a live survey: something came in. */
void view_survey_wake(struct view_survey *survey);
/* Lets it stand still, or go on. */
void view_survey_hold(struct view_survey *survey, bool held);
/* Live: forgets what it measured and begins with what comes in from here on. */
void view_survey_anew(struct view_survey *survey);
/* The newest result if there is one since the last call, else NULL; the caller clears and
 * frees it. *seconds: how much of the capture it covers. */
struct sc_result *view_survey_take(struct view_survey *survey, double *seconds, bool *done);
/* Copies the line about what went wrong; false: nothing did. */
bool view_survey_trouble(struct view_survey *survey, struct sc_message *message);
/* Live: frames that it was too slow for. */
uint64_t view_survey_skipped(struct view_survey *survey);
/* Accepts NULL. */
void view_survey_stop(struct view_survey *survey);

#endif
