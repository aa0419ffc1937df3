/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What is not to be believed where samples are missing and nothing marks it. */
#ifndef SIDECOMB_ANALYSIS_MISSING_H
#define SIDECOMB_ANALYSIS_MISSING_H

#include <sidecomb/result.h>

/* The carrier's phase jumps at such a moment, which looks like a peak of deviation, and data lose
 * their phase: takes both back where the pilot's phase jumps (sidecomb/pilot.h). */
void analysis_missing(struct sc_result *result);

#endif
