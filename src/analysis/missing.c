/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "analysis/missing.h"

static const char missing[] = "samples are missing, where the pilot's phase jumps";

void analysis_missing(struct sc_result *result)
{
  const struct sc_quantity none = sc_not_measured(missing);
  struct sc_deviation *deviation = &result->deviation;
  struct sc_rds *rds = &result->rds;
  if (result->pilot.present != SC_YES || result->pilot.jumps == 0)
    return;
  deviation->peak_khz = deviation->corrected_khz = none;
  deviation->positive_khz = deviation->negative_khz = none;
  if (rds->injection_khz.why == NULL)
    rds->injection_khz = rds->injection_percent = none;
  if (rds->amplitude_rms.why == NULL)
    rds->amplitude_rms = none;
}
