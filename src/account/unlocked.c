/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines of a stereo difference whose pilot is missing, or not where a decoder looks for it: pairs
 * of one level about a suppressed carrier near 38 kHz. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>

#include "account/roles.h"
#include "account/words.h"

static const double carrier_hz = 38000, reach_hz = 400; /* as far as it is looked for: our choice */
static const double audio_upper_hz = 15000;
static const double twin_db = 1;

static bool are_twins(const struct sc_line *line, const struct sc_line *other)
{
  return other != NULL && other != line && other->verdict != SC_VERDICT_ARTEFACT &&
         fabs(account_level_db(line) - account_level_db(other)) <= twin_db;
}

static const struct sc_line *twin_about(const struct account_composite *composite,
                                        const struct sc_line *line, double middle_hz)
{
  const double hz = 2 * middle_hz - line->offset_hz.value;
  const struct sc_line *twin = account_line_at(composite, line, hz, 0);
  return are_twins(line, twin) ? twin : NULL;
}

/* Of the strong lines those that have a twin about it. */
static size_t count_about(const struct account_composite *composite, double middle_hz)
{
  size_t count = 0;
  for (size_t i = 0; i < composite->strong_count; i++) {
    const struct sc_line *line = &composite->list->lines[composite->strong[i]];
    count += fabs(line->offset_hz.value - middle_hz) <= audio_upper_hz &&
             twin_about(composite, line, middle_hz) != NULL;
  }
  return count;
}

/* The middle that most strong lines are pairs about, of several the nearest. */
void account_find_unlocked(struct account_composite *composite)
{
  const struct sc_line *lines = composite->list->lines;
  size_t most = 0;
  composite->unlocked_hz = 0;
  /* Of a record too short to tell a pilot the mode is not known either. */
  if (composite->scene->result->stereo.mode != SC_MODE_DIFFERENCE_WITHOUT_PILOT &&
      composite->scene->result->pilot.present != SC_UNKNOWN)
    return;
  for (size_t i = 0; i < composite->strong_count; i++)
    for (size_t k = i + 1; k < composite->strong_count; k++) {
      const struct sc_line *one = &lines[composite->strong[i]];
      const struct sc_line *other = &lines[composite->strong[k]];
      const double middle_hz = (one->offset_hz.value + other->offset_hz.value) / 2;
      const double away_hz = fabs(middle_hz - carrier_hz);
      if (away_hz > reach_hz || !are_twins(one, other))
        continue;
      const size_t count = count_about(composite, middle_hz);
      if (count > most || (count == most && away_hz < fabs(composite->unlocked_hz - carrier_hz)))
        composite->unlocked_hz = middle_hz;
      most = count > most ? count : most;
    }
}

static bool as_pilot_elsewhere(const struct account_composite *composite, struct sc_line *line)
{
  char name[ACCOUNT_NAME_LENGTH], away[ACCOUNT_NAME_LENGTH];
  if (!account_is_at(composite, line, composite->unlocked_hz / 2, 0))
    return false;
  if (composite->scene->result->pilot.present == SC_UNKNOWN) {
    account_label(line, "pilot?");
    account_verdict(line, SC_VERDICT_UNKNOWN,
                    "half of what a stereo difference stands about: its pilot, if it is steady, "
                    "which so short or weak a record does not tell");
    return true;
  }
  account_frequency_words(composite->unlocked_hz, name);
  account_frequency_words(fabs(line->offset_hz.value - carrier_hz / 2), away);
  account_label(line, "pilot elsewhere");
  account_verdict(line, SC_VERDICT_SPURIOUS,
                  "half of the %s that a stereo difference stands about, so its pilot, but %s from "
                  "19 kHz, where no decoder looks for it",
                  name, away);
  return true;
}

bool account_as_unlocked(const struct account_composite *composite, struct sc_line *line)
{
  char name[ACCOUNT_NAME_LENGTH], about[ACCOUNT_NAME_LENGTH];
  const double middle_hz = composite->unlocked_hz;
  const double audio_hz = fabs(line->offset_hz.value - middle_hz);
  if (middle_hz == 0)
    return false;
  if (as_pilot_elsewhere(composite, line))
    return true;
  if (audio_hz > audio_upper_hz || twin_about(composite, line, middle_hz) == NULL)
    return false;
  account_frequency_words(audio_hz, name);
  account_frequency_words(middle_hz, about);
  account_label(line, "difference %s", name);
  account_verdict(line, SC_VERDICT_EXPLAINED,
                  "side band of %s at %s, a stereo difference %s; its twin is equal", name, about,
                  composite->scene->result->pilot.present == SC_UNKNOWN
                      ? "whose pilot is not told here"
                      : "without a pilot at 19 kHz");
  return true;
}
