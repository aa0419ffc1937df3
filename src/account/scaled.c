/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Everything in a file whose rate is stated wrong keeps its ratios: a difference stands in pairs
 * about twice the pilot (ITU-R BS.450-3, 2.1). Without tones there is only one that no programme
 * makes, above 15 kHz, as strong as pilots are. Frequencies and deviations are wrong by one factor:
 * by some of up to a half; by two, as of a file with one channel for two, or the other way; or by
 * 2.4 over 1.024 MS/s, which receivers are set to most often (common practice, no source). */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "account/scaled.h"

#include <math.h>
#include <stddef.h>

#include "account/scene.h"

/* Where a pilot is looked for, and what the deviation is wrong by there. */
struct place {
  double lowest_hz, highest_hz, factor;
  bool by_pairs; /* alone it may be of the programme */
};
/* Above a programme that is itself scaled, and no further than a rate stated half as high again;
 * twice and half as high, within what a pilot and a clock are off by. */
static const struct place places[] = {{15500, 28500, 1, false},
                                      {37900, 38100, 2, false},
                                      {9475, 9525, 0.5, true},
                                      {44440, 44620, 2.4 / 1.024, false},
                                      {8090, 8124, 1.024 / 2.4, true}};
static const double pilot_hz = 19000;
/* Nearer, the rate is right: it is the pilot's own place, and what stands there is none (it comes
 * and goes, for example). */
static const double own_hz = 20;
/* Of the pilot's frequency: no other tone is as strong from here to there. */
static const double around_from = 15.5 / 19, around_to = 28.5 / 19;
/* Pilots deviate by 6 to 7.5 kHz (ITU-R BS.450-3, 2.2: 8 to 10 % of 75 kHz); ours may be off. */
static const double least_khz = 4.5, most_khz = 11;
static const double beside_db = 10; /* another tone there is that much weaker */
static const double twin_db = 1, apart_hz = 20;
static const double audio_share = 15.0 / 19.0; /* of the pilot: how far a difference reaches */

static bool is_between(const struct sc_line *line, double from_hz, double to_hz)
{
  return line->verdict != SC_VERDICT_ARTEFACT && line->offset_hz.value >= from_hz &&
         line->offset_hz.value <= to_hz;
}

static bool is_alike(const struct sc_line *line, double factor)
{
  return line->deviation_khz.why == NULL && line->deviation_khz.value >= factor * least_khz &&
         line->deviation_khz.value <= factor * most_khz;
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
static bool is_alone(const struct sc_line_list *list, const struct sc_line *tone, double about_hz)
{
  for (size_t i = 0; i < list->count; i++) {
    const struct sc_line *other = &list->lines[i];
    if (other != tone && is_between(other, around_from * about_hz, around_to * about_hz) &&
        other->tone.level_db.value > tone->tone.level_db.value - beside_db)
      return false;
  }
  return true;
}

/* Pairs are enough where only some of many factors would lead. At the other factors' places a tone
 * has to deviate as a pilot does at that factor as well, and within a programme's band it needs
 * both. */
static bool may_be_pilot(const struct sc_line_list *list, const struct sc_line *line,
                         const struct place *place, bool *pairs)
{
  *pairs = has_pairs(list, line);
  if (place->factor == 1 && *pairs)
    return true;
  return is_alike(line, place->factor) &&
         (*pairs || (!place->by_pairs && is_alone(list, line, place->factor * pilot_hz)));
}

static void look_at(const struct sc_line_list *list, const struct place *place,
                    double *strongest_db, struct account_scaled *scaled)
{
  for (size_t i = 0; i < list->count; i++) {
    const struct sc_line *line = &list->lines[i];
    bool pairs;
    if (fabs(line->offset_hz.value - pilot_hz) < own_hz ||
        !is_between(line, place->lowest_hz, place->highest_hz) ||
        line->tone.level_db.value < *strongest_db || !may_be_pilot(list, line, place, &pairs))
      continue;
    *strongest_db = line->tone.level_db.value;
    *scaled = (struct account_scaled){line->offset_hz.value, pairs};
  }
}

bool account_find_scaled(const struct sc_result *result, struct account_scaled *scaled)
{
  double strongest_db = -HUGE_VAL;
  if (result->pilot.present != SC_NO || result->composite_lines.why != NULL)
    return false;
  for (size_t p = 0; p < sizeof places / sizeof *places && !(strongest_db > -HUGE_VAL); p++)
    look_at(&result->composite_lines, &places[p], &strongest_db, scaled);
  return strongest_db > -HUGE_VAL;
}
