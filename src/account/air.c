/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The verdict on each line on air: what of it is predicted, and what the rest may be. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "account/scene.h"
#include "account/words.h"

enum { WHAT_LENGTH = 2 * ACCOUNT_TERMS_LENGTH + 32, BOTH_LENGTH = 90 };
static const double sigmas = 3;
static const double explained_share = 0.0116; /* 0.1 dB */
static const double partly = 0.35; /* of the measured amplitude: less is no explanation */
static const double counts = 0.05; /* of the strongest way: another one is named as well */
static const double decibels = 8.685889638065037; /* 20 / ln 10 */
static const double same_record_hz = 100e3;       /* lines nearer than this share one search */
static const double one_sided = 0.2;              /* of AM or FM beside the other */

/* ---- lines that nothing predicts */

struct pair {
  double am, pm; /* index of amplitude and of phase modulation */
};

static double complex phasor(const struct sc_line *line)
{
  return line->tone.amplitude * cexp(I * line->tone.phase_rad);
}

/* u + conj(l) is amplitude modulation, u - conj(l) phase modulation, u and l upper and lower line
 * relative to the carrier. */
static struct pair divide_pair(const struct account_scene *scene, const struct sc_line *line)
{
  const struct sc_line *lines = scene->result->air_lines.lines;
  double complex carrier = phasor(&lines[scene->carrier]);
  double complex u = phasor(line) / carrier, l = phasor(&lines[line->mirror]) / carrier;
  return (struct pair){cabs(u + conj(l)), cabs(u - conj(l))};
}

static void judge_pair(const struct account_scene *scene, struct sc_line *line)
{
  char name[ACCOUNT_NAME_LENGTH];
  double offset = fabs(line->offset_hz.value);
  account_frequency_words(offset, name);
  if (scene->carrier < 0 || offset > same_record_hz) {
    account_verdict(line, SC_VERDICT_UNKNOWN, "on both sides of the carrier, but not predicted");
    return;
  }
  struct pair pair = divide_pair(scene, line);
  if (pair.pm < one_sided * pair.am) {
    account_label(line, "AM %s", name);
    account_verdict(line, SC_VERDICT_SPURIOUS,
                    "amplitude modulation of %.3g %% at %s, which no composite makes",
                    100 * pair.am, name);
  } else if (pair.am < one_sided * pair.pm) {
    account_verdict(line, SC_VERDICT_UNKNOWN,
                    "a pair like FM at %s, of which the composite shows no tone", name);
  } else {
    account_verdict(line, SC_VERDICT_UNKNOWN,
                    "on both sides of the carrier, not predicted, neither AM nor FM alone");
  }
}

static void judge_one_sided(const struct account_scene *scene, struct sc_line *line)
{
  char name[ACCOUNT_NAME_LENGTH];
  const struct sc_result *result = scene->result;
  account_frequency_words(fabs(line->offset_hz.value), name);
  if (!account_mirror_visible(result, line)) {
    account_verdict(line, SC_VERDICT_UNKNOWN,
                    "not predicted; whether it has a mirror line cannot be seen here");
    return;
  }
  account_label(line, "carrier at %s%s", line->offset_hz.value < 0 ? "-" : "+", name);
  account_verdict(line, SC_VERDICT_SPURIOUS,
                  "a carrier of its own, no modulation: not predicted, and nothing within %.0f dB "
                  "of it at %s%s",
                  account_margin_db(&result->air_lines, line),
                  line->offset_hz.value < 0 ? "+" : "-", name);
}

static void judge_unpredicted(const struct account_scene *scene, struct sc_line *line)
{
  if (account_is_direct_current(scene->result, line)) {
    account_label(line, "direct current");
    account_verdict(line, SC_VERDICT_ARTEFACT,
                    "direct current of the receiver: it stands at 0 Hz of the capture");
  } else if (line->mirror >= 0) {
    judge_pair(scene, line);
  } else {
    judge_one_sided(scene, line);
  }
}

/* ---- lines that something predicts */

static const char *ordinal(int order)
{
  static const char *const names[] = {"", "first", "second", "third", "fourth", "fifth", "sixth"};
  order = order < 0 ? -order : order;
  return order < (int)(sizeof names / sizeof names[0]) ? names[order] : "high";
}

/* What makes the spot: "second order of the pilot", "pilot + 1000 Hz". */
static void say_what(const struct account_scene *scene, const struct account_spot *spot,
                     struct sc_line *line, char what[WHAT_LENGTH])
{
  const struct account_way *way = &scene->prediction.ways[spot->first];
  char words[ACCOUNT_TERMS_LENGTH], other[ACCOUNT_TERMS_LENGTH], name[ACCOUNT_NAME_LENGTH];
  int ignored[SC_LINE_ORDERS_MAX];
  size_t count;
  account_way_words(scene, way, words, line->orders, &line->order_count);
  account_label(line, "%s", words);
  if (spot->count > 1 && cabs(way[1].amplitude) > counts * cabs(way[0].amplitude)) {
    account_way_words(scene, &way[1], other, ignored, &count);
    snprintf(what, WHAT_LENGTH, "%s and %s by their phases", words,
             strlen(words) + strlen(other) < BOTH_LENGTH ? other : "others");
  } else if (line->order_count == 0) {
    snprintf(what, WHAT_LENGTH, "the carrier: J0 of %zu tones", scene->prediction.component_count);
  } else if (line->order_count == 1) {
    size_t i = 0;
    while (way->orders[i] == 0)
      i++;
    account_component_words(&scene->result->composite_lines.lines[scene->component_lines[i]], name);
    snprintf(what, WHAT_LENGTH, "%s order of the %s", ordinal(line->orders[0]), name);
  } else {
    snprintf(what, WHAT_LENGTH, "product %s", words);
  }
}

static void fill_rest(struct sc_line *line, double amplitude, double uncertainty)
{
  double spread_db = decibels * uncertainty / amplitude;
  line->predicted_dbc = sc_measured(20 * log10(amplitude), spread_db);
  line->rest_db = sc_measured(line->level_dbc.value - line->predicted_dbc.value,
                              hypot(line->level_dbc.uncertainty, spread_db));
}

static void judge_predicted(const struct account_scene *scene, const struct account_spot *spot,
                            struct sc_line *line)
{
  double measured = account_amplitude(line), predicted = scene->common * cabs(spot->amplitude);
  double doubt = account_spot_uncertainty(&scene->prediction, spot);
  double spread = hypot(account_amplitude_uncertainty(line), doubt);
  double left = fabs(measured - predicted);
  bool explained = left <= fmax(sigmas * spread, explained_share * predicted);
  char what[WHAT_LENGTH];
  if (predicted > 0)
    fill_rest(line, predicted, doubt);
  if (!explained && predicted < partly * measured) {
    judge_unpredicted(scene, line);
    return;
  }
  say_what(scene, spot, line, what);
  if (explained)
    account_verdict(line, SC_VERDICT_EXPLAINED, "%s; predicted %.2f dBc", what,
                    line->predicted_dbc.value);
  else
    account_verdict(line, SC_VERDICT_RESIDUAL, "mostly %s; %.1f dBc and more are not predicted",
                    what, 20 * log10(left));
}

void account_judge_air(struct account_scene *scene)
{
  struct sc_line_list *list = &scene->result->air_lines;
  for (size_t i = 0; i < list->count; i++) {
    struct sc_line *line = &list->lines[i];
    double reach = account_reach_hz(list, line->offset_hz.uncertainty);
    const struct account_spot *spot =
        account_spot_near(&scene->prediction, line->offset_hz.value, reach);
    if (spot == NULL)
      judge_unpredicted(scene, line);
    else
      judge_predicted(scene, spot, line);
  }
}
