/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Noise-like power beside the transmitter's modulation; see sidecomb/unwanted.h. */
#ifndef SIDECOMB_ANALYSIS_BANDS_H
#define SIDECOMB_ANALYSIS_BANDS_H

#include <sidecomb/result.h>
#include <sidecomb/spectrum.h>

#include "analysis/beneath.h"

/* Fills bands[] of result->unwanted from the averaged spectrum; after occupancy and noise, and
 * after analysis_beneath_lines. beneath: NULL, nothing is known of the envelope. */
void analysis_bands(const struct sc_trace *air, const struct analysis_beneath *beneath,
                    struct sc_result *result);

#endif
