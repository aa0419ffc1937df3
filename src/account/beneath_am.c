/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Amplitude modulation in what a limiter takes away: known from the spectrum, or new. It stands on
 * both sides of the modulation's lines, and what filters make of them on the lines themselves. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "account/beneath_parts.h"

#include <math.h>

#include "account/mean.h"
#include "account/words.h"

static const double twin_db = 2, twin_ghost = 0.6;
enum { STRONG_MAX = 8 };
enum { MIRRORS = 8 }; /* the next has less than a hundredth */

static bool is_beside_modulation(const struct beneath *beneath, const struct sc_line *line,
                                 const struct beneath_am *am)
{
  const struct account_prediction *prediction = &beneath->scene->prediction;
  const double reach = beneath_exact_hz(beneath, beneath_spread(beneath, line));
  const double size =
      fmax(beneath_size_at(beneath, prediction, line->offset_hz.value - am->frequency_hz, reach),
           beneath_size_at(beneath, prediction, line->offset_hz.value + am->frequency_hz, reach));
  return am->amplitude * size >= BENEATH_MAKES * account_amplitude(line);
}

/* What the remainder's mean, which follows slow modulation, makes of it at other frequencies. */
static bool is_by_mean(const struct beneath *beneath, const struct sc_line *line,
                       const struct beneath_am *am)
{
  for (unsigned n = 0; n < MIRRORS; n++) {
    double share;
    const double at_hz = account_mirrored_by_mean(beneath->mean_s, am->frequency_hz, n, &share);
    const struct beneath_am mirrored = {at_hz, share * am->amplitude};
    if (is_beside_modulation(beneath, line, &mirrored))
      return true;
  }
  return false;
}

bool beneath_is_of_known_am(const struct beneath *beneath, const struct sc_line *line)
{
  const struct account_scene *scene = beneath->scene;
  for (size_t i = 0; i < scene->am_count; i++) {
    const struct beneath_am am = {scene->ams[i].frequency_hz, cabs(scene->ams[i].index)};
    if (is_beside_modulation(beneath, line, &am) || is_by_mean(beneath, line, &am))
      return true;
  }
  for (size_t i = 0; i < beneath->am_count; i++)
    if (is_beside_modulation(beneath, line, &beneath->ams[i]))
      return true;
  return false;
}

/* As strong, on the other side of a line of the modulation, and too strong for a ghost. */
static bool has_twin(const struct beneath *beneath, const struct sc_line *line,
                     const struct account_spot *spot)
{
  const double at = 2 * spot->frequency_hz - line->offset_hz.value;
  const struct sc_line_list *list = beneath->list;
  for (size_t i = 0; i < list->count; i++) {
    const struct sc_line *twin = &list->lines[i];
    const double spread = hypot(beneath_spread(beneath, line), beneath_spread(beneath, twin));
    const double reach = beneath_exact_hz(beneath, spread);
    if (twin != line && fabs(twin->offset_hz.value - at) <= reach &&
        fabs(twin->level_dbc.value - line->level_dbc.value) <= twin_db)
      return beneath_size_at(beneath, &beneath->scene->doubled, 2 * spot->frequency_hz, reach) <
             twin_ghost;
  }
  return false;
}

static double power_of(const struct account_spot *spot)
{
  return creal(spot->amplitude) * creal(spot->amplitude) +
         cimag(spot->amplitude) * cimag(spot->amplitude);
}

/* The strongest lines of the modulation. */
static size_t strongest_spots(const struct account_prediction *prediction,
                              const struct account_spot *strong[STRONG_MAX])
{
  size_t count = 0;
  for (size_t i = 0; i < prediction->spot_count; i++) {
    const struct account_spot *spot = &prediction->spots[i];
    size_t at = count < STRONG_MAX ? count++ : STRONG_MAX;
    for (; at > 0 && power_of(strong[at - 1]) < power_of(spot); at--)
      if (at < STRONG_MAX)
        strong[at] = strong[at - 1];
    if (at < STRONG_MAX)
      strong[at] = spot;
  }
  return count;
}

bool beneath_is_new_am(struct beneath *beneath, struct sc_line *line)
{
  const struct account_spot *strong[STRONG_MAX];
  const size_t count = strongest_spots(&beneath->scene->prediction, strong);
  char name[ACCOUNT_NAME_LENGTH];
  for (size_t i = 0; i < count; i++) {
    if (!has_twin(beneath, line, strong[i]))
      continue;
    const double amplitude = account_amplitude(line) / cabs(strong[i]->amplitude);
    const double hz = fabs(line->offset_hz.value - strong[i]->frequency_hz);
    if (beneath->am_count < BENEATH_AM_MAX)
      beneath->ams[beneath->am_count++] = (struct beneath_am){hz, amplitude};
    line->level_dbc.value -= 20 * log10(2);
    account_frequency_words(hz, name);
    line->am_hz = hz;
    account_label(line, "AM %s", name);
    account_verdict(line, SC_VERDICT_SPURIOUS,
                    "amplitude modulation of %.2g %% at %s, which no composite makes, on both "
                    "sides of the modulation's lines; the spectrum hides it",
                    100 * amplitude, name);
    return true;
  }
  return false;
}
