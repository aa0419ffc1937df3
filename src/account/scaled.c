/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Everything in a file whose rate is stated wrong keeps its ratios: a difference stands in pairs
 * about twice the pilot (ITU-R BS.450-3, 2.1). Without tones there is only one that no programme
 * makes, above 15 kHz, as strong as pilots are. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "account/scaled.h"

#include <math.h>
#include <stddef.h>

#include "account/scene.h"

/* Above a programme that is itself scaled, and no further than a rate stated half as high again. */
static const double lowest_hz = 15500, highest_hz = 28500;
/* Pilots deviate by 6 to 7.5 kHz (ITU-R BS.450-3, 2.2: 8 to 10 % of 75 kHz); ours may be off. */
static const double least_khz = 4.5, most_khz = 11;
static const double beside_db = 10; /* another tone there is that much weaker */
static const double twin_db = 1, apart_hz = 20;
static const double audio_share = 15.0 / 19.0; /* of the pilot: how far a difference reaches */

static bool is_there(const struct sc_line *line)
{
  return line->verdict != SC_VERDICT_ARTEFACT && line->offset_hz.value >= lowest_hz &&
         line->offset_hz.value <= highest_hz;
}

static bool is_alike(const struct sc_line *line)
{
  return line->deviation_khz.why == NULL && line->deviation_khz.value >= least_khz &&
         line->deviation_khz.value <= most_khz;
}

static bool are_twins(const struct sc_line_list *list, const struct sc_line *below,
                      const struct sc_line *above, double middle_hz, double uncertainty_hz)
{
  const double spread =
      hypot(hypot(below->offset_hz.uncertainty, above->offset_hz.uncertainty), 2 * uncertainty_hz);
  const double sum_hz = below->offset_hz.value + above->offset_hz.value;
  return fabs(sum_hz - 2 * middle_hz) <= account_exact_hz(list, spread) &&
         fabs(below->tone.level_db.value - above->tone.level_db.value) <= twin_db;
}

static bool has_pairs(const struct sc_line_list *list, const struct sc_line *tone)
{
  const double middle_hz = 2 * tone->offset_hz.value;
  const double least_hz = middle_hz - audio_share * tone->offset_hz.value;
  for (size_t i = 0; i < list->count; i++) {
    const struct sc_line *below = &list->lines[i];
    if (below->offset_hz.value < least_hz || below->offset_hz.value > middle_hz - apart_hz ||
        below == tone)
      continue;
    for (size_t k = i + 1; k < list->count; k++)
      if (are_twins(list, below, &list->lines[k], middle_hz, 2 * tone->offset_hz.uncertainty))
        return true;
  }
  return false;
}

/* Two that may be it are none. */
static bool is_alone(const struct sc_line_list *list, const struct sc_line *tone)
{
  for (size_t i = 0; i < list->count; i++) {
    const struct sc_line *other = &list->lines[i];
    if (other != tone && is_there(other) &&
        other->tone.level_db.value > tone->tone.level_db.value - beside_db)
      return false;
  }
  return true;
}

bool account_find_scaled(const struct sc_result *result, struct account_scaled *scaled)
{
  const struct sc_line_list *list = &result->composite_lines;
  double strongest_db = -HUGE_VAL;
  if (result->pilot.present != SC_NO || list->why != NULL)
    return false;
  for (size_t i = 0; i < list->count; i++) {
    const struct sc_line *line = &list->lines[i];
    if (!is_there(line) || line->tone.level_db.value < strongest_db)
      continue;
    const bool pairs = has_pairs(list, line);
    if (!pairs && !(is_alike(line) && is_alone(list, line)))
      continue;
    strongest_db = line->tone.level_db.value;
    *scaled = (struct account_scaled){line->offset_hz.value, pairs};
  }
  return strongest_db > -HUGE_VAL;
}
