/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* One component after the other, those of the highest index first; what cannot reach the floor with
 * the ones to come is left out at once. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "account/bessel.h"
#include "account/predict.h"

static const double floor_step = 2; /* when there are too many products */

/* ---- one component after the other */

/* The spots so far, moved by one order of the component: those are in order already, and all
 * orders are merged by their frequencies. */
struct moved {
  int order;
  size_t next;         /* spot */
  double frequency_hz; /* of that one, moved */
  double complex factor;
};

struct stage {
  const struct account_spot *from;
  size_t count;
  struct account_nodes *nodes;
  const struct account_factor *factor;
  size_t component;
  double frequency_hz, phase_rad;
  double least;                                 /* reach of a product that is of use */
  double tolerance_hz;                          /* of one spot */
  struct moved heap[2 * ACCOUNT_ORDER_MAX + 1]; /* the lowest frequency first */
  size_t orders;
  double dropped; /* power of all products that were of no use, with what they would lead to */
};

static double square(double complex amplitude)
{
  return creal(amplitude) * creal(amplitude) + cimag(amplitude) * cimag(amplitude);
}

/* The next spot of this order that is of use. */
static bool advance(struct stage *stage, struct moved *moved)
{
  double reach = stage->factor->reach[abs(moved->order)];
  double value = stage->factor->value[abs(moved->order)];
  for (; moved->next < stage->count; moved->next++) {
    const struct account_spot *from = &stage->from[moved->next];
    if (from->reach * reach >= stage->least)
      break;
    stage->dropped += square(from->amplitude) * value * value;
  }
  if (moved->next == stage->count)
    return false;
  moved->frequency_hz = stage->from[moved->next].frequency_hz + moved->order * stage->frequency_hz;
  return true;
}

static void sift(struct stage *stage, size_t at)
{
  struct moved *heap = stage->heap, moved = heap[at];
  for (size_t child = 2 * at + 1; child < stage->orders; child = 2 * at + 1) {
    if (child + 1 < stage->orders && heap[child + 1].frequency_hz < heap[child].frequency_hz)
      child++;
    if (!(heap[child].frequency_hz < moved.frequency_hz))
      break;
    heap[at] = heap[child];
    at = child;
  }
  heap[at] = moved;
}

static void start_stage(struct stage *stage)
{
  stage->orders = 0;
  for (int n = -stage->factor->top; n <= stage->factor->top; n++) {
    double value = (n < 0 && n % 2 != 0 ? -1 : 1) * stage->factor->value[abs(n)];
    struct moved moved = {.order = n, .factor = value * cexp(I * (n * stage->phase_rad))};
    if (advance(stage, &moved))
      stage->heap[stage->orders++] = moved;
  }
  for (size_t at = stage->orders / 2; at > 0; at--)
    sift(stage, at - 1);
}

static void name_way(struct account_spot *spot, const struct account_link *way, double factor,
                     int order)
{
  const double size = way->size * fabs(factor);
  size_t at = ACCOUNT_NAMED_WAYS;
  for (; at > 0 && spot->ways[at - 1].size < size; at--)
    if (at < ACCOUNT_NAMED_WAYS)
      spot->ways[at] = spot->ways[at - 1];
  if (at < ACCOUNT_NAMED_WAYS)
    spot->ways[at] = (struct account_link){size, way->node, (short)order};
}

/* `reach` is a square until the spot is complete. */
static void add(const struct stage *stage, const struct moved *moved, struct account_spot *spot)
{
  const struct account_spot *from = &stage->from[moved->next];
  int n = moved->order, size = abs(n);
  double before = spot->ways[0].size;
  spot->amplitude += from->amplitude * moved->factor;
  double reach = from->reach * stage->factor->reach[size];
  spot->reach += reach * reach;
  for (size_t i = 0; i < ACCOUNT_NAMED_WAYS; i++)
    name_way(spot, &from->ways[i], stage->factor->value[size], n);
  if (before == 0 || spot->ways[0].size > before)
    spot->frequency_hz = moved->frequency_hz;
}

/* Takes the lowest one off. */
static void take(struct stage *stage, struct account_spot *spot)
{
  struct moved *lowest = &stage->heap[0];
  add(stage, lowest, spot);
  lowest->next++;
  if (!advance(stage, lowest))
    *lowest = stage->heap[--stage->orders];
  sift(stage, 0);
}

static bool add_node(struct account_nodes *nodes, const struct account_node *node)
{
  if (nodes->count == nodes->room) {
    const size_t room = nodes->room + ACCOUNT_SPOTS_MAX;
    struct account_node *more = realloc(nodes->nodes, room * sizeof *more);
    if (more == NULL)
      return false;
    nodes->nodes = more;
    nodes->room = room;
  }
  nodes->nodes[nodes->count++] = *node;
  return true;
}

/* Returns false without memory. */
static bool complete(const struct stage *stage, struct account_spot *spot)
{
  spot->reach = sqrt(fmax(spot->reach, square(spot->amplitude)));
  for (size_t i = 0; i < ACCOUNT_NAMED_WAYS; i++) {
    struct account_link *way = &spot->ways[i];
    if (way->order == 0)
      continue;
    const struct account_node node = {way->node, (short)stage->component, way->order};
    if (!add_node(stage->nodes, &node))
      return false;
    way->node = (uint32_t)(stage->nodes->count - 1);
    way->order = 0;
  }
  return true;
}

enum outcome { GOOD, TOO_MANY, NO_MEMORY };

static enum outcome run_stage(struct stage *stage, struct account_spot *spots, size_t *count)
{
  *count = 0;
  start_stage(stage);
  while (stage->orders > 0) {
    if (*count == ACCOUNT_SPOTS_MAX)
      return TOO_MANY;
    const double first_hz = stage->heap[0].frequency_hz;
    struct account_spot *spot = &spots[(*count)++];
    *spot = (struct account_spot){0};
    while (stage->orders > 0 && stage->heap[0].frequency_hz - first_hz <= stage->tolerance_hz)
      take(stage, spot);
    if (!complete(stage, spot))
      return NO_MEMORY;
  }
  return GOOD;
}

/* ---- all of them */

static void start_spots(struct account_prediction *prediction)
{
  static const struct account_node none = {0};
  prediction->spots[0] = (struct account_spot){.amplitude = 1, .reach = 1, .ways = {{.size = 1}}};
  prediction->spot_count = 1;
  prediction->nodes.nodes[0] = none;
  prediction->nodes.count = 1;
}

/* All components at the floor as it is. What was dropped leads to the frequencies that are kept, or
 * to more than those, in phases as good as random. */
static enum outcome fill_spots(struct account_prediction *prediction, struct account_spot **spare)
{
  const struct account_bessel *bessel = prediction->bessel;
  struct stage stage = {.tolerance_hz = prediction->tolerance_hz, .nodes = &prediction->nodes};
  start_spots(prediction);
  for (size_t i = 0; i < prediction->component_count; i++) {
    struct account_spot *from = prediction->spots;
    const size_t component = bessel->order[i];
    stage.component = component;
    stage.from = from;
    stage.count = prediction->spot_count;
    stage.factor = &bessel->factors[component];
    stage.frequency_hz = prediction->components[component].frequency_hz;
    stage.phase_rad = prediction->components[component].phase_rad;
    stage.least = prediction->floor / bessel->rest[i + 1];
    prediction->spots = *spare;
    *spare = from;
    const enum outcome outcome = run_stage(&stage, prediction->spots, &prediction->spot_count);
    if (outcome != GOOD)
      return outcome;
  }
  prediction->dropped = stage.dropped;
  return GOOD;
}

/* Where there was no room, what was dropped is spread over more places than there is room for. */
static void finish(struct account_prediction *prediction, double asked_floor)
{
  for (size_t i = 0; i < prediction->spot_count; i++)
    prediction->power += square(prediction->spots[i].amplitude);
  bool raised = prediction->floor > asked_floor;
  double places = raised ? ACCOUNT_SPOTS_MAX : fmax((double)prediction->spot_count, 1);
  prediction->missing = hypot(sqrt(prediction->dropped / places), raised ? prediction->floor : 0);
}

void account_prediction_lacks(struct account_prediction *prediction, double power)
{
  const double places = fmax((double)prediction->spot_count, 1);
  prediction->dropped += power;
  prediction->missing = hypot(prediction->missing, sqrt(power / places));
}

/* Several predictions are kept at a time. */
static void shrink(struct account_prediction *prediction)
{
  struct account_nodes *nodes = &prediction->nodes;
  const size_t count = prediction->spot_count > 0 ? prediction->spot_count : 1;
  struct account_spot *spots = realloc(prediction->spots, count * sizeof *spots);
  struct account_node *fewer = realloc(nodes->nodes, nodes->count * sizeof *fewer);
  if (spots != NULL)
    prediction->spots = spots;
  if (fewer != NULL)
    nodes->nodes = fewer;
}

static enum sc_error find_spots(struct account_prediction *prediction)
{
  const size_t size = ACCOUNT_SPOTS_MAX * sizeof *prediction->spots;
  const double asked_floor = prediction->floor;
  struct account_nodes *nodes = &prediction->nodes;
  struct account_spot *spare = malloc(size);
  prediction->spots = malloc(size);
  nodes->room = ACCOUNT_SPOTS_MAX;
  nodes->nodes = malloc(nodes->room * sizeof *nodes->nodes);
  const bool room = spare != NULL && prediction->spots != NULL && nodes->nodes != NULL;
  enum outcome outcome = room ? fill_spots(prediction, &spare) : NO_MEMORY;
  for (; outcome == TOO_MANY; outcome = fill_spots(prediction, &spare))
    prediction->floor *= floor_step;
  free(spare);
  if (outcome != GOOD)
    return SC_NO_MEMORY;
  finish(prediction, asked_floor);
  shrink(prediction);
  return SC_OK;
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
  *prediction = (struct account_prediction){.floor = floor, .tolerance_hz = tolerance_hz};
  if (count > ACCOUNT_COMPONENTS_MAX)
    return SC_UNSUPPORTED;
  if (!sensible(components, count, floor))
    return SC_BAD_ARGUMENT;
  for (size_t i = 0; i < count; i++)
    prediction->components[i] = components[i];
  prediction->component_count = count;
  prediction->bessel = calloc(1, sizeof *prediction->bessel);
  if (prediction->bessel == NULL)
    return SC_NO_MEMORY;
  enum sc_error error = account_bessel_fill(prediction);
  return error == SC_OK ? find_spots(prediction) : error;
}

struct account_way account_spot_way(const struct account_prediction *prediction,
                                    const struct account_spot *spot, size_t i)
{
  const struct account_node *nodes = prediction->nodes.nodes;
  struct account_way way = {.size = spot->ways[i].size};
  for (uint32_t at = spot->ways[i].node; at > 0; at = nodes[at].before)
    way.orders[nodes[at].component] = nodes[at].order;
  return way;
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
    if (best == NULL || square(spots[low].amplitude) > square(best->amplitude))
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

struct spread {
  double along, whole; /* variances along the amplitude, and of both its parts */
};

static void widen(struct spread *spread, double complex change, double complex direction)
{
  double along = creal(change * conj(direction)), whole = cabs(change);
  spread->along += along * along;
  spread->whole += whole * whole;
}

static double complex amplitude_at(const struct account_prediction *prediction, double frequency_hz)
{
  const struct account_spot *spot =
      account_spot_near(prediction, frequency_hz, prediction->tolerance_hz);
  return spot == NULL ? 0 : spot->amplitude;
}

static struct spread spread_of(const struct account_prediction *prediction,
                               const struct account_spot *spot)
{
  double missing = prediction->missing * prediction->missing;
  struct spread spread = {missing / 2, missing};
  double size = cabs(spot->amplitude);
  double complex direction = size > 0 ? spot->amplitude / size : 0;
  for (size_t i = 0; i < prediction->component_count; i++) {
    const struct account_component *component = &prediction->components[i];
    const struct account_factor *factor = &prediction->bessel->factors[i];
    double complex turn = factor->turn;
    double complex below =
        amplitude_at(prediction, spot->frequency_hz - component->frequency_hz) * turn;
    double complex above =
        amplitude_at(prediction, spot->frequency_hz + component->frequency_hz) * conj(turn);
    widen(&spread, (below - above) / 2 * factor->index_uncertainty, direction);
    widen(&spread, I * factor->index * (below + above) / 2 * component->phase_uncertainty_rad,
          direction);
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
  free(prediction->spots);
  free(prediction->nodes.nodes);
  *prediction = (struct account_prediction){0};
}
