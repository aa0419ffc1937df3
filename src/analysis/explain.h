/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The account of a measured result, with the lines that were found beneath the modulation. */
#ifndef SIDECOMB_ANALYSIS_EXPLAIN_H
#define SIDECOMB_ANALYSIS_EXPLAIN_H

#include <sidecomb/error.h>
#include <sidecomb/result.h>
#include <sidecomb/spectrum.h>

#include "analysis/beneath.h"
#include "analysis/rounded.h"

/* What each line is; those that stand beneath the modulation only join the others on air, the
 * strongest first, and the account begins anew: what they make of the composite is known then;
 * and once more where rounding may have made lines. `beneath`, `rounded`, `air` (the capture's
 * averaged spectrum): NULL where there is none. `image`: amplitude of the receiver's that falls on
 * the signal itself, 0: not known. What is weaker than *least_dbc would not be told from what the
 * limiter makes. SC_NO_MEMORY. */
enum sc_error analysis_explain(struct analysis_beneath *beneath, struct analysis_rounded *rounded,
                               const struct sc_trace *air, double image, struct sc_result *result,
                               double *least_dbc);

#endif
