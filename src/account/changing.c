/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "account/changing.h"

#include <math.h>
#include <string.h>

#include "account/beneath.h"
#include "account/origins.h"
#include "account/words.h"

/* Our own choices. A record without a line means something where it stands so far over what it
 * needs; tones of less index make no lines worth a word. */
static const double unsteady_times = 2, sigmas = 4, surely_db = 10;
static const double changing_index = 0.1;
static const double steady_bins = 0.25; /* as lines of a search that follows a carrier */
static const double pair_db = 1.5;
static const double weak_dbc = -60;

static double spread_of(const struct sc_moment *moment)
{
  return (double)(moment->amplitude * moment->relative_uncertainty);
}

bool account_is_unsteady(const struct sc_line_list *list, const struct sc_line *line)
{
  const struct sc_tone *tone = &line->tone;
  const struct sc_moment *least = tone->moments, *most = tone->moments;
  for (size_t i = 1; i < tone->moment_count; i++) {
    const struct sc_moment *moment = &tone->moments[i];
    least = moment->amplitude < least->amplitude ? moment : least;
    most = moment->amplitude > most->amplitude ? moment : most;
  }
  const double apart = (double)(most->amplitude - least->amplitude);
  if (tone->moment_count > 1 &&
      (double)most->amplitude > unsteady_times * (double)least->amplitude &&
      apart > sigmas * hypot(spread_of(most), spread_of(least)))
    return true;
  return line->alongside && tone->moment_count < list->records &&
         account_margin_db(list, line) > surely_db;
}

bool account_is_steady(const struct sc_line_list *list, const struct sc_line *line)
{
  return line->tone.moment_count >= list->records &&
         line->offset_hz.uncertainty * list->record_s < steady_bins &&
         !account_is_unsteady(list, line);
}

static const struct sc_line *carrier_of(const struct account_scene *scene)
{
  return scene->carrier < 0 ? NULL : &scene->result->air_lines.lines[scene->carrier];
}

bool account_programme_changes(const struct account_scene *scene)
{
  const struct sc_line_list *list = &scene->result->composite_lines;
  const struct sc_line *carrier = carrier_of(scene);
  if (carrier != NULL && account_is_unsteady(&scene->result->air_lines, carrier))
    return true;
  for (size_t i = 0; i < list->count; i++) {
    const struct sc_line *line = &list->lines[i];
    if (line->verdict != SC_VERDICT_ARTEFACT && line->deviation_khz.why == NULL &&
        line->offset_hz.value > 0 && account_index(line) > changing_index &&
        account_is_unsteady(list, line))
      return true;
  }
  return false;
}

static bool has_twin(const struct sc_line_list *list, const struct sc_line *line)
{
  return line->mirror >= 0 && account_is_unsteady(list, &list->lines[line->mirror]) &&
         fabs(line->level_dbc.value - line->mirror_level_dbc.value) <= pair_db;
}

/* Carson's bandwidth holds what counts of the modulation, not the last of it. */
static bool is_weak_and_far(const struct account_scene *scene, const struct sc_line *line)
{
  return !line->beneath && line->verdict == SC_VERDICT_SPURIOUS && line->mirror < 0 &&
         account_is_far(scene, line) && line->level_dbc.value < weak_dbc;
}

/* An image would move the envelope. */
static bool is_open(const struct sc_line *line)
{
  const bool named = line->label[0] != '\0' && strcmp(line->label, "mirror image?") != 0;
  return !line->beneath && !named && line->verdict == SC_VERDICT_UNKNOWN;
}

/* How it is known that the line is modulation; NULL: it is not. */
static const char *evidence(const struct account_scene *scene, const struct account_beneath *found,
                            size_t index)
{
  const struct sc_line_list *list = &scene->result->air_lines;
  const struct sc_line *line = &list->lines[index];
  if (fabs(line->offset_hz.value) < ACCOUNT_BENEATH_FROM_HZ)
    return has_twin(list, line) ? "as strong on both sides" : NULL;
  if (found->shows_dbc == NULL || line->level_dbc.value < found->shows_dbc[index] ||
      !account_envelope_tells(scene, &found->list) || account_changes_envelope(&found->list, line))
    return NULL;
  return "as it leaves the envelope alone";
}

/* Nothing but the carrier itself stands at its own frequency. */
static void explain_carrier(const struct account_scene *scene)
{
  struct sc_line *line = &scene->result->air_lines.lines[scene->carrier];
  if (line->beneath ||
      (line->verdict != SC_VERDICT_UNKNOWN && line->verdict != SC_VERDICT_SPURIOUS))
    return;
  account_label(line, "carrier");
  account_verdict(line, SC_VERDICT_EXPLAINED,
                  "the carrier: what a programme that changes leaves of it");
}

static void explain_line(const struct account_scene *scene, const struct account_beneath *found,
                         size_t index)
{
  struct sc_line *line = &scene->result->air_lines.lines[index];
  const char *why = is_open(line) ? evidence(scene, found, index) : NULL;
  if (is_weak_and_far(scene, line)) {
    line->label[0] = '\0';
    account_verdict(line, SC_VERDICT_UNKNOWN,
                    "not predicted; it comes and goes, as the programme's tones do, and may be "
                    "what they make beyond Carson's bandwidth");
  } else if (why != NULL) {
    account_label(line, "changing programme");
    account_verdict(line, SC_VERDICT_EXPLAINED,
                    "of the modulation, %s; it comes and goes, as the programme's tones do", why);
  }
}

void account_explain_changing(struct account_scene *scene, const struct account_beneath *found)
{
  const struct sc_line_list *list = &scene->result->air_lines;
  if (!account_programme_changes(scene))
    return;
  if (scene->carrier >= 0)
    explain_carrier(scene);
  for (size_t i = 0; i < list->count; i++)
    if (account_is_unsteady(list, &list->lines[i]))
      explain_line(scene, found, i);
}
