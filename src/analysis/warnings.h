/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What limits a measurement, as sentences for people. */
#ifndef SIDECOMB_ANALYSIS_WARNINGS_H
#define SIDECOMB_ANALYSIS_WARNINGS_H

#include <sidecomb/api.h>
#include <sidecomb/result.h>

/* Adds one sentence; beyond SC_NOTICES_MAX it is dropped. */
void analysis_warn(struct sc_notices *notices, const char *format, ...) SC_PRINTF(2, 3);

/* Fills result->warnings from what was measured. `half_width_hz`: of the channel. `still`: all
 * samples are the same. */
void analysis_warnings(struct sc_result *result, double half_width_hz, uint64_t other_settings,
                       bool still);

/* The same of what the account found: lines that the capture's rounding makes. */
void analysis_warn_of_rounding(struct sc_result *result);
/* And tones that come of modulation beyond what is demodulated. */
void analysis_warn_of_reach(struct sc_result *result);

#endif
