/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What samples at the ends of the range leave to be believed. */
#ifndef SIDECOMB_ANALYSIS_OVERLOAD_H
#define SIDECOMB_ANALYSIS_OVERLOAD_H

#include <sidecomb/result.h>

/* After the verdicts on lines, before what is counted of them: what the overload may have made is
 * neither spurious nor a residual, but unknown. */
void analysis_overload_lines(struct sc_result *result);
/* After everything else but the account's sentence: widens what was measured of the composite, or
 * takes it back. */
void analysis_overload(struct sc_result *result);

#endif
