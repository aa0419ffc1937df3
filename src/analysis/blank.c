/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Results in which nothing was measured yet, each quantity with its reason. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "analysis/blank.h"

#include <stdlib.h>

#include <sidecomb/analysis.h>

#include "analysis/linelist.h"
#include "analysis/unwanted.h"

struct sc_carrier analysis_no_carrier(enum sc_truth present, const char *why)
{
  struct sc_quantity none = sc_not_measured(why);
  return (struct sc_carrier){.present = present,
                             .why = why,
                             .offset_hz = none,
                             .level_dbfs = none,
                             .cnr_db = none,
                             .cnr_bandwidth_hz = none,
                             .noise_density_dbfs_hz = none,
                             .drift_hz_s = none,
                             .told_drift_hz_s = none,
                             .drift_at_most_hz_s = none,
                             .wander_rms_hz = none,
                             .wander_span_hz = none,
                             .wander_period_s = none};
}

struct sc_pilot analysis_no_pilot(const char *why)
{
  struct sc_quantity none = sc_not_measured(why);
  return (struct sc_pilot){.present = SC_UNKNOWN,
                           .why = why,
                           .frequency_hz = none,
                           .frequency_error_hz = none,
                           .within_tolerance = SC_UNKNOWN,
                           .deviation_khz = none,
                           .amplitude = none,
                           .injection_percent = none,
                           .phase_rad = (double)NAN,
                           .steadiness_db = (double)NAN,
                           .snr_db = (double)NAN};
}

void analysis_blank(struct sc_result *result, const char *carrier_why, const char *composite_why)
{
  *result = (struct sc_result){0};
  result->carrier = analysis_no_carrier(SC_UNKNOWN, carrier_why);
  result->carrier_level_dbm = sc_not_measured(carrier_why);
  result->carrier_frequency_hz = sc_not_measured(carrier_why);
  result->composite_why = composite_why;
  result->composite_rate_hz = sc_not_measured(composite_why);
  sc_deviation_refuse(&result->deviation, composite_why);
  sc_audio_refuse(&result->audio, composite_why);
  result->pilot = analysis_no_pilot(composite_why);
  struct sc_quantity none = sc_not_measured(composite_why);
  result->noise =
      (struct sc_noise){none, none, none, none, none, none, none, none, none, none, none};
  sc_preemphasis_refuse(&result->preemphasis, composite_why);
  sc_injection_refuse(&result->injections, composite_why);
  sc_stereo_refuse(&result->stereo, SC_MODE_NONE, composite_why);
  sc_rds_refuse(&result->rds, composite_why);
  result->rds_groups.why = composite_why;
  result->air_lines = analysis_no_lines(carrier_why);
  analysis_unwanted_refuse(&result->unwanted, carrier_why);
  result->composite_lines = analysis_no_lines(composite_why);
}

const char *analysis_unmeasured(enum sc_kind kind, const struct sc_result *result)
{
  if (kind == SC_KIND_IQ && result->carrier.present != SC_YES)
    return result->carrier.why;
  if (kind == SC_KIND_AUDIO)
    return result->composite_lines.why;
  return result->composite_why;
}

void sc_result_clear(struct sc_result *result)
{
  free(result->air_lines.lines);
  free(result->composite_lines.lines);
  free(result->rds_groups.groups);
  *result = (struct sc_result){0};
}
