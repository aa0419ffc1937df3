/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Names for what stands above 53 kHz, by what it is and where it is. */
#ifndef SIDECOMB_ANALYSIS_NAMING_H
#define SIDECOMB_ANALYSIS_NAMING_H

#include <sidecomb/result.h>

/* After everything else of the composite: data that was shown to be RDS takes over what was
 * measured of it as such. */
void analysis_name_injections(struct sc_result *result);

#endif
