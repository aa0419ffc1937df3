/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "analysis/explain.h"

#include <math.h>
#include <stdlib.h>

#include "account/account.h"
#include "analysis/linelist.h"
#include "analysis/rounded.h"
#include "analysis/unwanted.h"

enum { PASSES_MAX = 8 };

/* A line that the spectrum would show is seen there when it is so much stronger. */
static const double surely_db = 3;

/* Only what the spectrum hides is beneath the modulation; or a line of the modulation that passes
 * by in the search on air, while the carrier drifts. */
static void mark_hidden(const struct sc_trace *air, const struct sc_result *result,
                        struct sc_line_list *list)
{
  for (size_t i = 0; air != NULL && air->points > 0 && i < list->count; i++) {
    struct sc_line *line = &list->lines[i];
    const double shown = analysis_spectrum_shows_dbc(air, result, line->offset_hz.value);
    line->beneath = line->tone.still || line->level_dbc.value < shown + surely_db;
  }
}

/* By index of the lines on air; to be freed. NULL: there is no memory. */
static double *levels_shown(const struct analysis_beneath *beneath, const struct sc_result *result)
{
  const struct sc_line_list *air = &result->air_lines;
  double *shows_dbc = malloc((air->count + 1) * sizeof *shows_dbc);
  for (size_t i = 0; shows_dbc != NULL && i < air->count; i++)
    shows_dbc[i] = analysis_beneath_shows_dbc(beneath, result, air->lines[i].offset_hz.value);
  return shows_dbc;
}

static enum sc_error run_pass(struct analysis_beneath *beneath, const struct sc_trace *air,
                              struct sc_result *result, struct account_beneath *found)
{
  if (beneath == NULL || result->air_lines.why != NULL)
    return account_explain(result, found);
  enum sc_error error = analysis_beneath_lines(beneath, &result->carrier, &found->list);
  if (error != SC_OK)
    return error;
  double *shows_dbc = levels_shown(beneath, result);
  if (shows_dbc == NULL)
    return SC_NO_MEMORY;
  mark_hidden(air, result, &found->list);
  found->shows_dbc = shows_dbc;
  found->rate_hz = analysis_beneath_rate_hz(beneath);
  found->mean_s = analysis_beneath_mean_s(beneath);
  error = account_explain(result, found);
  found->shows_dbc = NULL;
  free(shows_dbc);
  return error;
}

static enum sc_error run_passes(struct analysis_beneath *beneath, const struct sc_trace *air,
                                double image, struct sc_result *result, double *least_dbc)
{
  enum sc_error error = SC_OK;
  bool more = true;
  for (unsigned pass = 0; error == SC_OK && more; pass++) {
    struct account_beneath found = {.list = {.count = 0}, .image = image};
    error = run_pass(beneath, air, result, &found);
    *least_dbc = found.list.why == NULL ? found.least_dbc : INFINITY;
    more = found.list.count > 0 && pass < PASSES_MAX;
    if (error == SC_OK && more)
      error = analysis_lines_join(&result->air_lines, &found.list);
    free(found.list.lines);
  }
  return error;
}

static enum sc_error explain(struct analysis_beneath *beneath, struct analysis_rounded *rounded,
                             const struct sc_trace *air, double image, struct sc_result *result,
                             double *least_dbc)
{
  bool again = false;
  enum sc_error error = run_passes(beneath, air, image, result, least_dbc);
  if (error == SC_OK)
    error = analysis_rounded_mark(rounded, result, &again);
  if (error == SC_OK && again) {
    analysis_lines_drop_beneath(&result->air_lines);
    error = run_passes(beneath, air, image, result, least_dbc);
  }
  return error;
}

/* Of a carrier that jumps the lines are those of one stretch: it is where it was in that. */
enum sc_error analysis_explain(struct analysis_beneath *beneath, struct analysis_rounded *rounded,
                               const struct sc_trace *air, double image, struct sc_result *result,
                               double *least_dbc)
{
  const struct sc_quantity offset_hz = result->carrier.offset_hz;
  const struct sc_quantity frequency_hz = result->carrier_frequency_hz;
  if (result->air_lines.jumped) {
    result->carrier.offset_hz = result->air_lines.stretch_hz;
    result->carrier_frequency_hz.value += result->air_lines.stretch_hz.value - offset_hz.value;
  }
  const enum sc_error error = explain(beneath, rounded, air, image, result, least_dbc);
  result->carrier.offset_hz = offset_hz;
  result->carrier_frequency_hz = frequency_hz;
  return error;
}
