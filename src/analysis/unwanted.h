/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What is not the transmitter's modulation, after the account; see sidecomb/unwanted.h. */
#ifndef SIDECOMB_ANALYSIS_UNWANTED_H
#define SIDECOMB_ANALYSIS_UNWANTED_H

#include <sidecomb/result.h>
#include <sidecomb/spectrum.h>

/* `air`: averaged over the capture, NULL or empty where there is none. */
void analysis_unwanted(const struct sc_trace *air, struct sc_result *result);
void analysis_unwanted_refuse(struct sc_unwanted *unwanted, const char *why);

#endif
