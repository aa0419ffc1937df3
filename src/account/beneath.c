/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines that were found in what a limiter takes away (measure/remainder.h): which of them are new,
 * which are known from the spectrum, and which are made by the limiter out of others
 * (beneath_made.c) or of amplitude modulation (beneath_am.c).
 *
 * The other way round, what does not stand there leaves the envelope alone, and so is FM. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "account/beneath.h"
#include "account/beneath_parts.h"
#include "account/changing.h"
#include "account/words.h"

/* Shares are our choice, tried on some 600 made scenes: of programmes of noise, tones, combs,
 * sweeps and bursts, with carriers, AM, images, and without. */
static const double hidden_share = 0.1; /* of a line of the modulation, its own AM */
/* Tones that a one-sided line makes of the composite have a small index, and with it lines of half
 * its amplitude. */
static const double tone_share = 0.7;
/* Of a line that stands by chance where the modulation has one as well, next to nothing is that. */
static const double far_share = 0.1;
static const double by_envelope_db = 6; /* a carrier is there at its own level, AM at twice that */
/* Lines that are so much weaker than the strongest new one wait until it is known what that makes
 * of the composite. */
static const double at_once_db = 6;
/* More lines that nothing names are no carriers but something of the modulation that is not
 * understood. */
enum { UNNAMED_MAX = 24 };

/* ---- what is no line of its own */

/* The line on air that it is, the nearest, or NULL: what stays while the carrier drifts is none of
 * those that go with it. */
static struct sc_line *line_on_air(const struct beneath *beneath, const struct sc_line *line)
{
  struct sc_line_list *air = &beneath->scene->result->air_lines;
  struct sc_line *nearest = NULL;
  double nearest_hz = INFINITY;
  for (size_t i = 0; i < air->count; i++) {
    const struct sc_quantity *own = &line->tone.frequency_hz;
    const struct sc_quantity *other = &air->lines[i].tone.frequency_hz;
    const double away_hz = fabs(other->value - own->value);
    const double spread = hypot(own->uncertainty, other->uncertainty);
    if ((line->tone.still && !air->lines[i].tone.still) || away_hz >= nearest_hz ||
        away_hz > account_reach_hz(beneath->list, spread))
      continue;
    nearest = &air->lines[i];
    nearest_hz = away_hz;
  }
  return nearest;
}

static bool is_of_modulation(const struct beneath *beneath, const struct sc_line *line)
{
  const struct account_prediction *prediction = &beneath->scene->prediction;
  const double reach = beneath_exact_hz(beneath, beneath_spread(beneath, line));
  const struct account_spot *spot = account_spot_near(prediction, line->offset_hz.value, reach);
  const double near = beneath_size_at(beneath, prediction, line->offset_hz.value, reach);
  if (line->tone.still) /* and the modulation goes with the carrier */
    return false;
  if (near * hidden_share > account_amplitude(line))
    return true;
  if (spot == NULL || cabs(spot->amplitude) < far_share * account_amplitude(line))
    return false;
  return beneath_is_of_strong_tones(prediction, spot) ||
         cabs(spot->amplitude) > tone_share * account_amplitude(line);
}

/* ---- verdicts */

static void judge_new(const struct account_scene *scene, bool hidden, struct sc_line *line)
{
  char name[ACCOUNT_NAME_LENGTH];
  const char *side = line->offset_hz.value < 0 ? "-" : "+";
  if (account_as_receivers(scene, line))
    return;
  account_place_words(&line->offset_hz, name);
  if (fabs(line->tone.frequency_hz.value) >= account_edge_hz(scene->result)) {
    account_verdict(line, SC_VERDICT_UNKNOWN,
                    "it changes the envelope, as a filter does that weakens one side of the FM: so "
                    "near to the capture's edge the line may be of the modulation");
    return;
  }
  account_label(line, "carrier at %s%s", side, name);
  account_verdict(line, SC_VERDICT_SPURIOUS,
                  "%s: it changes the envelope, as FM does not, and is on one side alone",
                  hidden ? "beneath the modulation, which hides it in the spectrum"
                         : "a carrier of its own");
}

static void name(struct beneath *beneath, bool hidden, struct sc_line *line)
{
  if (beneath_is_new_am(beneath, line))
    return;
  beneath_note_parent(beneath, line);
  judge_new(beneath->scene, hidden, line);
}

/* It was new before, and more is known now of what the composite is made of; or the spectrum shows
 * it, and cannot tell it from FM. */
static void name_on_air(struct beneath *beneath, struct sc_line *line, struct sc_line *on_air)
{
  name(beneath, on_air->beneath, line);
  on_air->verdict = line->verdict;
  memcpy(on_air->label, line->label, sizeof on_air->label);
  memcpy(on_air->cause, line->cause, sizeof on_air->cause);
}

/* What the spectrum could not tell from FM: it takes it for the one side of a tone that a one-sided
 * line makes of the composite, or does not know. */
static bool is_open(const struct sc_line *line, const struct sc_line *on_air)
{
  const bool whole = account_amplitude(line) >= tone_share * account_amplitude(on_air);
  const bool as_tone =
      on_air->verdict == SC_VERDICT_EXPLAINED || on_air->verdict == SC_VERDICT_RESIDUAL;
  const bool unnamed = on_air->verdict == SC_VERDICT_UNKNOWN && on_air->label[0] == '\0';
  return on_air->mirror < 0 && whole && (unnamed || as_tone);
}

/* On a line of the modulation, which does not tell all of it: what the limiter makes of it is seen.
 */
static bool is_on_modulation(const struct beneath *beneath, const struct sc_line *line,
                             const struct sc_line *on_air)
{
  return on_air != NULL && on_air->verdict != SC_VERDICT_EXPLAINED &&
         account_amplitude(line) >= tone_share * account_amplitude(on_air) &&
         is_of_modulation(beneath, line);
}

/* True: it is new, and has its verdict. Stronger ones have been judged. */
static bool judge(struct beneath *beneath, struct sc_line *line)
{
  struct sc_line *on_air = line_on_air(beneath, line);
  if (on_air != NULL && on_air->beneath) {
    name_on_air(beneath, line, on_air);
    return false;
  }
  if (is_on_modulation(beneath, line, on_air))
    beneath_note_parent(beneath, line);
  if (fabs(line->offset_hz.value) < ACCOUNT_BENEATH_FROM_HZ || is_of_modulation(beneath, line) ||
      beneath_is_of_known_am(beneath, line) || beneath_is_made(beneath, line))
    return false;
  /* The spectrum would show it and does not: two lines, that a longer record does not make one. */
  if (on_air == NULL && !line->beneath) {
    beneath_note_parent(beneath, line);
    return false;
  }
  if (on_air == NULL)
    name(beneath, true, line);
  else if (is_open(line, on_air))
    name_on_air(beneath, line, on_air);
  else
    beneath_note_parent(beneath, line);
  return on_air == NULL;
}

bool account_changes_envelope(const struct sc_line_list *beneath, const struct sc_line *on_air)
{
  for (size_t i = 0; i < beneath->count; i++) {
    const struct sc_line *line = &beneath->lines[i];
    const double apart_hz = line->tone.frequency_hz.value - on_air->tone.frequency_hz.value;
    if (fabs(apart_hz) <= beneath->resolution_hz &&
        line->level_dbc.value >= on_air->level_dbc.value - by_envelope_db)
      return true;
  }
  return false;
}

bool account_envelope_tells(const struct account_scene *scene, const struct sc_line_list *beneath)
{
  return scene->result->carrier.wanders != SC_YES || beneath->followed || beneath->jumped;
}

/* A reference that reaches the oscillator is FM; and slow AM is told by both sides' phases, as the
 * envelope's mean follows it. */
static bool is_told_by_phase(const struct account_scene *scene, const struct sc_line *line)
{
  const struct account_am *am = account_am_of(scene, line);
  return strstr(line->label, "reference") != NULL ||
         (am != NULL && am->frequency_hz < ACCOUNT_BENEATH_FROM_HZ);
}

/* What was called spurious as no tone predicts it, and leaves the envelope alone: a programme that
 * changes has lines that no tone of it makes. */
static void take_back(const struct beneath *beneath, const double *shows_dbc)
{
  struct sc_line_list *air = &beneath->scene->result->air_lines;
  if (!account_envelope_tells(beneath->scene, beneath->list))
    return;
  for (size_t i = 0; shows_dbc != NULL && i < air->count; i++) {
    struct sc_line *line = &air->lines[i];
    if (line->verdict != SC_VERDICT_SPURIOUS || line->beneath ||
        is_told_by_phase(beneath->scene, line) ||
        fabs(line->offset_hz.value) < ACCOUNT_BENEATH_FROM_HZ ||
        line->level_dbc.value < shows_dbc[i] || account_changes_envelope(beneath->list, line))
      continue;
    line->label[0] = '\0';
    account_verdict(line, SC_VERDICT_UNKNOWN,
                    "of the modulation, as it leaves the envelope alone; the measured tones do not "
                    "make it: of a programme that changes, or of more tones than that");
  }
}

static int falling(const void *a, const void *b)
{
  const double left = ((const struct sc_line *)a)->level_dbc.value;
  const double right = ((const struct sc_line *)b)->level_dbc.value;
  return (left < right) - (left > right);
}

void account_judge_beneath(struct account_scene *scene, struct account_beneath *found)
{
  struct sc_line_list *list = &found->list;
  struct beneath beneath = {
      .scene = scene, .list = list, .mean_s = found->mean_s, .rate_hz = found->rate_hz};
  bool new[SC_LINES_MAX] = {false};
  size_t count = 0;
  beneath_expect(&beneath, found->image);
  take_back(&beneath, found->shows_dbc);
  account_explain_changing(scene, found);
  beneath_note_near_carrier(&beneath);
  qsort(list->lines, list->count, sizeof *list->lines, falling);
  for (size_t i = 0; i < list->count; i++)
    new[i] = judge(&beneath, &list->lines[i]);
  for (size_t i = 0; i < list->count; i++)
    if (new[i])
      list->lines[count++] = list->lines[i];
  if (count > UNNAMED_MAX) {
    list->why = "too many lines stand there that nothing explains";
    count = 0;
  }
  while (count > 0 &&
         list->lines[0].level_dbc.value - list->lines[count - 1].level_dbc.value > at_once_db)
    count--;
  found->least_dbc = 20 * log10(fmax(beneath_made_unseen(&beneath), beneath.unseen));
  list->count = count;
  account_prediction_destroy(&beneath.tripled);
}
