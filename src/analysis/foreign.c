/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A signal of the amplitude a beside a carrier of the amplitude A turns its phase by a / A times a
 * sine, so that a stretch of the composite with the phase's variance v comes from a^2 = 2 v A^2.
 * Of that a limiter takes away as much (measure/remainder.h: the signal as it is, besides its
 * ghost), as far from the carrier as the beat is on the composite. Amplitude modulation leaves
 * something there too, its share of what is on air, which is the carrier that swings by there; of
 * another signal it is about all that is on air. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "analysis/foreign.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "account/account.h"

static const double noise_of_remainder = 2; /* of the noise's density */
static const double window_least_hz = 2e3;
static const double window_most_hz = 10e3; /* of shorter records nothing is told */
static const double window_bins = 520;     /* of the search's records: see sc_lines_floor */
static const double noise_known = 0.1;     /* of its power in the remainder, and medians scatter */
/* Of what a foreign signal would leave; a subcarrier leaves nothing (our choice). */
static const double foreign_share = 0.5;

/* Of the power on air there, that another signal leaves: all, and less where the carrier swings by
 * as well. A level that changes by 6 dB over 75 kHz of deviation leaves 0.2 at 60 kHz beside the
 * carrier: (10^(6 / 20 * 60 / 75) - 1)^2 (our choice). */
static const double air_share = 0.3;
/* Less tells as well, if so much of it are lines that are no modulation (our choice). */
static const double line_share = 0.5;

static const char beat[] =
    "none: another signal beside the carrier beats with it here, and moves the envelope as well";
static const char open_band[] = "open: the envelope moves, so that it may be of another signal";

struct look {
  const struct analysis_beneath *beneath;
  const struct sc_trace *air;
  const struct sc_result *result;
  double carrier_hz, noise; /* power per hertz */
  double window_hz;
};

/* What stands over the noise in the remainder, of a stretch of offsets from the carrier. */
static double power_between(const struct look *look, double lower_hz, double upper_hz)
{
  const double noise = noise_of_remainder * look->noise;
  double power = 0;
  for (double from = lower_hz; from < upper_hz; from += look->window_hz) {
    const double density = analysis_beneath_floor(look->beneath, look->carrier_hz + from,
                                                  look->carrier_hz + from + look->window_hz);
    if (density > (1 + noise_known) * noise)
      power += (density - noise) * fmin(look->window_hz, upper_hz - from);
  }
  return power;
}

/* On air, over the noise. */
static double air_between(const struct look *look, double lower_hz, double upper_hz)
{
  const struct sc_trace *air = look->air;
  double power = 0;
  for (size_t i = 0; i < air->points; i++) {
    const double hz = air->start_hz + (double)i * air->step_hz - look->carrier_hz;
    if (hz >= lower_hz && hz <= upper_hz)
      power += ((double)air->mean[i] / air->rbw_hz - look->noise) * air->step_hz;
  }
  return fmax(power, 0);
}

/* Of lines that are no modulation; a floor does not hold them. */
static double lines_between(const struct sc_result *result, double lower_hz, double upper_hz)
{
  double power = 0;
  for (size_t i = 0; i < result->air_lines.count; i++) {
    const struct sc_line *line = &result->air_lines.lines[i];
    const bool other = line->verdict == SC_VERDICT_SPURIOUS || line->verdict == SC_VERDICT_ARTEFACT;
    if (other && line->offset_hz.value >= lower_hz && line->offset_hz.value <= upper_hz)
      power += pow(10, (line->level_dbc.value + result->carrier.level_dbfs.value) / 10);
  }
  return power;
}

static bool is_foreign(const struct look *look, const struct sc_injection *found)
{
  const double half_hz = fmax(found->bandwidth_hz.value, look->window_hz) / 2;
  const double lower = found->offset_hz.value - half_hz, upper = found->offset_hz.value + half_hz;
  const double swing_rad = found->deviation_khz.value * 1e3 / found->offset_hz.value;
  const double carrier = pow(10, look->result->carrier.level_dbfs.value / 10);
  const double expected = swing_rad * swing_rad * carrier; /* twice the variance of a sine */
  const double lines =
      lines_between(look->result, lower, upper) + lines_between(look->result, -upper, -lower);
  const double there =
      power_between(look, lower, upper) + power_between(look, -upper, -lower) + lines;
  const double on_air = air_between(look, lower, upper) + air_between(look, -upper, -lower);
  return there > foreign_share * expected &&
         (there > air_share * on_air || lines > line_share * there);
}

static void judge(const struct look *look, struct sc_injection *found)
{
  if (found->label != NULL && strcmp(found->label, "RDS") == 0) /* shown by its structure */
    return;
  if (is_foreign(look, found)) {
    found->kind = SC_INJECTION_BEAT;
    found->label = beat;
    found->customary = NULL;
  } else if (found->label != NULL && found->kind == SC_INJECTION_BAND &&
             account_envelope_moves(look->result)) {
    /* A carrier that swings by as much as the beat is away from it blurs the place. */
    found->label = open_band;
    found->customary = NULL;
  }
}

/* ---- what receiver or recording make: rounding, beats of direct current, and what the capture's
 * edge cuts off the modulation */

static const double made_share = 0.5; /* of its power (our choice) */
static const double edge_hz = 100;    /* beyond what its power is within: a bin */

/* Sum and difference end there (ITU-R BS.450-3). */
static const double sum_upper_hz = 15e3, difference_lower_hz = 23e3, difference_upper_hz = 53e3;

static const char no_programme[] =
    "what else stands above the noise is made by the receiver or the recording";
static const char made[] = "none: made by the receiver or the recording";

/* Powers in terms of the same reference; 0: not known. */
static double power_of(struct sc_quantity khz, struct sc_quantity db_pilot)
{
  if (khz.why == NULL)
    return khz.value * khz.value;
  return db_pilot.why == NULL ? pow(10, db_pilot.value / 10) : 0;
}

static void judge_made(const struct sc_line_list *list, struct sc_injection *found)
{
  const double half_hz = found->bandwidth_hz.value / 2 + edge_hz;
  double power = 0;
  for (size_t i = 0; i < list->count; i++) {
    const struct sc_line *line = &list->lines[i];
    if (line->verdict == SC_VERDICT_ARTEFACT &&
        fabs(line->offset_hz.value - found->offset_hz.value) <= half_hz)
      power += power_of(line->deviation_khz, line->level_db_pilot);
  }
  if (!(power > made_share * power_of(found->deviation_khz, found->level_db_pilot)))
    return;
  found->label = made;
  found->customary = NULL;
}

/* Of lines that receiver or recording make, in terms of the pilot's. */
static double made_between(const struct sc_line_list *list, double lower_hz, double upper_hz)
{
  double power = 0;
  for (size_t i = 0; i < list->count; i++) {
    const struct sc_line *line = &list->lines[i];
    if (line->verdict == SC_VERDICT_ARTEFACT && line->level_db_pilot.why == NULL &&
        line->offset_hz.value >= lower_hz && line->offset_hz.value <= upper_hz)
      power += pow(10, line->level_db_pilot.value / 10);
  }
  return power;
}

static bool is_made(const struct sc_quantity *level_db_pilot, double made_power)
{
  return level_db_pilot->why != NULL ||
         made_power > made_share * pow(10, level_db_pilot->value / 10);
}

/* What passed for programme in sum and difference. */
static void judge_programme(struct sc_result *result)
{
  const struct sc_line_list *list = &result->composite_lines;
  struct sc_stereo *stereo = &result->stereo;
  const bool sounds = stereo->mode == SC_MODE_STEREO || stereo->mode == SC_MODE_MONO;
  if (!sounds || result->pilot.present != SC_YES ||
      (stereo->sum_level_db_pilot.why != NULL && stereo->difference_level_db_pilot.why != NULL) ||
      !is_made(&stereo->sum_level_db_pilot, made_between(list, 0, sum_upper_hz)) ||
      !is_made(&stereo->difference_level_db_pilot,
               made_between(list, difference_lower_hz, difference_upper_hz)))
    return;
  stereo->mode = SC_MODE_PILOT_ONLY;
  stereo->interchannel_phase_deg = stereo->interchannel_hz = sc_not_measured(no_programme);
  snprintf(stereo->evidence, sizeof stereo->evidence, "a pilot; %s", no_programme);
}

void analysis_made(struct sc_result *result)
{
  judge_programme(result);
  for (size_t i = 0; i < result->injections.count; i++) {
    struct sc_injection *found = &result->injections.at[i];
    if (found->kind == SC_INJECTION_TONE || found->kind == SC_INJECTION_BAND)
      judge_made(&result->composite_lines, found);
  }
}

void analysis_foreign(const struct analysis_beneath *beneath, const struct sc_trace *air,
                      struct sc_result *result)
{
  struct sc_line_search search;
  const struct sc_carrier *carrier = &result->carrier;
  if (air == NULL || !analysis_beneath_search(beneath, &search) || carrier->offset_hz.why != NULL ||
      carrier->level_dbfs.why != NULL || carrier->noise_density_dbfs_hz.why != NULL)
    return;
  const struct look look = {.beneath = beneath,
                            .air = air,
                            .result = result,
                            .carrier_hz = carrier->offset_hz.value,
                            .noise = pow(10, carrier->noise_density_dbfs_hz.value / 10),
                            .window_hz = fmax(window_least_hz, window_bins / search.record_s)};
  for (size_t i = 0; look.window_hz <= window_most_hz && i < result->injections.count; i++)
    judge(&look, &result->injections.at[i]);
}
