/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The verdict on each line on air: what of it is predicted, and how that comes about. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "account/scene.h"
#include "account/words.h"

enum { WHAT_LENGTH = 2 * ACCOUNT_TERMS_LENGTH + 32, BOTH_LENGTH = 100, LEFT_LENGTH = 80 };
/* Of 256 lines one in sixty captures is beyond by chance, and of both parts one in a thousand. */
static const double sigmas = 4, sigmas_of_both = 5;
static const double explained_share = 0.0116; /* 0.1 dB */
static const double matters = 0.1;            /* of the measured amplitude: less is chance */
static const double counts = 0.05; /* of the strongest way: another one is named as well */
static const double decibels = 8.685889638065037; /* 20 / ln 10 */
/* Of the loss that all lines share. */
enum { STRONG_MIN = 3, STRONG_MAX = 64 };
static const double strong = 0.005, sure_db = 0.03;
static const double common_least_db = 0.02, common_scatter = 0.2;

static const char *ordinal(int order)
{
  static const char *const names[] = {"", "first", "second", "third", "fourth", "fifth", "sixth"};
  order = order < 0 ? -order : order;
  return order < (int)(sizeof names / sizeof names[0]) ? names[order] : "high";
}

/* "second order of the pilot", "pilot + 1000 Hz", "the carrier: J0 of 3 tones". */
static void say_way(const struct account_scene *scene, const struct account_way *way,
                    const char *words, char out[ACCOUNT_TERMS_LENGTH])
{
  const struct sc_line *lines = scene->result->composite_lines.lines;
  char name[ACCOUNT_NAME_LENGTH];
  size_t terms = way->weak_order != 0, last = terms > 0 ? scene->weak_lines[way->weak] : 0;
  int order = way->weak_order;
  for (size_t i = 0; i < scene->prediction.component_count; i++)
    if (way->orders[i] != 0) {
      terms++;
      last = scene->component_lines[i];
      order = way->orders[i];
    }
  if (terms == 1) {
    account_component_words(&lines[last], name);
    snprintf(out, ACCOUNT_TERMS_LENGTH, "%s order of %s%s", ordinal(order),
             account_has_name(&lines[last]) ? "the " : "", name);
  } else {
    snprintf(out, ACCOUNT_TERMS_LENGTH, "%s", words);
  }
}

static void say_carrier(const struct account_scene *scene, char what[WHAT_LENGTH])
{
  size_t count = scene->prediction.component_count + scene->prediction.weak_count;
  int length = count == 0 ? snprintf(what, WHAT_LENGTH, "the carrier, unmodulated")
                          : snprintf(what, WHAT_LENGTH, "the carrier: J0 of %zu tone%s", count,
                                     count == 1 ? "" : "s");
  if (scene->common < 1)
    snprintf(what + length, WHAT_LENGTH - (size_t)length,
             ", and %.2f dB less on all lines by what is no tone", -20 * log10(scene->common));
}

/* The pilot's second order stands where a 38 kHz residual would. */
static void say_no_residual(const struct account_scene *scene, const struct account_way *way,
                            char what[WHAT_LENGTH])
{
  const struct sc_line *lines = scene->result->composite_lines.lines;
  const struct sc_stereo *stereo = &scene->result->stereo;
  size_t length = strlen(what);
  for (size_t i = 0; i < scene->prediction.component_count; i++)
    if (way->orders[i] != 0 && strcmp(lines[scene->component_lines[i]].label, "pilot") != 0)
      return;
  if (stereo->residual_present == SC_NO && stereo->residual_limit_percent.why == NULL)
    snprintf(what + length, WHAT_LENGTH - length,
             " alone: a 38 kHz residual of %.2g %% would show on the composite",
             stereo->residual_limit_percent.value);
}

/* What makes the spot; label and orders of the line, too. */
static void say_what(const struct account_scene *scene, const struct account_spot *spot,
                     struct sc_line *line, char what[WHAT_LENGTH])
{
  const struct account_way way[] = {account_spot_way(&scene->prediction, spot, 0),
                                    account_spot_way(&scene->prediction, spot, 1)};
  char words[ACCOUNT_TERMS_LENGTH], first[ACCOUNT_TERMS_LENGTH], other[ACCOUNT_TERMS_LENGTH];
  int ignored[SC_LINE_ORDERS_MAX];
  size_t count;
  account_way_words(scene, &way[0], words, line->orders, &line->order_count);
  account_label(line, "%s", words);
  say_way(scene, way, words, first);
  if (line->order_count == 0) {
    say_carrier(scene, what);
  } else if (way[1].size > counts * way[0].size) {
    account_way_words(scene, &way[1], words, ignored, &count);
    say_way(scene, &way[1], words, other);
    snprintf(what, WHAT_LENGTH, "%s with %s, added by phase", first,
             strlen(first) + strlen(other) < BOTH_LENGTH ? other : "others");
  } else if (line->order_count == 1) {
    snprintf(what, WHAT_LENGTH, "%s", first);
    if (abs(line->orders[0]) == 2)
      say_no_residual(scene, way, what);
  } else {
    snprintf(what, WHAT_LENGTH, "a product of FM, no tone of the composite");
  }
}

static bool stronger_side(const struct account_scene *scene, const struct sc_line *line)
{
  const struct sc_line *lines = scene->result->air_lines.lines;
  return line->mirror < 0 || cabs(account_rest_of(scene, line).value) >=
                                 cabs(account_rest_of(scene, &lines[line->mirror]).value);
}

static void fill_rest(struct sc_line *line, double amplitude, double uncertainty)
{
  double spread_db = decibels * uncertainty / amplitude;
  line->predicted_dbc = sc_measured(20 * log10(amplitude), spread_db);
  line->rest_db = sc_measured(line->level_dbc.value - line->predicted_dbc.value,
                              hypot(line->level_dbc.uncertainty, spread_db));
}

/* What the rest of a line is, by the pair that it is a half of. */
static void say_left(const struct account_scene *scene, const struct sc_line *line,
                     const struct account_rest *rest, char out[LEFT_LENGTH])
{
  struct account_parts parts = account_divide(scene, line);
  double am = cabs(parts.am), left_dbc = 20 * log10(cabs(rest->value));
  double most = fmax(fmax(am, parts.loose_fm), parts.one_sided);
  if (!parts.known || most < parts.limit)
    snprintf(out, LEFT_LENGTH, "%.1f dBc beside it are not explained", left_dbc);
  else if (most == am)
    snprintf(out, LEFT_LENGTH, "what is left, %.1f dBc, is AM", 20 * log10(am));
  else if (most == parts.one_sided)
    snprintf(out, LEFT_LENGTH, "what is left, %.1f dBc, is on %s side alone", left_dbc,
             stronger_side(scene, line) ? "this" : "the other");
  else
    snprintf(out, LEFT_LENGTH, "what is left, %.1f dBc, is FM that the composite does not show",
             20 * log10(parts.loose_fm));
}

/* The pair at the modulation's own frequency stands for it; of all other lines it is a part. */
static void say_with_am(const struct account_am *am, bool own, const char *what,
                        struct sc_line *line)
{
  char name[ACCOUNT_NAME_LENGTH];
  account_frequency_words(am->frequency_hz, name);
  if (am->of_data)
    account_verdict(line, SC_VERDICT_EXPLAINED, "%s, with what FM makes of the data's square at %s",
                    what, name);
  else if (own)
    account_verdict(line, SC_VERDICT_RESIDUAL, "%s; what is left is AM of %.2g %% at %s", what,
                    100 * cabs(am->index), name);
  else
    account_verdict(line, SC_VERDICT_EXPLAINED, "%s, with the AM at %s", what, name);
}

static void judge(const struct account_scene *scene, struct sc_line *line)
{
  const struct account_spot *spot = account_spot_of(scene, line);
  double measured = account_amplitude(line), predicted = account_predicted(scene, spot);
  double doubt = spot == NULL ? 0
                              : hypot(account_spot_uncertainty(&scene->prediction, spot),
                                      account_beside(scene, spot));
  struct account_rest rest = account_rest_of(scene, line);
  double most = (rest.is_complex ? sigmas_of_both : sigmas) * rest.uncertainty;
  bool explained = cabs(rest.value) <= fmax(most, explained_share * predicted);
  char what[WHAT_LENGTH], left[LEFT_LENGTH];
  if (predicted > matters * measured)
    fill_rest(line, predicted, doubt);
  bool mostly = account_mostly_predicted(scene, line) &&
                !account_below_converter(scene->result, line->tone.level_db.value);
  bool by_doubt = !mostly && account_is_unreached(scene, line);
  if (spot == NULL || by_doubt || !(explained || mostly)) {
    account_judge_unpredicted(scene, line);
    return;
  }
  say_what(scene, spot, line, what);
  const struct account_am *am = explained ? NULL : account_am_of(scene, line);
  bool own = am != NULL && fabs(fabs(line->offset_hz.value) - am->frequency_hz) < 1;
  if (explained)
    account_verdict(line, SC_VERDICT_EXPLAINED, "%s", what);
  else if (am != NULL)
    say_with_am(am, own, what, line);
  else {
    say_left(scene, line, &rest, left);
    account_verdict(line, SC_VERDICT_RESIDUAL, "%s; %s", what, left);
  }
}

/* ---- what all lines lose */

static int rising(const void *a, const void *b)
{
  double left = *(const double *)a, right = *(const double *)b;
  return (left > right) - (left < right);
}

static size_t strong_rests(const struct account_scene *scene, double rests[STRONG_MAX])
{
  const struct sc_line_list *list = &scene->result->air_lines;
  size_t count = 0;
  for (size_t i = 0; i < list->count && count < STRONG_MAX; i++) {
    const struct sc_line *line = &list->lines[i];
    double predicted = account_predicted(scene, account_spot_of(scene, line));
    if (predicted > strong && line->level_dbc.uncertainty < sure_db)
      rests[count++] = line->level_dbc.value - 20 * log10(predicted);
  }
  return count;
}

/* Modulation that is no tone (programme, data) with a phase variance s takes the same factor
 * exp(-s / 2) from every line; so does power in the channel that is not the carrier's. Taken where
 * the strong lines agree on it. */
void account_find_common(struct account_scene *scene)
{
  double rests[STRONG_MAX];
  size_t count = strong_rests(scene, rests), near = 0;
  if (count < STRONG_MIN)
    return;
  qsort(rests, count, sizeof *rests, rising);
  double middle = rests[count / 2];
  for (size_t i = 0; i < count; i++)
    near += fabs(rests[i] - middle) <= fmax(sure_db, common_scatter * fabs(middle));
  if (middle < -common_least_db && 3 * near >= 2 * count)
    scene->common = pow(10, middle / 20);
}

void account_judge_air(const struct account_scene *scene)
{
  struct sc_line_list *list = &scene->result->air_lines;
  for (size_t i = 0; i < list->count; i++)
    if (!list->lines[i].beneath)
      judge(scene, &list->lines[i]);
}
