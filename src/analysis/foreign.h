/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Tells what stands above 53 kHz on the composite and is none of it. A signal beside the carrier
 * beats with it in the discriminator: a station 100 kHz away, or a spurious carrier, looks like a
 * subcarrier there. But it moves the envelope by as much as the phase, and a subcarrier does not.
 */
#ifndef SIDECOMB_ANALYSIS_FOREIGN_H
#define SIDECOMB_ANALYSIS_FOREIGN_H

#include <sidecomb/result.h>

#include "analysis/beneath.h"

/* After the account of the lines on air. beneath, air: NULL, nothing is told. */
void analysis_foreign(const struct analysis_beneath *beneath, const struct sc_trace *air,
                      struct sc_result *result);
/* After the account of the composite's lines: tones and bands above 53 kHz whose lines there are
 * artefacts, and sum and difference that hold little else. */
void analysis_made(struct sc_result *result);

#endif
