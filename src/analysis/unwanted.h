/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What is not the transmitter's modulation, after the account; see sidecomb/unwanted.h. */
#ifndef SIDECOMB_ANALYSIS_UNWANTED_H
#define SIDECOMB_ANALYSIS_UNWANTED_H

#include <sidecomb/result.h>
#include <sidecomb/spectrum.h>

#include "analysis/beneath.h"

/* `air`: averaged over the capture, NULL or empty where there is none. `beneath`: NULL, or what
 * looked for lines where modulation leaves nothing, down to `least_dbc` at the least. */
void analysis_unwanted(const struct sc_trace *air, const struct analysis_beneath *beneath,
                       double least_dbc, struct sc_result *result);
/* The level from which on a line at this offset is found in the spectrum with a probability of 99
 * %; INFINITY where that is not known. After carrier and lines. */
double analysis_spectrum_shows_dbc(const struct sc_trace *air, const struct sc_result *result,
                                   double offset_hz);
/* The same in what a limiter takes away. */
double analysis_beneath_shows_dbc(const struct analysis_beneath *beneath,
                                  const struct sc_result *result, double offset_hz);
void analysis_unwanted_refuse(struct sc_unwanted *unwanted, const char *why);

#endif
