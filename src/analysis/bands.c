/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The averaged spectrum in windows of 2 kHz: medians, which single lines do not move, that stand
 * above the capture's noise beyond what the modulation takes up. Neighbours make one band. Lines so
 * close that the spectrum does not part them, as the outer ones of a strong tone, would move the
 * medians: what was found as lines is taken off. */
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
static const double edge_share = 0.96; /* of half the rate: beyond, receivers' filters fall */

struct walk {
  const struct sc_trace *air;
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
  if (!stands || unwanted->band_count == SC_UNWANTED_BANDS_MAX) {
    close_band(walk, unwanted);
    return;
  }
  if (walk->open == NULL) {
    walk->open = &unwanted->bands[unwanted->band_count];
    walk->open->lower_hz = sc_measured(lower - carrier, (double)NAN);
    walk->power = 0;
  }
  walk->open->upper_hz = sc_measured(upper - carrier, (double)NAN);
  walk->power += (rest.likely / air->rbw_hz - walk->noise) * (upper - lower);
}

void analysis_bands(const struct sc_trace *air, struct sc_result *result)
{
  const struct sc_carrier *carrier = &result->carrier;
  const struct sc_quantity *carson = &result->occupancy.carson_hz;
  struct sc_unwanted *unwanted = &result->unwanted;
  if (carrier->noise_density_dbfs_hz.why != NULL || carson->why != NULL || air->points == 0)
    return;
  double half_rate = air->step_hz * (double)air->points / 2;
  struct walk walk = {.air = air,
                      .result = result,
                      .noise = pow(10, carrier->noise_density_dbfs_hz.value / 10),
                      .inner_hz = carson->value / 2 + beside_hz,
                      .outer_hz = edge_share * half_rate};
  size_t bins = analysis_window_bins(air);
  for (size_t first = 0; first + bins <= air->points; first += bins)
    take_window(&walk, first, bins, unwanted);
  close_band(&walk, unwanted);
}
