/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The averaged spectrum in windows of 2 kHz: medians, which single lines do not move, that stand
 * above the capture's noise beyond what the modulation takes up. Neighbours make one band. Lines so
 * close that the spectrum does not part them, as the outer ones of a strong tone, would move the
 * medians: what was found as lines is taken off. Of many tones, or where the carrier drifts, not
 * all are found: as far as the channel's filter reaches, what leaves the envelope alone is told
 * apart by what a limiter takes away (measure/remainder.h). */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <string.h>

#include "analysis/bands.h"
#include "analysis/windows.h"

/* A receiver's own noise is seldom level: less than this is not called a signal (our choice). */
static const double above_noise_db = 3;
/* Beside half of Carson's bandwidth, where the outer lines of a fully modulated signal end. */
static const double beside_hz = 30e3;
static const double edge_share = 0.96;      /* of half the rate: beyond, receivers' filters fall */
static const double noise_of_remainder = 2; /* of the noise's density */
/* Of a signal beside the carrier all of its density is in the remainder, of FM nothing. */
static const double foreign_share = 0.5;

struct walk {
  const struct sc_trace *air;
  const struct analysis_beneath *beneath;
  const struct sc_result *result;
  double noise;                  /* power per hertz */
  double inner_hz, outer_hz;     /* offsets from the carrier; from the centre */
  struct sc_unwanted_band *open; /* the band that the last window belonged to */
  double power;
};

static bool is_judged(const struct walk *walk, double lower_hz, double upper_hz)
{
  double carrier = walk->result->carrier.offset_hz.value;
  bool beside = upper_hz < carrier - walk->inner_hz || lower_hz > carrier + walk->inner_hz;
  return beside && lower_hz > -walk->outer_hz && upper_hz < walk->outer_hz;
}

static void close_band(struct walk *walk, struct sc_unwanted *unwanted)
{
  const struct sc_quantity *carrier = &walk->result->carrier.level_dbfs;
  if (walk->open == NULL)
    return;
  double bins = (walk->open->upper_hz.value - walk->open->lower_hz.value) / walk->air->rbw_hz;
  double scatter = 1 / sqrt(fmax(bins * walk->air->independent_records, 1));
  double uncertainty = 10 / log(10) * scatter;
  walk->open->level_dbc = sc_measured(10 * log10(walk->power) - carrier->value,
                                      hypot(uncertainty, carrier->uncertainty));
  unwanted->band_count++;
  walk->open = NULL;
}

/* What stands there over the noise leaves the envelope alone. */
static enum sc_truth is_of_phase(const struct walk *walk, double lower_hz, double upper_hz,
                                 double density)
{
  struct sc_line_search search;
  if (!analysis_beneath_search(walk->beneath, &search))
    return SC_UNKNOWN;
  const double floor = analysis_beneath_floor(walk->beneath, lower_hz, upper_hz);
  if (isnan(floor))
    return SC_UNKNOWN;
  const double foreign = floor - noise_of_remainder * walk->noise;
  return foreign < foreign_share * (density - walk->noise) ? SC_YES : SC_NO;
}

/* Another signal goes on beyond the channel, where the envelope tells nothing. */
static bool goes_on(const struct sc_unwanted_band *band, enum sc_truth of_phase)
{
  return (band->of_phase == SC_YES) == (of_phase == SC_YES);
}

static void take_window(struct walk *walk, size_t first, size_t bins, struct sc_unwanted *unwanted)
{
  const struct sc_trace *air = walk->air;
  double carrier = walk->result->carrier.offset_hz.value;
  double lower = air->start_hz + ((double)first - 0.5) * air->step_hz;
  double upper = lower + (double)bins * air->step_hz;
  bool judged = is_judged(walk, lower, upper);
  struct analysis_rest rest = {0, 0};
  if (judged)
    rest = analysis_window_rest(air, first, bins, &walk->result->air_lines);
  bool stands = rest.surely / air->rbw_hz > walk->noise * pow(10, above_noise_db / 10);
  enum sc_truth of_phase = SC_UNKNOWN;
  if (stands)
    of_phase = is_of_phase(walk, lower, upper, rest.likely / air->rbw_hz);
  if (!stands || (walk->open != NULL && !goes_on(walk->open, of_phase)))
    close_band(walk, unwanted);
  if (!stands || unwanted->band_count == SC_UNWANTED_BANDS_MAX)
    return;
  if (walk->open == NULL) {
    walk->open = &unwanted->bands[unwanted->band_count];
    walk->open->of_phase = of_phase;
    walk->open->lower_hz = sc_measured(lower - carrier, (double)NAN);
    walk->power = 0;
  }
  if (of_phase == SC_NO)
    walk->open->of_phase = SC_NO;
  walk->open->upper_hz = sc_measured(upper - carrier, (double)NAN);
  walk->power += (rest.likely / air->rbw_hz - walk->noise) * (upper - lower);
}

void analysis_bands(const struct sc_trace *air, const struct analysis_beneath *beneath,
                    struct sc_result *result)
{
  const struct sc_carrier *carrier = &result->carrier;
  const struct sc_quantity *carson = &result->occupancy.carson_hz;
  struct sc_unwanted *unwanted = &result->unwanted;
  if (carrier->noise_density_dbfs_hz.why != NULL || carson->why != NULL || air->points == 0)
    return;
  double half_rate = air->step_hz * (double)air->points / 2;
  struct walk walk = {.air = air,
                      .beneath = beneath,
                      .result = result,
                      .noise = pow(10, carrier->noise_density_dbfs_hz.value / 10),
                      .inner_hz = carson->value / 2 + beside_hz,
                      .outer_hz = edge_share * half_rate};
  size_t bins = analysis_window_bins(air);
  for (size_t first = 0; first + bins <= air->points; first += bins)
    take_window(&walk, first, bins, unwanted);
  close_band(&walk, unwanted);
}
