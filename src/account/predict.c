/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Depth first over the components, those of the highest index first, so that a branch is left as
 * soon as nothing below it can reach the floor. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "account/predict.h"

static const double floor_step = 2; /* when there are too many products */

/* Of one component, by order. */
struct factor {
  double value[ACCOUNT_ORDER_MAX + 1]; /* J_n */
  double slope[ACCOUNT_ORDER_MAX + 1]; /* dJ_n / d index */
  double reach[ACCOUNT_ORDER_MAX + 1]; /* |J_n| with the index's uncertainty */
  int top;                             /* highest order that is kept */
  double index, index_uncertainty;
};

struct account_bessel {
  struct factor factors[ACCOUNT_COMPONENTS_MAX]; /* in the order of the components */
  size_t order[ACCOUNT_COMPONENTS_MAX];          /* components by falling index */
  double rest[ACCOUNT_COMPONENTS_MAX + 1];       /* most that the ones from here on can make */
};

static enum sc_error fill_factor(const struct account_component *component, double floor,
                                 struct factor *factor)
{
  factor->index = 1e3 * component->deviation_khz / component->frequency_hz;
  factor->index_uncertainty = 1e3 * component->deviation_uncertainty_khz / component->frequency_hz;
  double before = -jn(1, factor->index), now = jn(0, factor->index);
  for (int n = 0; n <= ACCOUNT_ORDER_MAX; n++) {
    double after = jn(n + 1, factor->index);
    factor->value[n] = now;
    factor->slope[n] = (before - after) / 2;
    factor->reach[n] = hypot(now, factor->slope[n] * factor->index_uncertainty);
    factor->top = n;
    if (n >= factor->index && factor->reach[n] < floor)
      return SC_OK;
    before = now;
    now = after;
  }
  return SC_UNSUPPORTED;
}

static void sort_components(struct account_bessel *bessel, size_t count)
{
  for (size_t i = 0; i < count; i++) {
    size_t at = i;
    double index = bessel->factors[i].index;
    for (; at > 0 && bessel->factors[bessel->order[at - 1]].index < index; at--)
      bessel->order[at] = bessel->order[at - 1];
    bessel->order[at] = i;
  }
}

static double most_of(const struct factor *factor)
{
  double most = 0;
  for (int n = 0; n <= factor->top; n++)
    most = fmax(most, factor->reach[n]);
  return most;
}

static enum sc_error fill_bessel(struct account_prediction *prediction)
{
  struct account_bessel *bessel = prediction->bessel;
  size_t count = prediction->component_count;
  for (size_t i = 0; i < count; i++) {
    enum sc_error error =
        fill_factor(&prediction->components[i], prediction->floor, &bessel->factors[i]);
    if (error != SC_OK)
      return error;
  }
  sort_components(bessel, count);
  bessel->rest[count] = 1;
  for (size_t i = count; i > 0; i--)
    bessel->rest[i - 1] = bessel->rest[i] * most_of(&bessel->factors[bessel->order[i - 1]]);
  return SC_OK;
}

/* ---- the search */

struct branch {
  double value, reach, phase_rad, frequency_hz;
};

struct search {
  struct account_prediction *prediction;
  short orders[ACCOUNT_COMPONENTS_MAX];
  bool full;
};

static void keep(struct search *search, const struct branch *branch)
{
  struct account_prediction *prediction = search->prediction;
  if (prediction->way_count == ACCOUNT_WAYS_MAX) {
    search->full = true;
    return;
  }
  struct account_way *way = &prediction->ways[prediction->way_count++];
  way->frequency_hz = branch->frequency_hz;
  way->amplitude = branch->value * cexp(I * branch->phase_rad);
  memcpy(way->orders, search->orders, sizeof way->orders);
}

static void visit(struct search *search, size_t depth, const struct branch *branch);

static void take(struct search *search, size_t depth, const struct branch *branch, int n)
{
  const struct account_prediction *prediction = search->prediction;
  size_t index = prediction->bessel->order[depth];
  const struct factor *factor = &prediction->bessel->factors[index];
  const struct account_component *component = &prediction->components[index];
  int size = abs(n);
  double sign = n < 0 && size % 2 == 1 ? -1 : 1;
  struct branch next = {branch->value * sign * factor->value[size],
                        branch->reach * factor->reach[size],
                        branch->phase_rad + n * component->phase_rad,
                        branch->frequency_hz + n * component->frequency_hz};
  search->orders[index] = (short)n;
  visit(search, depth + 1, &next);
  search->orders[index] = 0;
}

static void visit(struct search *search, size_t depth, const struct branch *branch)
{
  const struct account_prediction *prediction = search->prediction;
  const struct account_bessel *bessel = prediction->bessel;
  if (depth == prediction->component_count) {
    keep(search, branch);
    return;
  }
  const struct factor *factor = &bessel->factors[bessel->order[depth]];
  double most = branch->reach * bessel->rest[depth + 1];
  for (int n = 0; n <= factor->top && !search->full; n++) {
    if (most * factor->reach[n] < prediction->floor)
      continue;
    take(search, depth, branch, n);
    if (n > 0)
      take(search, depth, branch, -n);
  }
}

static void find_ways(struct account_prediction *prediction)
{
  struct search search = {.prediction = prediction, .full = true};
  for (; search.full; prediction->floor *= floor_step) {
    static const struct branch root = {1, 1, 0, 0};
    search.full = false;
    prediction->way_count = 0;
    visit(&search, 0, &root);
    if (!search.full)
      return;
  }
}

/* ---- ways of one frequency to spots */

static int by_frequency(const void *a, const void *b)
{
  const struct account_way *left = a, *right = b;
  return (left->frequency_hz > right->frequency_hz) - (left->frequency_hz < right->frequency_hz);
}

static int by_strength(const void *a, const void *b)
{
  double left = cabs(((const struct account_way *)a)->amplitude);
  double right = cabs(((const struct account_way *)b)->amplitude);
  return (left < right) - (left > right);
}

static void close_spot(struct account_prediction *prediction, size_t first, size_t end)
{
  struct account_spot *spot = &prediction->spots[prediction->spot_count++];
  *spot = (struct account_spot){.first = first, .count = end - first};
  if (spot->count > 1)
    qsort(prediction->ways + first, spot->count, sizeof *prediction->ways, by_strength);
  for (size_t i = first; i < end; i++)
    spot->amplitude += prediction->ways[i].amplitude;
  spot->frequency_hz = prediction->ways[first].frequency_hz;
  double size = cabs(spot->amplitude);
  prediction->power += size * size;
}

static void gather(struct account_prediction *prediction, double tolerance_hz)
{
  struct account_way *ways = prediction->ways;
  size_t count = prediction->way_count, first = 0;
  if (count > 0)
    qsort(ways, count, sizeof *ways, by_frequency);
  double start_hz = count > 0 ? ways[0].frequency_hz : 0;
  for (size_t i = 0; i < count; i++) {
    if (ways[i].frequency_hz - start_hz <= tolerance_hz)
      continue;
    start_hz = ways[i].frequency_hz;
    close_spot(prediction, first, i);
    first = i;
  }
  if (count > 0)
    close_spot(prediction, first, count);
}

static bool sensible(const struct account_component *components, size_t count, double floor)
{
  bool good = floor > 0;
  for (size_t i = 0; i < count; i++)
    good = good && components[i].frequency_hz > 0 && components[i].deviation_khz >= 0 &&
           components[i].deviation_uncertainty_khz >= 0 && isfinite(components[i].phase_rad);
  return good;
}

enum sc_error account_predict(const struct account_component *components, size_t count,
                              double floor, double tolerance_hz,
                              struct account_prediction *prediction)
{
  *prediction = (struct account_prediction){.floor = floor};
  if (count > ACCOUNT_COMPONENTS_MAX)
    return SC_UNSUPPORTED;
  if (!sensible(components, count, floor))
    return SC_BAD_ARGUMENT;
  for (size_t i = 0; i < count; i++)
    prediction->components[i] = components[i];
  prediction->component_count = count;
  prediction->bessel = calloc(1, sizeof *prediction->bessel);
  prediction->ways = malloc(ACCOUNT_WAYS_MAX * sizeof *prediction->ways);
  prediction->spots = malloc(ACCOUNT_WAYS_MAX * sizeof *prediction->spots);
  if (prediction->bessel == NULL || prediction->ways == NULL || prediction->spots == NULL)
    return SC_NO_MEMORY;
  enum sc_error error = fill_bessel(prediction);
  if (error != SC_OK)
    return error;
  find_ways(prediction);
  gather(prediction, tolerance_hz);
  return SC_OK;
}

const struct account_spot *account_spot_near(const struct account_prediction *prediction,
                                             double frequency_hz, double tolerance_hz)
{
  const struct account_spot *spots = prediction->spots, *best = NULL;
  size_t low = 0, high = prediction->spot_count;
  while (low < high) {
    size_t middle = low + (high - low) / 2;
    if (spots[middle].frequency_hz < frequency_hz - tolerance_hz)
      low = middle + 1;
    else
      high = middle;
  }
  for (; low < prediction->spot_count && spots[low].frequency_hz <= frequency_hz + tolerance_hz;
       low++)
    if (best == NULL || cabs(spots[low].amplitude) > cabs(best->amplitude))
      best = &spots[low];
  return best;
}

double account_spot_neighbours(const struct account_prediction *prediction,
                               const struct account_spot *spot, double within_hz)
{
  const struct account_spot *end = prediction->spots + prediction->spot_count;
  double power = 0;
  for (const struct account_spot *next = spot + 1;
       next < end && next->frequency_hz - spot->frequency_hz < within_hz; next++)
    power += creal(next->amplitude * conj(next->amplitude));
  for (const struct account_spot *next = spot;
       next > prediction->spots && spot->frequency_hz - next[-1].frequency_hz < within_hz; next--)
    power += creal(next[-1].amplitude * conj(next[-1].amplitude));
  return sqrt(power);
}

/* ---- uncertainty */

/* The way with the slope of one component's factor in place of its value. */
static double complex way_slope(const struct account_prediction *prediction,
                                const struct account_way *way, size_t component)
{
  double slope = 1, phase_rad = 0;
  for (size_t i = 0; i < prediction->component_count; i++) {
    const struct factor *factor = &prediction->bessel->factors[i];
    int n = way->orders[i], size = abs(n);
    slope *= i == component ? factor->slope[size] : factor->value[size];
    slope *= n < 0 && size % 2 == 1 ? -1 : 1;
    phase_rad += n * prediction->components[i].phase_rad;
  }
  return slope * cexp(I * phase_rad);
}

struct spread {
  double along, whole; /* variances along the amplitude, and of both its parts */
};

static void widen(struct spread *spread, double complex change, double complex direction)
{
  double along = creal(change * conj(direction)), whole = cabs(change);
  spread->along += along * along;
  spread->whole += whole * whole;
}

static struct spread spread_of(const struct account_prediction *prediction,
                               const struct account_spot *spot)
{
  struct spread spread = {0};
  double size = cabs(spot->amplitude);
  double complex direction = size > 0 ? spot->amplitude / size : 0;
  for (size_t i = 0; i < prediction->component_count; i++) {
    double complex by_index = 0, by_phase = 0;
    for (size_t k = spot->first; k < spot->first + spot->count; k++) {
      const struct account_way *way = &prediction->ways[k];
      by_index += way_slope(prediction, way, i);
      by_phase += I * way->orders[i] * way->amplitude;
    }
    widen(&spread, by_index * prediction->bessel->factors[i].index_uncertainty, direction);
    widen(&spread, by_phase * prediction->components[i].phase_uncertainty_rad, direction);
  }
  return spread;
}

double account_spot_uncertainty(const struct account_prediction *prediction,
                                const struct account_spot *spot)
{
  struct spread spread = spread_of(prediction, spot);
  double whole = sqrt(spread.whole);
  return cabs(spot->amplitude) < 2 * whole ? whole : sqrt(spread.along);
}

double account_spot_spread(const struct account_prediction *prediction,
                           const struct account_spot *spot)
{
  return sqrt(spread_of(prediction, spot).whole);
}

void account_prediction_destroy(struct account_prediction *prediction)
{
  free(prediction->bessel);
  free(prediction->ways);
  free(prediction->spots);
  *prediction = (struct account_prediction){0};
}
