/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "analysis/undecoded.h"

#include <math.h>
#include <string.h>

/* At this carrier to noise in 200 kHz half of the blocks of that injection are right
 * (tests/measure/rds_errors_test.c); of twice as much nearly all are. */
static const double half_khz = 0.39, half_cnr_db = 30, surely = 2;
static const double enough_s = 1.5; /* then check words have come in step, with room for a search */

static const char why[] = "it is open whether there is a data subcarrier";
static const char evidence[] =
    "lines like those of data, but no check words, which could be read in this noise: tones or "
    "another signal about 57 kHz may make them";

static double readable_khz(double cnr_db)
{
  return surely * half_khz * pow(10, (half_cnr_db - cnr_db) / 20);
}

void analysis_doubt_data(struct sc_result *result)
{
  struct sc_rds *rds = &result->rds;
  const struct sc_quantity *cnr_db = &result->carrier.cnr_db;
  const double measured_s = result->capture.duration_s - result->capture.left_out_s;
  if (rds->present != SC_YES || rds->blocks > 0 || rds->injection_khz.why != NULL ||
      cnr_db->why != NULL || !(measured_s >= enough_s) || result->capture.gaps > 0 ||
      !(rds->injection_khz.value > readable_khz(cnr_db->value)))
    return;
  const struct sc_quantity limit = rds->detection_limit_khz;
  sc_rds_refuse(rds, why);
  rds->present = SC_UNKNOWN;
  rds->detection_limit_khz = limit;
  memcpy(rds->evidence, evidence, sizeof evidence);
}
