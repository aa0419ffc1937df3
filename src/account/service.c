/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines of the composite that a modulated subcarrier consists of. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>

#include "account/roles.h"
#include "account/words.h"

/* FM of a tone has its lines in pairs, as strong on either side to what filters do. */
static const double pair_db = 1.5;
/* How far the subcarrier may be from the middle of its power, at the least. */
static const double centre_hz = 200;
static const double sigmas = 3;
static const double seen_db = 4; /* over the search's threshold: then its twin is found, too */

static double reach_of(const struct sc_injection *injection)
{
  return fmax(centre_hz, sigmas * injection->offset_hz.uncertainty);
}

static bool is_twin(const struct sc_line *line, const struct sc_line *other,
                    const struct sc_injection *injection)
{
  const double middle_hz = (line->offset_hz.value + other->offset_hz.value) / 2;
  return other != line && other->verdict != SC_VERDICT_ARTEFACT &&
         fabs(middle_hz - injection->offset_hz.value) <= reach_of(injection) &&
         fabs(account_level_db(other) - account_level_db(line)) <= pair_db;
}

static bool is_of(const struct account_composite *composite, const struct sc_line *line,
                  const struct sc_injection *injection)
{
  const double away_hz = fabs(line->offset_hz.value - injection->offset_hz.value);
  if (injection->kind != SC_INJECTION_FM || away_hz > injection->bandwidth_hz.value)
    return false;
  bool found = away_hz <= reach_of(injection);
  for (size_t i = 0; !found && i < composite->list->count; i++)
    found = is_twin(line, &composite->list->lines[i], injection);
  return found;
}

/* Inside of one, and so weak that its twin may be there unseen. */
static bool may_be_of(const struct account_composite *composite, const struct sc_line *line,
                      const struct sc_injection *injection)
{
  const double away_hz = fabs(line->offset_hz.value - injection->offset_hz.value);
  return injection->kind == SC_INJECTION_FM && away_hz <= injection->bandwidth_hz.value &&
         account_margin_db(composite->list, line) < seen_db;
}

bool account_as_service(const struct account_composite *composite, struct sc_line *line)
{
  const struct sc_injections *all = &composite->scene->result->injections;
  char name[ACCOUNT_NAME_LENGTH];
  for (size_t i = 0; i < all->count; i++) {
    if (all->at[i].offset_hz.why != NULL)
      continue;
    account_frequency_words(100 * round(all->at[i].offset_hz.value / 100), name);
    if (may_be_of(composite, line, &all->at[i]) && !is_of(composite, line, &all->at[i])) {
      account_verdict(line, SC_VERDICT_UNKNOWN,
                      "beside the FM subcarrier around %s, and so weak that its twin may be there "
                      "unseen",
                      name);
      return true;
    }
    if (!is_of(composite, line, &all->at[i]))
      continue;
    account_label(line, "of %s", name);
    account_verdict(line, SC_VERDICT_EXPLAINED,
                    "of the FM subcarrier around %s: one of its pairs, as strong on either side, "
                    "or its carrier",
                    name);
    return true;
  }
  return false;
}
