/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A service's name needs its position and its form. Data of the RDS family is a band of its
 * width at its very place (99 % of the power of shaped biphase data are within 3.9 kHz: IEC 62106,
 * from memory, and computed); the data channel about 76 kHz is a wide band; the other services may
 * be anything, but a bare tone is no service away from its very place: there it may be one that
 * nobody modulates. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <string.h>

#include <sidecomb/subcarriers.h>

#include "analysis/naming.h"

static const double narrow_least_hz = 2e3;
static const double narrow_most_hz = 5.2e3;
static const double narrow_off_hz = 150;
static const double wide_off_hz = 1.5e3; /* of a band that is wider */
static const double rds_half_hz = 2.4e3; /* its spectrum ends there: IEC 62106, from memory */
static const double rds_most_hz = 7e3;   /* of it and of what it runs into */
static const double rds_share = 0.8;

static bool is_data(const struct sc_injection *found, const struct sc_position *position)
{
  const double width = found->bandwidth_hz.value;
  const double off = fabs(found->offset_hz.value - position->position_hz);
  const bool narrow = width >= narrow_least_hz && width <= narrow_most_hz && off <= narrow_off_hz;
  const bool wide = width > narrow_most_hz && off <= wide_off_hz;
  if (found->kind != SC_INJECTION_BAND)
    return false;
  return narrow || (wide && strcmp(position->key, "darc") == 0);
}

/* Hardly anything but the data deviates the carrier there. */
static bool is_mostly_rds(const struct sc_injection *found, const struct sc_rds *rds)
{
  const double all = pow(found->deviation_khz.value, 2), own = 2 * pow(rds->amplitude_rms.value, 2);
  return found->deviation_khz.why == NULL && rds->amplitude_rms.why == NULL &&
         own > rds_share * all;
}

/* Of data that was shown to be RDS: one of its halves, or all of it with the edge of the difference
 * signal below, or with what little runs into it. Where that edge hides its middle the data's own
 * has to be within. */
static bool is_of_rds(const struct sc_injection *found, const struct sc_rds *rds)
{
  if (rds->present != SC_YES || rds->subcarrier_hz.why != NULL || found->kind != SC_INJECTION_BAND)
    return false;
  const double hz = rds->subcarrier_hz.value;
  const bool hidden = found->offset_hz.why != NULL || found->of_difference;
  if (hidden && (hz < found->lower_hz || hz > found->upper_hz))
    return false;
  if (!hidden && fabs(found->offset_hz.value - hz) >= rds_half_hz)
    return false;
  const double width_hz = hidden ? found->upper_hz - found->lower_hz : found->bandwidth_hz.value;
  return width_hz <= rds_most_hz || is_mostly_rds(found, rds);
}

static bool suits(const struct sc_injection *found, const struct sc_position *position, bool of_rds)
{
  const double hz = found->offset_hz.value;
  if (hz < position->lower_hz - position->tolerance_hz ||
      hz > position->upper_hz + position->tolerance_hz)
    return false;
  if (found->kind == SC_INJECTION_TONE && fabs(hz - position->position_hz) > position->tolerance_hz)
    return false;
  if (strcmp(position->key, "rds") == 0)
    return of_rds;
  if (strncmp(position->key, "rds2-", 5) == 0 || strcmp(position->key, "darc") == 0)
    return is_data(found, position);
  return true;
}

static const struct sc_position *position_of(const struct sc_injection *found, bool of_rds)
{
  size_t count;
  const struct sc_position *all = sc_subcarriers(&count), *best = NULL;
  const double hz = found->offset_hz.value;
  for (const struct sc_position *p = all; found->offset_hz.why == NULL && p < all + count; p++)
    if (suits(found, p, of_rds) &&
        (best == NULL || fabs(hz - p->position_hz) < fabs(hz - best->position_hz)))
      best = p;
  return best;
}

/* What is customary of RDS is its peak deviation, which a sine of the same power does not have; its
 * middle is that of its symmetric spectrum, which the decoder turns its carrier to. */
static void take_rds(const struct sc_rds *rds, const struct sc_quantity *pilot,
                     struct sc_injection *found)
{
  if (found->of_difference)
    found->bandwidth_hz = sc_not_measured("the difference signal reaches up here and hides it");
  found->of_difference = false;
  found->offset_hz = rds->subcarrier_hz;
  found->deviation_khz = rds->injection_khz;
  found->injection_percent = rds->injection_percent;
  if (rds->injection_khz.why != NULL || pilot->why != NULL)
    return;
  const double share = hypot(rds->injection_khz.uncertainty / rds->injection_khz.value,
                             pilot->uncertainty / pilot->value);
  found->level_db_pilot =
      sc_measured(20 * log10(rds->injection_khz.value / pilot->value), 20 / log(10.0) * share);
}

/* Two halves of one: where there is much noise the suppressed carrier's place parts the data. */
static void join(struct sc_injection *first, const struct sc_injection *second)
{
  first->upper_hz = second->upper_hz;
  if (first->offset_hz.why == NULL && second->offset_hz.why == NULL) {
    const double lower = first->offset_hz.value - first->bandwidth_hz.value / 2;
    const double upper = second->offset_hz.value + second->bandwidth_hz.value / 2;
    first->offset_hz.value = (lower + upper) / 2;
    first->bandwidth_hz.value = upper - lower;
  }
  if (first->deviation_khz.why != NULL || second->deviation_khz.why != NULL)
    return;
  first->deviation_khz.value = hypot(first->deviation_khz.value, second->deviation_khz.value);
  first->injection_percent.value =
      hypot(first->injection_percent.value, second->injection_percent.value);
}

static void join_rds(struct sc_result *result)
{
  struct sc_injections *all = &result->injections;
  struct sc_injection *first = NULL;
  size_t kept = 0;
  for (size_t i = 0; i < all->count; i++) {
    if (is_of_rds(&all->at[i], &result->rds)) {
      if (first != NULL) {
        join(first, &all->at[i]);
        continue;
      }
      first = &all->at[kept];
    }
    all->at[kept++] = all->at[i];
  }
  all->count = kept;
}

void analysis_name_injections(struct sc_result *result)
{
  join_rds(result);
  for (size_t i = 0; i < result->injections.count; i++) {
    struct sc_injection *found = &result->injections.at[i];
    const bool of_rds = is_of_rds(found, &result->rds);
    if (of_rds)
      take_rds(&result->rds, &result->pilot.deviation_khz, found);
    if (found->of_difference) {
      found->label = "upper edge of the difference signal";
      found->customary = "none: programme ends at 15 kHz (ITU-R BS.450-3)";
      continue;
    }
    const struct sc_position *position = position_of(found, of_rds);
    found->label = position != NULL ? position->name : NULL;
    found->customary = position != NULL ? position->injection : NULL;
  }
}
