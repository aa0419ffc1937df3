/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What a baseline changes in a result. */
#ifndef SIDECOMB_ANALYSIS_BASELINE_H
#define SIDECOMB_ANALYSIS_BASELINE_H

#include <sidecomb/baseline.h>
#include <sidecomb/result.h>

/* Whether a signal stands in the carrier's channel that is about as strong as the carrier: then it
 * is no capture without the transmitter, and excuses nothing. */
bool analysis_baseline_holds(const struct sc_baseline *baseline, const struct sc_carrier *carrier);

/* Lines that are as strong without the transmitter become artefacts, unless the baseline is
 * refused, which is then told. After the account. */
void analysis_baseline_lines(const struct sc_baseline *baseline, struct sc_result *result);

/* The baseline's spectrum on air, and that in the resolution of a mask. */
const struct sc_trace *analysis_baseline_air(const struct sc_baseline *baseline);
const struct sc_trace *analysis_baseline_mask(const struct sc_baseline *baseline, size_t mask);

/* `trace` less what the baseline's spectrum has above its noise, in `mean`, which holds as many
 * points; the trace then refers to it. Nothing is changed where the spectra do not match. */
void analysis_baseline_subtract(const struct sc_trace *baseline, float *mean,
                                struct sc_trace *trace);

#endif
