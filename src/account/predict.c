/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* One component after the other, those of the highest index first; what cannot reach the floor with
 * the ones to come is left out at once. The weak ones come last, all in one stage. */
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
/* Of a phase that nobody knows: of two such amplitudes, in their size, the root mean square. */
static const double turned = 1.4142135623730951;

/* ---- one component after the other */

/* The spots so far, moved by one order of the component: those are in order already, and all
 * orders are merged by their frequencies. */
struct moved {
  short component, order;
  size_t next;         /* spot */
  double frequency_hz; /* of that one, moved */
  double by_hz;
  double complex factor;
  double size, reach; /* of the factor; with the index's uncertainty */
  double least;       /* reach of a spot whose product is of use */
};

/* For the spots of the next stage, and to move those at hand. */
struct room {
  struct account_spot *spots;
  struct moved *moved;
};

struct stage {
  const struct account_spot *from;
  size_t count;
  struct account_nodes *nodes;
  const struct account_places *places; /* NULL: everywhere */
  double tolerance_hz;                 /* of one spot */
  struct moved *heap;                  /* the lowest frequency first */
  size_t orders;
  double dropped; /* power of all products that were of no use, with what they would lead to */
};

static double square(double complex amplitude)
{
  return creal(amplitude) * creal(amplitude) + cimag(amplitude) * cimag(amplitude);
}

/* Products of weak components are of use where lines are. */
static bool is_at_place(const struct stage *stage, const struct moved *moved, double frequency_hz)
{
  const struct account_places *places = stage->places;
  if (places == NULL || moved->component < ACCOUNT_COMPONENTS_MAX)
    return true;
  size_t low = 0, high = places->count;
  while (low < high) {
    const size_t middle = low + (high - low) / 2;
    if (places->hz[middle] < frequency_hz - places->within_hz)
      low = middle + 1;
    else
      high = middle;
  }
  return low < places->count && places->hz[low] <= frequency_hz + places->within_hz;
}

/* The next spot of this order that is of use. */
static bool advance(struct stage *stage, struct moved *moved)
{
  for (; moved->next < stage->count; moved->next++) {
    const struct account_spot *from = &stage->from[moved->next];
    if (!is_at_place(stage, moved, from->frequency_hz + moved->by_hz))
      continue;
    if (from->reach >= moved->least)
      break;
    stage->dropped += square(from->amplitude) * moved->size * moved->size;
  }
  if (moved->next == stage->count)
    return false;
  moved->frequency_hz = stage->from[moved->next].frequency_hz + moved->by_hz;
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

static void start_moved(struct stage *stage, struct moved moved)
{
  if (advance(stage, &moved))
    stage->heap[stage->orders++] = moved;
}

/* Down to products of this reach. */
static void start_component(struct stage *stage, const struct account_factor *factor,
                            size_t component, const struct account_component *of, double least)
{
  for (int n = -factor->top; n <= factor->top; n++) {
    const struct account_order *order = &factor->orders[abs(n)];
    double value = (n < 0 && n % 2 != 0 ? -1 : 1) * order->value;
    start_moved(stage, (struct moved){.component = (short)component,
                                      .order = (short)n,
                                      .by_hz = n * of->frequency_hz,
                                      .factor = value * cexp(I * (n * of->phase_rad)),
                                      .size = fabs(value),
                                      .reach = order->reach,
                                      .least = least / order->reach});
  }
}

/* The spots as they are, less what all of the weak components take, and beside them. */
static void start_weak(struct stage *stage, const struct account_prediction *prediction)
{
  double rest = 1;
  for (size_t i = 0; i < prediction->weak_count; i++)
    rest *= j0(account_component_index(&prediction->weak[i]));
  start_moved(stage, (struct moved){.factor = rest, .size = fabs(rest), .reach = fabs(rest)});
  for (size_t i = 0; i < prediction->weak_count; i++) {
    const struct account_component *weak = &prediction->weak[i];
    const double index = account_component_index(weak);
    const double value = rest * j1(index) / j0(index);
    for (int n = -1; n <= 1; n += 2)
      start_moved(stage, (struct moved){.component = (short)(ACCOUNT_COMPONENTS_MAX + i),
                                        .order = (short)n,
                                        .by_hz = n * weak->frequency_hz,
                                        .factor = n * value * cexp(I * (n * weak->phase_rad)),
                                        .size = fabs(value),
                                        .reach = fabs(value),
                                        .least = prediction->weak_floor / fabs(value)});
  }
}

static void name_way(struct account_spot *spot, const struct account_link *way,
                     const struct moved *moved)
{
  const double size = way->size * moved->size;
  size_t at = ACCOUNT_NAMED_WAYS;
  for (; at > 0 && spot->ways[at - 1].size < size; at--)
    if (at < ACCOUNT_NAMED_WAYS)
      spot->ways[at] = spot->ways[at - 1];
  if (at < ACCOUNT_NAMED_WAYS)
    spot->ways[at] = (struct account_link){size, way->node, moved->component, moved->order};
}

/* `reach` is a square until the spot is complete. */
static void add(const struct stage *stage, const struct moved *moved, struct account_spot *spot)
{
  const struct account_spot *from = &stage->from[moved->next];
  double before = spot->ways[0].size;
  spot->amplitude += from->amplitude * moved->factor;
  double reach = from->reach * moved->reach;
  spot->reach += reach * reach;
  for (size_t i = 0; i < ACCOUNT_NAMED_WAYS; i++)
    name_way(spot, &from->ways[i], moved);
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
    const struct account_node node = {way->node, way->component, way->order};
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
  for (size_t at = stage->orders / 2; at > 0; at--)
    sift(stage, at - 1);
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

/* The spots at hand lead to the next ones. */
static enum outcome next_spots(struct stage *stage, struct account_prediction *prediction,
                               struct room *room)
{
  struct account_spot *from = prediction->spots;
  const enum outcome outcome = run_stage(stage, room->spots, &prediction->spot_count);
  prediction->spots = room->spots;
  room->spots = from;
  return outcome;
}

static struct stage stage_of(struct account_prediction *prediction, const struct room *room)
{
  return (struct stage){.heap = room->moved,
                        .tolerance_hz = prediction->tolerance_hz,
                        .nodes = &prediction->nodes,
                        .from = prediction->spots,
                        .count = prediction->spot_count};
}

/* All components at the floor as it is. What was dropped leads to the frequencies that are kept, or
 * to more than those, in phases as good as random. */
static enum outcome fill_spots(struct account_prediction *prediction, struct room *room)
{
  const struct account_bessel *bessel = prediction->bessel;
  start_spots(prediction);
  prediction->dropped = 0;
  for (size_t i = 0; i < prediction->component_count; i++) {
    const size_t component = bessel->order[i];
    struct stage stage = stage_of(prediction, room);
    start_component(&stage, &bessel->factors[component], component,
                    &prediction->components[component], prediction->floor / bessel->rest[i + 1]);
    const enum outcome outcome = next_spots(&stage, prediction, room);
    prediction->dropped += stage.dropped;
    if (outcome != GOOD)
      return outcome;
  }
  return GOOD;
}

/* Beside all of these. */
static enum outcome add_weak(struct account_prediction *prediction,
                             const struct account_places *places, struct room *room)
{
  struct account_spot *from = prediction->spots;
  const size_t count = prediction->spot_count, nodes = prediction->nodes.count;
  struct stage stage = stage_of(prediction, room);
  stage.places = places;
  start_weak(&stage, prediction);
  const enum outcome outcome = next_spots(&stage, prediction, room);
  if (outcome == TOO_MANY) {
    room->spots = prediction->spots;
    prediction->spots = from;
    prediction->spot_count = count;
    prediction->nodes.count = nodes;
    return outcome;
  }
  prediction->dropped += stage.dropped;
  return outcome;
}

/* The square of weak tones, half of whose mean all lines lose. Of as many pairs as they make each
 * stands at two places above a line and at two below. */
static double missing_square(const struct account_prediction *prediction)
{
  double variance = 0;
  for (size_t i = 0; i < prediction->weak_count; i++)
    variance += pow(account_component_index(&prediction->weak[i]), 2) / 2;
  return prediction->weak_count > 0 ? variance / sqrt(8 * (double)prediction->weak_count) : 0;
}

/* Where there was no room, what was dropped is spread over more places than there is room for. */
static void finish(struct account_prediction *prediction, double asked_floor)
{
  for (size_t i = 0; i < prediction->spot_count; i++)
    prediction->power += square(prediction->spots[i].amplitude);
  bool raised = fmax(prediction->floor, prediction->weak_floor) > asked_floor;
  double places = raised ? ACCOUNT_SPOTS_MAX : fmax((double)prediction->spot_count, 1);
  double floor = fmax(prediction->floor, prediction->weak_floor);
  prediction->missing = hypot(sqrt(prediction->dropped / places), raised ? floor : 0);
  prediction->missing = hypot(prediction->missing, missing_square(prediction));
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

static enum outcome try_spots(struct account_prediction *prediction,
                              const struct account_places *places, struct room *room)
{
  enum outcome outcome = fill_spots(prediction, room);
  for (; outcome == TOO_MANY; outcome = fill_spots(prediction, room))
    prediction->floor *= floor_step;
  if (outcome != GOOD || prediction->weak_count == 0)
    return outcome;
  prediction->weak_floor = prediction->floor;
  outcome = add_weak(prediction, places, room);
  for (; outcome == TOO_MANY; outcome = add_weak(prediction, places, room))
    prediction->weak_floor *= floor_step;
  return outcome;
}

/* Orders of one component, or of all weak ones, and none. */
static size_t most_moved(const struct account_prediction *prediction)
{
  size_t most = prediction->weak_count;
  for (size_t i = 0; i < prediction->component_count; i++)
    if (most < (size_t)prediction->bessel->factors[i].top)
      most = (size_t)prediction->bessel->factors[i].top;
  return 2 * most + 1;
}

static enum sc_error find_spots(struct account_prediction *prediction,
                                const struct account_places *places)
{
  const size_t size = ACCOUNT_SPOTS_MAX * sizeof *prediction->spots;
  const double asked_floor = prediction->floor;
  struct account_nodes *nodes = &prediction->nodes;
  struct room room = {malloc(size), malloc(most_moved(prediction) * sizeof *room.moved)};
  prediction->spots = malloc(size);
  nodes->room = ACCOUNT_SPOTS_MAX;
  nodes->nodes = malloc(nodes->room * sizeof *nodes->nodes);
  const bool is_room =
      room.spots != NULL && room.moved != NULL && prediction->spots != NULL && nodes->nodes != NULL;
  const enum outcome outcome = is_room ? try_spots(prediction, places, &room) : NO_MEMORY;
  free(room.spots);
  free(room.moved);
  if (outcome != GOOD)
    return SC_NO_MEMORY;
  finish(prediction, asked_floor);
  shrink(prediction);
  return SC_OK;
}

static bool sensible(const struct account_component *components, size_t count)
{
  bool good = true;
  for (size_t i = 0; i < count; i++)
    good = good && components[i].frequency_hz > 0 && components[i].deviation_khz >= 0 &&
           components[i].deviation_uncertainty_khz >= 0 && isfinite(components[i].phase_rad);
  return good;
}

enum sc_error account_predict(const struct account_component *components, size_t count,
                              double floor, double tolerance_hz,
                              struct account_prediction *prediction)
{
  const struct account_weak none = {.count = 0};
  return account_predict_beside(components, count, &none, floor, tolerance_hz, prediction);
}

enum sc_error account_predict_beside(const struct account_component *components, size_t count,
                                     const struct account_weak *weak, double floor,
                                     double tolerance_hz, struct account_prediction *prediction)
{
  *prediction = (struct account_prediction){.floor = floor, .tolerance_hz = tolerance_hz};
  if (count > ACCOUNT_COMPONENTS_MAX || weak->count > ACCOUNT_WEAK_MAX)
    return SC_UNSUPPORTED;
  if (!(floor > 0) || !sensible(components, count) || !sensible(weak->components, weak->count))
    return SC_BAD_ARGUMENT;
  for (size_t i = 0; i < count; i++)
    prediction->components[i] = components[i];
  prediction->component_count = count;
  prediction->bessel = calloc(1, sizeof *prediction->bessel);
  prediction->weak = calloc(weak->count + 1, sizeof *prediction->weak);
  if (prediction->bessel == NULL || prediction->weak == NULL)
    return SC_NO_MEMORY;
  for (size_t i = 0; i < weak->count; i++)
    prediction->weak[i] = weak->components[i];
  prediction->weak_count = weak->count;
  enum sc_error error = account_bessel_fill(prediction);
  return error == SC_OK ? find_spots(prediction, weak->places) : error;
}

struct account_way account_spot_way(const struct account_prediction *prediction,
                                    const struct account_spot *spot, size_t i)
{
  const struct account_node *nodes = prediction->nodes.nodes;
  struct account_way way = {.size = spot->ways[i].size};
  for (uint32_t at = spot->ways[i].node; at > 0; at = nodes[at].before) {
    if (nodes[at].component < ACCOUNT_COMPONENTS_MAX) {
      way.orders[nodes[at].component] = nodes[at].order;
      continue;
    }
    way.weak = (size_t)nodes[at].component - ACCOUNT_COMPONENTS_MAX;
    way.weak_order = nodes[at].order;
  }
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

/* By the weak tones of the strongest ways: whichever direction the rest takes. */
static void widen_by_weak(const struct account_prediction *prediction,
                          const struct account_spot *spot, struct spread *spread)
{
  for (size_t i = 0; i < ACCOUNT_NAMED_WAYS && prediction->weak_count > 0; i++) {
    const struct account_way way = account_spot_way(prediction, spot, i);
    const struct account_component *weak = &prediction->weak[way.weak];
    if (way.weak_order == 0)
      continue;
    const double share = weak->deviation_uncertainty_khz / weak->deviation_khz;
    const double doubt = way.size * hypot(share, fmin(weak->phase_uncertainty_rad, turned));
    spread->along += doubt * doubt;
    spread->whole += doubt * doubt;
  }
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
  widen_by_weak(prediction, spot, &spread);
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
  account_bessel_destroy(prediction->bessel);
  free(prediction->weak);
  free(prediction->spots);
  free(prediction->nodes.nodes);
  *prediction = (struct account_prediction){0};
}
