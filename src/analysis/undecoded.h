/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Doubts data that could be read in this noise and says nothing. Tones in equal steps about 57 kHz,
 * as of an FM subcarrier with a test tone, have lines in their square that may pass for those of
 * data. */
#ifndef SIDECOMB_ANALYSIS_UNDECODED_H
#define SIDECOMB_ANALYSIS_UNDECODED_H

#include <sidecomb/result.h>

/* With the capture's length and the carrier known, before anything is named by the data. */
void analysis_doubt_data(struct sc_result *result);

#endif
