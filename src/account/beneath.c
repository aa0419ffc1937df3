/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines that were found in what a limiter takes away (measure/remainder.h): which of them are new,
 * which are known from the spectrum, and which are made by the limiter out of others.
 *
 * With u = a exp(j (w t - phi)) for each line beside the carrier, the remainder is
 * exp(j phi) (2 Re u + (Im u)^2 + j Im u^2 + ...): each line as it is, its ghost conj(u) exp(2j
 * phi), and of two lines with the amplitudes a and b products of 3/2 ab at most, on lines of three
 * times the modulation, or once. The image K exp(-j phi) of the signal has the ghost conj(K) exp(3j
 * phi), and products of 3/4 K^2 on the lines of five times the modulation. Below the products
 * nothing is believed. Amplitude modulation stands on both sides of the modulation's lines, and
 * what filters make of them on the lines themselves.
 *
 * The other way round, what does not stand there leaves the envelope alone, and so is FM. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "account/beneath.h"
#include "account/changing.h"
#include "account/mean.h"
#include "account/words.h"

/* Shares are our choice, tried on some 600 made scenes: of programmes of noise, tones, combs,
 * sweeps and bursts, with carriers, AM, images, and without. */
static const double makes_share = 0.3;  /* of a line's amplitude, that something else makes of it */
static const double unseen_share = 0.3; /* of the strongest, where ghosts cannot be predicted */
static const double ghost_floor = 3e-4; /* of a parent: its ghosts are below -70 dB */
static const double merged_share = 0.6; /* of a line so near that both are measured as one */
static const double hidden_share = 0.1; /* of a line of the modulation, its own AM */
/* Tones of the programme have a larger index; those that a one-sided line makes of the composite a
 * smaller one, and with it lines of half its amplitude. */
static const double strong_index = 0.02, tone_share = 0.7;
static const double product = 1.5; /* see above */
/* Lines of the modulation that an image is told by, and how the lines that it makes agree. */
static const double image_spot_least = 0.02, image_scatter_db = 2;
static const double image_carrier_hz = 10, carrier_hz = 2.5; /* of a programme */
static const double twin_db = 2, twin_ghost = 0.6;
static const double sigmas = 4;
static const double by_envelope_db = 6; /* a carrier is there at its own level, AM at twice that */
/* Lines that are so much weaker than the strongest new one wait until it is known what that makes
 * of the composite. */
static const double at_once_db = 6;
/* More lines that nothing names are no carriers but something of the modulation that is not
 * understood. */
enum { PARENTS_MAX = 16, STRONG_MAX = 8, AM_MAX = 8, IMAGE_LINES_MIN = 3, UNNAMED_MAX = 24 };
enum { MIRRORS = 8 }; /* the next has less than a hundredth */

struct parent {
  double offset_hz, uncertainty_hz, amplitude;
  double passes_hz; /* either side: it stays while the carrier drifts */
};

struct am {
  double frequency_hz, amplitude; /* of one side line in the remainder, re a line of 1 */
};

struct beneath {
  struct account_scene *scene;
  struct sc_line_list *list;
  struct account_prediction tripled;
  double unseen; /* amplitude below which an image may have made a line in a way that is not told */
  double image;  /* amplitude of the receiver's, 0: not seen */
  double mean_s, rate_hz;
  bool ghosts_known;                  /* doubled and tripled are there */
  struct parent parents[PARENTS_MAX]; /* one-sided lines, the strongest first */
  size_t parent_count;
  struct am ams[AM_MAX]; /* that the spectrum does not show */
  size_t am_count;
};

/* From the lines of the modulation. Where the carrier's own line is not seen, nor are they, and
 * its mean frequency is no better known than that of a programme. */
static double spread_of(const struct beneath *beneath, const struct sc_line *line)
{
  const double own = line->tone.frequency_hz.uncertainty, all = line->offset_hz.uncertainty;
  return beneath->scene->carrier >= 0 ? all : fmin(all, hypot(own, carrier_hz));
}

static double exact_hz(const struct beneath *beneath, double uncertainty_hz)
{
  return account_exact_hz(beneath->list, uncertainty_hz);
}

/* What is predicted at a place; or, as two lines so near to each other are measured as one between
 * them, a share of what is within the resolution. */
static double size_at(const struct beneath *beneath, const struct account_prediction *prediction,
                      double frequency_hz, double reach_hz)
{
  const struct account_spot *exact = account_spot_near(prediction, frequency_hz, reach_hz);
  const struct account_spot *near =
      account_spot_near(prediction, frequency_hz, beneath->list->resolution_hz);
  return fmax(exact == NULL ? 0 : cabs(exact->amplitude),
              near == NULL ? 0 : merged_share * cabs(near->amplitude));
}

/* The same of what the limiter makes: what reaches beyond half the channel's rate is folded back.
 */
static double made_at(const struct beneath *beneath, const struct account_prediction *prediction,
                      double frequency_hz, double reach_hz)
{
  const double rate_hz = beneath->rate_hz;
  double most = 0;
  for (int fold = -1; fold <= 1; fold++)
    most = fmax(most, size_at(beneath, prediction, frequency_hz + fold * rate_hz, reach_hz));
  return most;
}

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

/* Of strong tones alone. What a one-sided line makes of the composite are tones as well, so weak
 * that their own lines are half of it. */
static bool is_of_strong_tones(const struct account_prediction *prediction,
                               const struct account_spot *spot)
{
  const struct account_way way = account_spot_way(prediction, spot, 0);
  for (size_t i = 0; i < prediction->component_count; i++) {
    const struct account_component *tone = &prediction->components[i];
    if (way.orders[i] != 0 && 1e3 * tone->deviation_khz < strong_index * tone->frequency_hz)
      return false;
  }
  return true;
}

static bool is_of_modulation(const struct beneath *beneath, const struct sc_line *line)
{
  const struct account_prediction *prediction = &beneath->scene->prediction;
  const double reach = exact_hz(beneath, spread_of(beneath, line));
  const struct account_spot *spot = account_spot_near(prediction, line->offset_hz.value, reach);
  const double near = size_at(beneath, prediction, line->offset_hz.value, reach);
  if (line->tone.still) /* and the modulation goes with the carrier */
    return false;
  if (near * hidden_share > account_amplitude(line))
    return true;
  return spot != NULL && (is_of_strong_tones(prediction, spot) ||
                          cabs(spot->amplitude) > tone_share * account_amplitude(line));
}

/* Where the receiver's image mirrors it to, relative to the carrier. */
static double mirrored_hz(const struct beneath *beneath, const struct sc_line *line)
{
  return -line->offset_hz.value - 2 * beneath->scene->result->carrier.offset_hz.value;
}

static int rising(const void *a, const void *b)
{
  const double left = *(const double *)a, right = *(const double *)b;
  return (left > right) - (left < right);
}

/* The factor by which lines that stand where the image has them agree, as the spectrum may hide
 * all of it; 0: they do not. */
static double image_of_lines(const struct beneath *beneath)
{
  const struct sc_line_list *list = beneath->list;
  double ratios[SC_LINES_MAX];
  size_t count = 0, near = 0;
  for (size_t i = 0; i < list->count && i < SC_LINES_MAX; i++) {
    const struct sc_line *line = &list->lines[i];
    const double reach = exact_hz(beneath, spread_of(beneath, line));
    const double size =
        size_at(beneath, &beneath->scene->prediction, mirrored_hz(beneath, line), reach);
    if (size > image_spot_least)
      ratios[count++] = account_amplitude(line) / size;
  }
  if (count < IMAGE_LINES_MIN)
    return 0;
  qsort(ratios, count, sizeof *ratios, rising);
  const double middle = ratios[count / 2];
  for (size_t i = 0; i < count; i++)
    near += fabs(20 * log10(ratios[i] / middle)) <= image_scatter_db;
  return 2 * near > count ? middle : 0;
}

static double unseen_by_image(const struct beneath *beneath)
{
  return product * beneath->image * beneath->image;
}

static bool is_of_image(const struct beneath *beneath, const struct sc_line *line)
{
  const double reach = exact_hz(beneath, spread_of(beneath, line));
  const double twice_hz = 2 * beneath->scene->result->carrier.offset_hz.value;
  const double mirrored = mirrored_hz(beneath, line), image = beneath->image;
  const double size =
      fmax(size_at(beneath, &beneath->scene->prediction, mirrored, reach),
           made_at(beneath, &beneath->tripled, line->offset_hz.value - twice_hz, reach));
  return fabs(mirrored) <= image_carrier_hz ||
         image * size >= makes_share * account_amplitude(line) ||
         beneath->unseen > account_amplitude(line);
}

static bool is_ghost_of(const struct beneath *beneath, const struct sc_line *line,
                        const struct parent *parent)
{
  const double reach = parent->passes_hz +
                       exact_hz(beneath, hypot(spread_of(beneath, line), parent->uncertainty_hz));
  const double size =
      made_at(beneath, &beneath->scene->doubled, line->offset_hz.value + parent->offset_hz, reach);
  return parent->amplitude * size >= makes_share * account_amplitude(line);
}

/* What the strongest may make anywhere: ghosts, where there is no room to predict them, and
 * products with itself. */
static double made_unseen(const struct beneath *beneath)
{
  const double strongest = beneath->parent_count > 0 ? beneath->parents[0].amplitude : 0;
  const double share =
      beneath->ghosts_known ? sigmas * beneath->scene->doubled.missing : unseen_share;
  return strongest * fmax(share, product * strongest);
}

static bool is_made_by_limiter(const struct beneath *beneath, const struct sc_line *line)
{
  if (account_amplitude(line) < made_unseen(beneath) || is_of_image(beneath, line))
    return true;
  for (size_t i = 0; i < beneath->parent_count; i++)
    if (is_ghost_of(beneath, line, &beneath->parents[i]))
      return true;
  return false;
}

/* ---- amplitude modulation */

static bool is_beside_modulation(const struct beneath *beneath, const struct sc_line *line,
                                 const struct am *am)
{
  const struct account_prediction *prediction = &beneath->scene->prediction;
  const double reach = exact_hz(beneath, spread_of(beneath, line));
  const double size =
      fmax(size_at(beneath, prediction, line->offset_hz.value - am->frequency_hz, reach),
           size_at(beneath, prediction, line->offset_hz.value + am->frequency_hz, reach));
  return am->amplitude * size >= makes_share * account_amplitude(line);
}

/* What the remainder's mean, which follows slow modulation, makes of it at other frequencies. */
static bool is_by_mean(const struct beneath *beneath, const struct sc_line *line,
                       const struct am *am)
{
  for (unsigned n = 0; n < MIRRORS; n++) {
    double share;
    const double at_hz = account_mirrored_by_mean(beneath->mean_s, am->frequency_hz, n, &share);
    const struct am mirrored = {at_hz, share * am->amplitude};
    if (is_beside_modulation(beneath, line, &mirrored))
      return true;
  }
  return false;
}

static bool is_of_known_am(const struct beneath *beneath, const struct sc_line *line)
{
  const struct account_scene *scene = beneath->scene;
  for (size_t i = 0; i < scene->am_count; i++) {
    const struct am am = {scene->ams[i].frequency_hz, cabs(scene->ams[i].index)};
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
    const double spread = hypot(spread_of(beneath, line), spread_of(beneath, twin));
    const double reach = exact_hz(beneath, spread);
    if (twin != line && fabs(twin->offset_hz.value - at) <= reach &&
        fabs(twin->level_dbc.value - line->level_dbc.value) <= twin_db)
      return size_at(beneath, &beneath->scene->doubled, 2 * spot->frequency_hz, reach) < twin_ghost;
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

/* A side line of AM has its twin beside the same line; all others of that AM follow from it. */
static bool is_new_am(struct beneath *beneath, struct sc_line *line)
{
  const struct account_spot *strong[STRONG_MAX];
  const size_t count = strongest_spots(&beneath->scene->prediction, strong);
  char name[ACCOUNT_NAME_LENGTH];
  for (size_t i = 0; i < count; i++) {
    if (!has_twin(beneath, line, strong[i]))
      continue;
    const double amplitude = account_amplitude(line) / cabs(strong[i]->amplitude);
    const double hz = fabs(line->offset_hz.value - strong[i]->frequency_hz);
    if (beneath->am_count < AM_MAX)
      beneath->ams[beneath->am_count++] = (struct am){hz, amplitude};
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

/* ---- verdicts */

static void judge_new(const struct account_scene *scene, bool hidden, struct sc_line *line)
{
  char name[ACCOUNT_NAME_LENGTH];
  const char *side = line->offset_hz.value < 0 ? "-" : "+";
  if (account_as_receivers(scene, line))
    return;
  account_frequency_words(fabs(line->offset_hz.value), name);
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

/* The limiter mirrors what stays about the carrier that drifts. Records in which it was not
 * followed do not say what stays. */
static double passes_hz(const struct beneath *beneath, const struct sc_line *line)
{
  const struct sc_result *result = beneath->scene->result;
  const double drifts_hz = fabs(result->carrier.drift_hz_s.value) * result->capture.duration_s;
  if (!result->air_lines.followed)
    return 0;
  return !beneath->list->followed ? drifts_hz : line->tone.still ? drifts_hz / 2 : 0;
}

static void note_parent(struct beneath *beneath, const struct sc_line *line)
{
  struct parent *parents = beneath->parents;
  const double amplitude = account_amplitude(line);
  size_t at = beneath->parent_count < PARENTS_MAX ? beneath->parent_count++ : PARENTS_MAX;
  for (; at > 0 && parents[at - 1].amplitude < amplitude; at--)
    if (at < PARENTS_MAX)
      parents[at] = parents[at - 1];
  if (at < PARENTS_MAX)
    parents[at] = (struct parent){line->offset_hz.value, spread_of(beneath, line), amplitude,
                                  passes_hz(beneath, line)};
}

/* So near to the carrier nothing is looked for in what a limiter takes away, but ghosts of what
 * stands there, a receiver's direct current for one, come far out with the modulation. */
static void note_near_carrier(struct beneath *beneath)
{
  const struct sc_line_list *air = &beneath->scene->result->air_lines;
  for (const struct sc_line *line = air->lines; line < air->lines + air->count; line++)
    if (fabs(line->offset_hz.value) < ACCOUNT_BENEATH_FROM_HZ && line->mirror < 0 &&
        !account_mostly_predicted(beneath->scene, line))
      note_parent(beneath, line);
}

static void name(struct beneath *beneath, bool hidden, struct sc_line *line)
{
  if (is_new_am(beneath, line))
    return;
  note_parent(beneath, line);
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

/* True: it is new, and has its verdict. Stronger ones have been judged. */
static bool judge(struct beneath *beneath, struct sc_line *line)
{
  struct sc_line *on_air = line_on_air(beneath, line);
  if (on_air != NULL && on_air->beneath) {
    name_on_air(beneath, line, on_air);
    return false;
  }
  if ((on_air == NULL && !line->beneath) || fabs(line->offset_hz.value) < ACCOUNT_BENEATH_FROM_HZ ||
      is_of_modulation(beneath, line) || is_of_known_am(beneath, line) ||
      is_made_by_limiter(beneath, line))
    return false;
  if (on_air == NULL)
    name(beneath, true, line);
  else if (is_open(line, on_air))
    name_on_air(beneath, line, on_air);
  else
    note_parent(beneath, line);
  return on_air == NULL;
}

/* Of a receiver whose image falls on the signal itself; what a programme of noise makes of it has
 * no lines. */
static bool has_tones(const struct account_scene *scene)
{
  const struct sc_line *lines = scene->result->composite_lines.lines;
  for (size_t i = 0; i < scene->prediction.component_count; i++)
    if (strcmp(lines[scene->component_lines[i]].label, "pilot") != 0)
      return true;
  return false;
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

/* The receiver's image, where this search does not part it from what it is the image of; what its
 * limit is (analysis/channel.c) holds for longer records. */
static double image_on_itself(const struct beneath *beneath, double known)
{
  const struct sc_result *result = beneath->scene->result;
  const struct sc_quantity *image = &result->noise.image;
  const bool apart = !(2 * fabs(result->carrier.offset_hz.value) < beneath->list->resolution_hz);
  if (!has_tones(beneath->scene))
    return 0;
  return apart || image->why != NULL ? known : fmax(known, image->value);
}

void account_judge_beneath(struct account_scene *scene, struct account_beneath *found)
{
  struct sc_line_list *list = &found->list;
  struct beneath beneath = {
      .scene = scene, .list = list, .mean_s = found->mean_s, .rate_hz = found->rate_hz};
  const double floor = fmax(scene->floor, ghost_floor);
  bool new[SC_LINES_MAX] = {false};
  size_t count = 0;
  beneath.ghosts_known = account_predict_times(scene, 2, floor, &scene->doubled) == SC_OK &&
                         account_predict_times(scene, 3, floor, &beneath.tripled) == SC_OK;
  beneath.image = fmax(scene->image, image_of_lines(&beneath));
  beneath.unseen = fmax(unseen_by_image(&beneath), image_on_itself(&beneath, found->image));
  beneath.unseen = fmax(beneath.unseen, account_rounded_anywhere(scene));
  take_back(&beneath, found->shows_dbc);
  account_explain_changing(scene, found);
  note_near_carrier(&beneath);
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
  found->least_dbc = 20 * log10(fmax(made_unseen(&beneath), beneath.unseen));
  list->count = count;
  account_prediction_destroy(&beneath.tripled);
}
