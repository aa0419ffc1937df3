/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Results in which nothing was measured yet, each quantity with its reason. */
#ifndef SIDECOMB_ANALYSIS_BLANK_H
#define SIDECOMB_ANALYSIS_BLANK_H

#include <sidecomb/result.h>

struct sc_carrier analysis_no_carrier(enum sc_truth present, const char *why);
struct sc_pilot analysis_no_pilot(const char *why);
/* Nothing measured: `carrier_why` and `composite_why` say why. */
void analysis_blank(struct sc_result *result, const char *carrier_why, const char *composite_why);

/* Why the report's main thing could not be measured; NULL: it could. */
const char *analysis_unmeasured(enum sc_kind kind, const struct sc_result *result);

#endif
