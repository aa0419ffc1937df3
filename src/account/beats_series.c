/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "account/beats_series.h"

#include <math.h>

enum { FOLDS = 2 };                    /* of the rate, to either side of the nearest */
static const double least_share = 0.1; /* of the weakest line of the composite: a term's */
static const double least_beat = 0.1;  /* of that, again: of a term with one line */

static double weakest_index(const struct sc_line_list *list)
{
  double weakest = INFINITY;
  for (size_t i = 0; i < list->count; i++)
    if (list->lines[i].deviation_khz.why == NULL && list->lines[i].offset_hz.value > 0)
      weakest = fmin(weakest, account_index(&list->lines[i]));
  return weakest;
}

/* ---- terms */

/* Adds the product so far, and those with more of the makers from k on. `ways` of the sum's power
 * lead to it. */
static void add_terms(struct account_series *series, struct account_term product, double ways,
                      size_t k, int times)
{
  if (product.order > 0 && series->term_count < ACCOUNT_TERMS_MAX) {
    struct account_term *term = &series->terms[series->term_count];
    *term = product;
    term->amplitude *= (product.order % 2 == 0 ? -1 : 1) * ways / product.order;
    series->term_count += cabs(term->amplitude) >= series->least;
  }
  for (size_t i = k; i < series->maker_count && product.order < ACCOUNT_BEAT_ORDER_MAX; i++) {
    const struct account_maker *maker = &series->makers[i];
    const int more = i == k ? times + 1 : 1;
    struct account_term next = product;
    next.order++;
    next.offset_hz += maker->line->offset_hz.value;
    next.uncertainty_hz += maker->line->offset_hz.uncertainty;
    next.amplitude *= maker->amplitude;
    next.doubt += maker->doubt;
    next.leader = product.leader == NULL ? maker->line : product.leader;
    const double next_ways = ways * next.order / more;
    if (cabs(next.amplitude) * next_ways >= series->least)
      add_terms(series, next, next_ways, i, more);
  }
}

static void find_terms(const struct account_scene *scene, struct account_series *series)
{
  series->term_count = 0;
  series->least = least_share * weakest_index(&scene->result->composite_lines);
  add_terms(series, (struct account_term){.amplitude = 1}, 1, 0, 0);
}

/* ---- what they beat with */

void account_series_destroy(struct account_series *series)
{
  for (int n = 1; n <= ACCOUNT_BEAT_ORDER_MAX; n++)
    account_prediction_destroy(&series->powers[n]);
  series->order = 0;
}

/* Down to lines whose beats are of use. */
static enum sc_error find_powers(struct account_scene *scene, struct account_series *series)
{
  double strongest[ACCOUNT_BEAT_ORDER_MAX + 1] = {0};
  account_series_destroy(series);
  for (size_t i = 0; i < series->term_count; i++)
    strongest[series->terms[i].order] =
        fmax(strongest[series->terms[i].order], cabs(series->terms[i].amplitude));
  for (int n = 1; n <= ACCOUNT_BEAT_ORDER_MAX && strongest[n] > 0; n++) {
    const double floor = fmax(least_beat * series->least / strongest[n], scene->floor);
    const enum sc_error error =
        account_predict_times(scene, n, fmin(floor, 0.1), &series->powers[n]);
    if (error == SC_UNSUPPORTED)
      break;
    if (error != SC_OK)
      return error;
    series->order = n;
  }
  return SC_OK;
}

enum sc_error account_series_find(struct account_scene *scene, struct account_series *series)
{
  find_terms(scene, series);
  return find_powers(scene, series);
}

/* ---- beats at a place */

static void add_way(const struct account_series *series, const struct account_term *term,
                    double line_hz, double tolerance_hz, bool above, double sign,
                    struct account_beat *beat)
{
  const struct account_prediction *power = &series->powers[term->order];
  const struct account_spot *spot = account_spot_near(power, line_hz, tolerance_hz);
  if (spot == NULL)
    return;
  const double complex way = sign * term->amplitude * conj(spot->amplitude);
  const double size = cabs(way);
  beat->sum += above ? -conj(way) : way;
  beat->sizes += size;
  beat->doubt = hypot(beat->doubt, hypot(size * term->doubt,
                                         cabs(term->amplitude) * account_spot_spread(power, spot)));
  if (size > beat->strongest) {
    beat->strongest = size;
    beat->leader = term;
  }
}

/* The middle of a record of an odd number of samples is between two of them. */
struct account_beat account_series_beat(const struct account_scene *scene,
                                        const struct account_series *series,
                                        const struct sc_line *line)
{
  const struct sc_result *result = scene->result;
  const struct sc_line_list *list = &result->composite_lines;
  const double rate_hz = result->composite_rate_hz.value, hz = line->offset_hz.value;
  const bool odd = lround(list->record_s * rate_hz) % 2 != 0;
  struct account_beat beat = {.leader = NULL};
  for (size_t i = 0; i < series->term_count; i++) {
    const struct account_term *term = &series->terms[i];
    const double tolerance_hz =
        account_exact_hz(list, hypot(line->offset_hz.uncertainty, term->uncertainty_hz));
    const long nearest = lround(term->offset_hz / rate_hz);
    for (long fold = nearest - FOLDS; fold <= nearest + FOLDS && term->order <= series->order;
         fold++) {
      const double offset_hz = term->offset_hz - (double)fold * rate_hz;
      const double sign = odd && fold % 2 != 0 ? -1 : 1;
      add_way(series, term, offset_hz - hz, tolerance_hz, false, sign, &beat);
      add_way(series, term, offset_hz + hz, tolerance_hz, true, sign, &beat);
    }
  }
  return beat;
}
