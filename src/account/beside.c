/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What makes lines on air beside the modulation: unequal I and Q of the receiver, amplitude
 * modulation, another signal in the same capture. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <float.h>
#include <math.h>
#include <stdlib.h>

#include "account/scene.h"

static const double image_most = 0.3;       /* -10 dB: no receiver is as bad */
static const double pair_db = 3;            /* lines of a pair around another carrier */
static const double other_width_hz = 100e3; /* of pairs around it, either side */
static const double other_reach_hz = 150e3; /* of its lines: half Carson's bandwidth and more */
/* Lines of one level, to this, are a comb: those of FM differ as Bessel functions do. */
static const double one_level_db = 2;
/* Two pairs are enough around a carrier that is so much stronger: a pilot without programme. */
static const double carrier_over_db = 6;
/* Lines that are an image agree to this; weak ones are in doubt by about 1 dB. */
static const double image_agree_db = 2;
/* An image of another line is surely seen, or surely not there; and noise at its place is not much
 * more than at the line's own. */
static const double image_surely_db = 10, noise_alike = 4;
/* Of what two lines that are not told apart are together: one of them, and what measuring them as
 * one makes of it (our choice). */
static const double of_pair_least = 0.5, of_pair_most = 1.4;
enum { IMAGE_TESTS_MAX = 8, IMAGE_TESTS_MIN = 2 };
enum { IMAGE_LINES_MIN = 3, IMAGE_LINES_MAX = 256 };
enum { OTHER_LINES_MIN = 5, OTHER_LINES_MAX = 64, OTHER_PAIRS_MIN = 3, CARRIER_PAIRS_MIN = 2 };

/* ---- mirror image */

/* The factor K of K conj(x); its line is K conj(carrier). */
static double complex image_phasor(const struct account_scene *scene, const struct sc_line *line,
                                   const struct sc_line *carrier)
{
  double complex image, of;
  if (!account_phasor(scene, line, &image) || !account_phasor(scene, carrier, &of))
    return 0;
  return image / conj(of);
}

static void find_image_by_carrier(struct account_scene *scene)
{
  const struct sc_line_list *list = &scene->result->air_lines;
  double carrier_hz = scene->result->carrier.offset_hz.value;
  if (scene->carrier < 0 || fabs(carrier_hz) <= list->resolution_hz)
    return;
  const struct sc_line *carrier = &list->lines[scene->carrier];
  for (size_t i = 0; i < list->count; i++) {
    const struct sc_line *line = &list->lines[i];
    double ratio = account_amplitude(line) / account_amplitude(carrier);
    double spread =
        hypot(line->tone.frequency_hz.uncertainty, carrier->tone.frequency_hz.uncertainty);
    double away = fabs(line->tone.frequency_hz.value + carrier_hz);
    if (away <= account_exact_hz(list, spread) && ratio < image_most &&
        !account_mostly_predicted(scene, line)) {
      scene->image = ratio;
      scene->image_phasor = image_phasor(scene, line, carrier);
    }
  }
}

const struct sc_line *account_mirrored(const struct account_scene *scene,
                                       const struct sc_line *line)
{
  const struct sc_line_list *list = &scene->result->air_lines;
  const double widest = account_exact_hz(list, DBL_MAX);
  const struct sc_line *found = NULL;
  for (size_t i = 0; i < list->count; i++) {
    const struct sc_line *other = &list->lines[i];
    const double away = fabs(line->tone.frequency_hz.value + other->tone.frequency_hz.value);
    if (other == line || away > widest) /* most are */
      continue;
    const double spread =
        hypot(line->tone.frequency_hz.uncertainty, other->tone.frequency_hz.uncertainty);
    if (away <= account_exact_hz(list, spread) &&
        account_amplitude(line) < image_most * account_amplitude(other))
      found = other;
  }
  return found;
}

static int rising(const void *a, const void *b)
{
  const double left = *(const double *)a, right = *(const double *)b;
  return (left > right) - (left < right);
}

/* Of those that the signal does not make itself. */
static size_t take_ratios(const struct account_scene *scene, double ratios[IMAGE_LINES_MAX],
                          const struct sc_line **strongest)
{
  const struct sc_line_list *list = &scene->result->air_lines;
  size_t count = 0;
  for (size_t i = 0; i < list->count && count < IMAGE_LINES_MAX; i++) {
    const struct sc_line *line = &list->lines[i], *of;
    if (account_mostly_predicted(scene, line) || account_is_direct_current(scene->result, line) ||
        (of = account_mirrored(scene, line)) == NULL)
      continue;
    ratios[count++] = account_amplitude(line) / account_amplitude(of);
    if (*strongest == NULL || account_amplitude(line) > account_amplitude(*strongest))
      *strongest = line;
  }
  return count;
}

/* Where modulation leaves little of the carrier: by the other lines, which all agree. */
static void find_image_by_lines(struct account_scene *scene)
{
  double ratios[IMAGE_LINES_MAX];
  const struct sc_line *strongest = NULL;
  const size_t count = take_ratios(scene, ratios, &strongest);
  if (count < IMAGE_LINES_MIN)
    return;
  qsort(ratios, count, sizeof ratios[0], rising);
  const double middle = ratios[count / 2];
  size_t near = 0;
  for (size_t i = 0; i < count; i++)
    near += fabs(20 * log10(ratios[i] / middle)) <= image_agree_db;
  if (near < IMAGE_LINES_MIN || 2 * near < count)
    return;
  scene->image = middle;
  scene->image_phasor = image_phasor(scene, strongest, account_mirrored(scene, strongest));
}

/* exp(j p) at the capture's frequency x has its conjugate at -x, smaller by one factor for all
 * lines. A carrier in the middle of the capture hides it. */
void account_find_image(struct account_scene *scene)
{
  find_image_by_carrier(scene);
  if (scene->image == 0 &&
      fabs(scene->result->carrier.offset_hz.value) > scene->result->air_lines.resolution_hz)
    find_image_by_lines(scene);
}

/* ---- no image */

/* An image of that ratio would be found, of what moves as the line does, and the receiver has about
 * the same at the frequency. */
static bool would_show(const struct account_scene *scene, const struct sc_line *other,
                       const struct sc_line *of, double ratio_db)
{
  const struct sc_result *result = scene->result;
  const double hz = fabs(other->tone.frequency_hz.value), of_hz = fabs(of->tone.frequency_hz.value);
  return other != of && other->tone.still == of->tone.still && hz > of_hz / 2 && hz < 2 * of_hz &&
         hz < account_searched_hz(result) &&
         account_margin_db(&result->air_lines, other) + ratio_db >= image_surely_db;
}

/* The strongest of those, in no order. */
static size_t take_tests(const struct account_scene *scene, const struct sc_line *of,
                         double ratio_db, const struct sc_line *tests[IMAGE_TESTS_MAX])
{
  const struct sc_line_list *list = &scene->result->air_lines;
  size_t count = 0;
  for (size_t i = 0; i < list->count; i++) {
    const struct sc_line *other = &list->lines[i];
    size_t weakest = 0;
    if (!would_show(scene, other, of, ratio_db))
      continue;
    if (count < IMAGE_TESTS_MAX) {
      tests[count++] = other;
      continue;
    }
    for (size_t k = 1; k < count; k++)
      weakest = tests[k]->level_dbc.value < tests[weakest]->level_dbc.value ? k : weakest;
    if (tests[weakest]->level_dbc.value < other->level_dbc.value)
      tests[weakest] = other;
  }
  return count;
}

enum seen { NOTHING, HIDDEN, IMAGE };

/* What stands where the image of a line would be: much less than that, more of something else, or
 * the noise of a programme that would hide it; or as much. */
static enum seen seen_at_image(const struct account_scene *scene, const struct sc_line *of,
                               double ratio_db)
{
  const struct sc_line_list *list = &scene->result->air_lines;
  const double at_hz = -of->tone.frequency_hz.value, expected_db = of->level_dbc.value + ratio_db;
  const struct sc_line *nearest = NULL;
  double nearest_hz = INFINITY, strongest_db = -INFINITY;
  for (size_t i = 0; i < list->count; i++) {
    const double away_hz = fabs(list->lines[i].tone.frequency_hz.value - at_hz);
    if (away_hz < nearest_hz)
      nearest = &list->lines[i];
    nearest_hz = fmin(nearest_hz, away_hz);
    if (away_hz <= list->resolution_hz)
      strongest_db = fmax(strongest_db, list->lines[i].level_dbc.value);
  }
  if (fabs(strongest_db - expected_db) <= image_agree_db)
    return IMAGE;
  if (strongest_db > expected_db - image_surely_db)
    return HIDDEN;
  return nearest != NULL && nearest->tone.noise_density > noise_alike * of->tone.noise_density
             ? HIDDEN
             : NOTHING;
}

bool account_is_no_image(const struct account_scene *scene, const struct sc_line *line,
                         const struct sc_line *of)
{
  const struct sc_line *tests[IMAGE_TESTS_MAX];
  const double ratio_db = line->level_dbc.value - of->level_dbc.value;
  const size_t count = take_tests(scene, of, ratio_db, tests);
  size_t nothing = 0;
  for (size_t i = 0; i < count; i++) {
    const enum seen seen = seen_at_image(scene, tests[i], ratio_db);
    if (seen == IMAGE)
      return false;
    nothing += seen == NOTHING;
  }
  return nothing >= IMAGE_TESTS_MIN;
}

/* Of the line that is measured at the mirrored place, which may be more than modulation; of the
 * predicted one where none is. */
double account_image_expected(const struct account_scene *scene, const struct sc_line *line)
{
  double mirrored = -line->offset_hz.value - 2 * scene->result->carrier.offset_hz.value;
  double reach = account_reach_hz(&scene->result->air_lines, line->offset_hz.uncertainty);
  const struct sc_line_list *list = &scene->result->air_lines;
  for (size_t i = 0; i < list->count; i++)
    if (fabs(list->lines[i].offset_hz.value - mirrored) <= reach)
      return scene->image * account_amplitude(&list->lines[i]);
  return scene->image *
         account_predicted(scene, account_spot_near(&scene->prediction, mirrored, reach));
}

/* One that stands so near to where the line is mirrored to that a record on air does not part it
 * from what the line is the image of; as strong as two are together, or one of them. */
static bool may_be_pair(const struct account_scene *scene, const struct sc_line *line,
                        const struct sc_line *of)
{
  const double mirrored = -line->offset_hz.value - 2 * scene->result->carrier.offset_hz.value;
  const double share = account_amplitude(line) / (scene->image * account_amplitude(of));
  return of != line &&
         fabs(of->offset_hz.value - mirrored) <= scene->result->air_lines.resolution_hz &&
         share >= of_pair_least && share <= of_pair_most;
}

/* In what a limiter takes away a line has a ghost on the other side, which is no stronger. */
static bool is_ghost(const struct sc_line_list *list, const struct sc_line *line)
{
  for (size_t i = 0; i < list->count; i++)
    if (fabs(list->lines[i].offset_hz.value + line->offset_hz.value) <= list->resolution_hz &&
        list->lines[i].level_dbc.value > line->level_dbc.value)
      return true;
  return false;
}

const struct sc_line *account_image_of_pair(const struct account_scene *scene,
                                            const struct sc_line *line)
{
  const struct sc_line_list *air = &scene->result->air_lines, *taken = scene->taken;
  if (!(scene->image > 0))
    return NULL;
  for (size_t i = 0; i < air->count; i++)
    if (may_be_pair(scene, line, &air->lines[i]) &&
        !account_mostly_predicted(scene, &air->lines[i]))
      return &air->lines[i];
  for (size_t i = 0; taken != NULL && i < taken->count; i++)
    if (may_be_pair(scene, line, &taken->lines[i]) && !is_ghost(taken, &taken->lines[i]))
      return &taken->lines[i];
  return NULL;
}

/* ---- another signal */

/* Where rounding was seen to make lines, of no more than the strongest of them. */
static bool may_be_rounding(const struct account_scene *scene, const struct sc_line *line)
{
  return account_is_rounded_anew(scene, line) ||
         (line->rounded > 0 && account_amplitude(line) <= scene->rounding.most);
}

static bool is_loose(const struct account_scene *scene, const struct sc_line *line)
{
  const struct sc_line_list *list = &scene->result->air_lines;
  return line->mirror < 0 && !account_is_direct_current(scene->result, line) &&
         !may_be_rounding(scene, line) && !account_mostly_predicted(scene, line) &&
         !account_is_unreached(scene, line) &&
         !account_is_rounding(scene, list, &line->tone.frequency_hz, account_amplitude(line)) &&
         !account_agrees(account_amplitude(line), account_amplitude_uncertainty(line),
                         account_image_expected(scene, line)) &&
         account_image_of_pair(scene, line) == NULL;
}

static int falling(const void *a, const void *b)
{
  double left = (*(const struct sc_line *const *)a)->level_dbc.value;
  double right = (*(const struct sc_line *const *)b)->level_dbc.value;
  return (left < right) - (left > right);
}

/* The strongest loose lines that are of no signal found so far. */
static size_t take_loose(const struct account_scene *scene,
                         const struct sc_line *loose[OTHER_LINES_MAX])
{
  const struct sc_line_list *list = &scene->result->air_lines;
  size_t count = 0;
  for (size_t i = 0; i < list->count; i++) {
    if (!is_loose(scene, &list->lines[i]) || account_other_of(scene, &list->lines[i]) != NULL)
      continue;
    if (count < OTHER_LINES_MAX) {
      loose[count++] = &list->lines[i];
      continue;
    }
    qsort(loose, count, sizeof *loose, falling);
    if (loose[count - 1]->level_dbc.value < list->lines[i].level_dbc.value)
      loose[count - 1] = &list->lines[i];
  }
  return count;
}

struct pairs {
  size_t count;
  double highest_dbc, lowest_dbc; /* of their lines */
};

static bool is_pair(const struct account_scene *scene, const struct sc_line *one,
                    const struct sc_line *other, double centre_hz)
{
  double sum = one->offset_hz.value + other->offset_hz.value;
  double spread = hypot(one->offset_hz.uncertainty, other->offset_hz.uncertainty);
  return fabs(one->offset_hz.value - centre_hz) <= other_width_hz &&
         fabs(sum - 2 * centre_hz) <= account_exact_hz(&scene->result->air_lines, spread) &&
         fabs(one->level_dbc.value - other->level_dbc.value) <= pair_db;
}

static struct pairs pairs_around(const struct account_scene *scene,
                                 const struct sc_line *const *loose, size_t count, double centre_hz)
{
  struct pairs pairs = {0, -INFINITY, INFINITY};
  for (size_t i = 0; i < count; i++)
    for (size_t k = 0; k < i; k++) {
      if (!is_pair(scene, loose[i], loose[k], centre_hz))
        continue;
      double one = loose[i]->level_dbc.value, other = loose[k]->level_dbc.value;
      pairs.count++;
      pairs.highest_dbc = fmax(pairs.highest_dbc, fmax(one, other));
      pairs.lowest_dbc = fmin(pairs.lowest_dbc, fmin(one, other));
    }
  return pairs;
}

/* An FM signal has its lines in pairs around its carrier, and the carrier's own line where that is
 * not just in a null. */
static bool are_of_carrier(const struct pairs *pairs, const struct sc_line *carrier)
{
  bool above = carrier->level_dbc.value >= pairs->highest_dbc + carrier_over_db;
  return pairs->count >= (above ? CARRIER_PAIRS_MIN : OTHER_PAIRS_MIN) &&
         pairs->highest_dbc - pairs->lowest_dbc >= one_level_db;
}

/* Finds the one with most pairs; false: there is none. */
static bool find_next(struct account_scene *scene)
{
  const struct sc_line *loose[OTHER_LINES_MAX];
  size_t count = take_loose(scene, loose), most = 0;
  double centre_hz = 0;
  for (size_t i = 0; i < count && count >= OTHER_LINES_MIN; i++) {
    const struct pairs pairs = pairs_around(scene, loose, count, loose[i]->offset_hz.value);
    if (pairs.count <= most || !are_of_carrier(&pairs, loose[i]))
      continue;
    most = pairs.count;
    centre_hz = loose[i]->offset_hz.value;
  }
  if (most > 0)
    scene->others_hz[scene->other_count++] = centre_hz;
  return most > 0;
}

void account_find_others(struct account_scene *scene)
{
  while (scene->other_count < ACCOUNT_OTHERS_MAX && find_next(scene))
    ;
}

const double *account_other_of(const struct account_scene *scene, const struct sc_line *line)
{
  const double *nearest = NULL;
  /* nearer to it than to the carrier */
  double reach_hz = fmin(other_reach_hz, fabs(line->offset_hz.value));
  for (size_t i = 0; i < scene->other_count; i++) {
    double away_hz = fabs(line->offset_hz.value - scene->others_hz[i]);
    if (away_hz > reach_hz)
      continue;
    reach_hz = away_hz;
    nearest = &scene->others_hz[i];
  }
  return nearest != NULL && is_loose(scene, line) ? nearest : NULL;
}
