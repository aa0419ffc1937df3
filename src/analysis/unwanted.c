/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Counts the lines of other sources, and says which would have been found where. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>

#include "account/beneath.h"
#include "analysis/bands.h"
#include "analysis/unwanted.h"
#include "analysis/windows.h"

/* From here on a mask limits what is beside the channel (47 CFR 73.317(b)). */
static const double beside_hz = 120e3;
/* Borders of the spans: the programme's bulk, the pilot's and subcarriers' reach, the channel's
 * edge, and what lies beside it. */
static const double borders_hz[] = {
    ACCOUNT_BENEATH_FROM_HZ, 30e3, 60e3, 120e3, 240e3, 600e3, 1.2e6, 5e6};
static const double quantile_99 = 2.3263; /* of the normal distribution, one-sided */
/* What the search's window costs against the bare threshold. Measured: 58 of 60 were found with 1
 * dB in one record, 300 of 300 with 2 dB; tests/analysis/unwanted_test.c tries it on. */
static const double search_loss_db = 2;
static const double noise_of_remainder = 2; /* of the noise's density, see measure/remainder.h */
static const double around_hz = 2500;       /* a window of 2 kHz, wherever it begins */
static const double modulation_db = 3;      /* over the noise: the modulation hides weaker lines */

void analysis_unwanted_refuse(struct sc_unwanted *unwanted, const char *why)
{
  const struct sc_quantity none = sc_not_measured(why);
  *unwanted = (struct sc_unwanted){.count = none,
                                   .strongest_dbc = none,
                                   .strongest_dbm = none,
                                   .strongest_offset_hz = none,
                                   .strongest_at_most_dbc = none,
                                   .beside_at_most_dbc = none};
}

static void count_lines(const struct sc_line_list *list, struct sc_unwanted *unwanted)
{
  const struct sc_line *strongest = NULL;
  size_t count = 0;
  for (size_t i = 0; i < list->count; i++) {
    const struct sc_line *line = &list->lines[i];
    if (line->verdict != SC_VERDICT_SPURIOUS)
      continue;
    count++;
    if (strongest == NULL || line->level_dbc.value > strongest->level_dbc.value)
      strongest = line;
  }
  const char *none = "no line of another source was found";
  unwanted->count = sc_measured((double)count, (double)NAN);
  unwanted->strongest_dbc = strongest != NULL ? strongest->level_dbc : sc_not_measured(none);
  unwanted->strongest_offset_hz = strongest != NULL ? strongest->offset_hz : sc_not_measured(none);
}

/* Largest power per hertz within a span of the trace; 0: the span is not in the trace. */
static double densest(const struct sc_trace *air, double from_hz, double to_hz)
{
  double low = ceil((from_hz - air->start_hz) / air->step_hz);
  double high = floor((to_hz - air->start_hz) / air->step_hz);
  size_t bins = analysis_window_bins(air);
  low = fmax(low, 0);
  high = fmin(high, (double)air->points - 1);
  double most = 0;
  for (double at = low; at + (double)bins - 1 <= high; at += (double)bins)
    most = fmax(most, analysis_window_median(air->mean + (size_t)at, bins) / air->rbw_hz);
  return most;
}

static double level_seen_dbc(const struct sc_line_search *search, double density,
                             const struct sc_carrier *carrier)
{
  double threshold = pow(10, search->threshold_db / 10);
  double energy = pow(sqrt(2 * threshold) + quantile_99, 2) / 2;
  return 10 * log10(energy * density / search->record_s) + search_loss_db -
         carrier->level_dbfs.value;
}

/* Of a search that kept only the strongest: a line was kept from here on. */
static double level_kept_dbc(const struct sc_line_search *search, const struct sc_carrier *carrier)
{
  const struct sc_quantity *weakest = &search->weakest_db;
  if (weakest->why != NULL)
    return -(double)INFINITY;
  double doubt = quantile_99 * sqrt(2) * weakest->uncertainty;
  return weakest->value + doubt - carrier->level_dbfs.value;
}

/* By the worst of the searches that cover a part of the span. */
static double level_found_dbc(const struct sc_result *result, const struct sc_seen_span *span,
                              double density, bool *by_list)
{
  const struct sc_line_list *list = &result->air_lines;
  double level = -(double)INFINITY, reached = 0;
  for (size_t i = 0; i < list->search_count; i++) {
    const struct sc_line_search *search = &list->searches[i];
    bool covers = reached < span->upper_hz.value && search->reach_hz > span->lower_hz.value;
    reached = search->reach_hz;
    if (!covers)
      continue;
    double seen = level_seen_dbc(search, density, &result->carrier);
    double kept = level_kept_dbc(search, &result->carrier);
    if (fmax(seen, kept) > level)
      *by_list = kept > seen;
    level = fmax(level, fmax(seen, kept));
  }
  return level;
}

double analysis_spectrum_shows_dbc(const struct sc_trace *air, const struct sc_result *result,
                                   double offset_hz)
{
  const double place = result->carrier.offset_hz.value + offset_hz, away_hz = fabs(offset_hz);
  const double density = densest(air, place - around_hz, place + around_hz);
  const struct sc_seen_span here = {.lower_hz = sc_measured(away_hz, (double)NAN),
                                    .upper_hz = sc_measured(away_hz, (double)NAN)};
  bool by_list;
  const double level = density > 0 ? level_found_dbc(result, &here, density, &by_list) : INFINITY;
  return isfinite(level) ? level : INFINITY;
}

double analysis_beneath_shows_dbc(const struct analysis_beneath *beneath,
                                  const struct sc_result *result, double offset_hz)
{
  struct sc_line_search search;
  const double place = result->carrier.offset_hz.value + offset_hz;
  const double density = analysis_beneath_floor(beneath, place - around_hz, place + around_hz);
  return analysis_beneath_search(beneath, &search) && density > 0
             ? level_seen_dbc(&search, density, &result->carrier)
             : INFINITY;
}

static enum sc_truth is_raised(double density, const struct sc_carrier *carrier)
{
  double over_noise = 10 * log10(density) - carrier->noise_density_dbfs_hz.value;
  return over_noise > modulation_db ? SC_YES : SC_NO;
}

/* The same in what a limiter takes away, if that is lower. */
static void judge_beneath(const struct analysis_beneath *beneath, double least_dbc,
                          const struct sc_carrier *carrier, struct sc_seen_span *span)
{
  struct sc_line_search search;
  double lower = span->lower_hz.value, upper = span->upper_hz.value;
  if (!analysis_beneath_search(beneath, &search) || lower < search.reach_hz)
    return;
  double centre = carrier->offset_hz.value;
  double above = analysis_beneath_floor(beneath, centre + lower, centre + upper);
  double below = analysis_beneath_floor(beneath, centre - upper, centre - lower);
  double level = fmax(level_seen_dbc(&search, fmax(above, below), carrier), least_dbc);
  if (isnan(above) || isnan(below) || !(level < span->level_dbc.value))
    return;
  span->level_dbc.value = level;
  span->by_full_list = SC_NO;
  span->by_modulation = is_raised(fmax(above, below) / noise_of_remainder, carrier);
}

static bool judge_span(const struct sc_trace *air, const struct sc_result *result, double lower,
                       double upper, struct sc_seen_span *span)
{
  const struct sc_carrier *carrier = &result->carrier;
  double centre = carrier->offset_hz.value;
  double top = fmax(upper, lower + around_hz);
  double density =
      fmax(densest(air, centre + lower, centre + top), densest(air, centre - top, centre - lower));
  if (result->air_lines.search_count == 0 || !(density > 0))
    return false;
  bool by_list = false;
  *span = (struct sc_seen_span){.lower_hz = sc_measured(lower, (double)NAN),
                                .upper_hz = sc_measured(upper, (double)NAN)};
  span->level_dbc = sc_measured(level_found_dbc(result, span, density, &by_list), (double)NAN);
  span->by_full_list = by_list ? SC_YES : SC_NO;
  span->by_modulation = by_list ? SC_NO : is_raised(density, carrier);
  return isfinite(span->level_dbc.value);
}

/* Where one search ends and the next begins there is one as well. */
static double next_border_hz(const struct sc_line_list *list, double lower)
{
  double next = INFINITY;
  for (size_t i = 0; i < sizeof borders_hz / sizeof *borders_hz; i++)
    if (borders_hz[i] > lower)
      next = fmin(next, borders_hz[i]);
  for (size_t i = 0; i < list->search_count; i++)
    if (list->searches[i].reach_hz > lower)
      next = fmin(next, list->searches[i].reach_hz);
  return next;
}

/* No line so far from the carrier, or farther, is stronger. */
static struct sc_quantity bound_from(const struct sc_line_list *list,
                                     const struct sc_unwanted *unwanted, double from_hz,
                                     const char *unreached)
{
  struct sc_quantity worst = sc_not_measured(unreached);
  for (size_t i = 0; i < unwanted->seen_count; i++) {
    const struct sc_seen_span *span = &unwanted->seen[i];
    if (span->lower_hz.value >= from_hz &&
        (worst.why != NULL || span->level_dbc.value > worst.value))
      worst = span->level_dbc;
  }
  for (size_t i = 0; worst.why == NULL && i < list->count; i++) {
    const struct sc_line *line = &list->lines[i];
    bool open = line->verdict == SC_VERDICT_SPURIOUS || line->verdict == SC_VERDICT_UNKNOWN ||
                line->verdict == SC_VERDICT_RESIDUAL;
    if (open && fabs(line->offset_hz.value) >= from_hz && line->level_dbc.value > worst.value)
      worst = line->level_dbc;
  }
  if (worst.why == NULL)
    worst.uncertainty = (double)NAN; /* a bound, no estimate */
  return worst;
}

void analysis_unwanted(const struct sc_trace *air, const struct analysis_beneath *beneath,
                       double least_dbc, struct sc_result *result)
{
  struct sc_unwanted *unwanted = &result->unwanted;
  if (result->air_lines.why != NULL) {
    analysis_unwanted_refuse(unwanted, result->air_lines.why);
    return;
  }
  *unwanted = (struct sc_unwanted){.seen_count = 0};
  count_lines(&result->air_lines, unwanted);
  double lower = 0;
  while (air != NULL && air->points > 0 && unwanted->seen_count < SC_SEEN_SPANS_MAX) {
    double upper = next_border_hz(&result->air_lines, lower);
    if (!isfinite(upper))
      break;
    unwanted->seen_count +=
        judge_span(air, result, lower, upper, &unwanted->seen[unwanted->seen_count]);
    lower = upper;
  }
  for (size_t i = 0; i < unwanted->seen_count; i++)
    judge_beneath(beneath, least_dbc, &result->carrier, &unwanted->seen[i]);
  if (air != NULL)
    analysis_bands(air, beneath, result);
  unwanted->strongest_at_most_dbc =
      bound_from(&result->air_lines, unwanted, 0, "the spectrum beside the lines is not known");
  unwanted->beside_at_most_dbc = bound_from(&result->air_lines, unwanted, beside_hz,
                                            "the capture does not reach 120 kHz from the carrier");
}
