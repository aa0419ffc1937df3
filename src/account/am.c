/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Amplitude modulation of the whole signal, found in what the prediction leaves of all lines.
 *
 * 1 + m cos(2 pi f t + q) turns each line c of the modulation into two more, m/2 e^(jq) c at f
 * above it and m/2 e^(-jq) c at f below it. So every line on air tells of one complex m; it is
 * fitted to all of them at once, for each frequency at which a pair has a part of AM, and the
 * frequency that explains most goes first. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "account/scene.h"

enum { CANDIDATES_MAX = 24, LOOSE_MAX = 8, EXPLAINED_MIN = 8 };
/* Faster AM has lines of its own in what a limiter takes away (beneath.c). */
static const double distance_most_hz = 2000;
static const double lines_share = 0.7; /* others may fall on a few */
static const double pair_share = 0.5;  /* of a pair's rest that its AM has to explain */
static const double sigmas = 5;
static const double left_share = 0.3; /* of a rest, when AM makes all of it */

static double complex spot_at(const struct account_scene *scene, double offset_hz, double reach_hz)
{
  const struct account_spot *spot = account_spot_near(&scene->prediction, offset_hz, reach_hz);
  return spot == NULL ? 0 : scene->common * spot->amplitude;
}

/* What a modulation of index 1 and phase 0, or pi / 2, makes of the carrier's lines here. */
struct basis {
  double complex in_phase, quadrature;
};

static struct basis basis_at(const struct account_scene *scene, double am_hz,
                             const struct sc_line *line)
{
  double reach = account_reach_hz(&scene->result->air_lines, line->offset_hz.uncertainty);
  double complex above = spot_at(scene, line->offset_hz.value - am_hz, reach) / 2;
  double complex below = spot_at(scene, line->offset_hz.value + am_hz, reach) / 2;
  return (struct basis){above + below, I * (above - below)};
}

static double complex made_by(const struct account_scene *scene, const struct account_am *am,
                              const struct sc_line *line)
{
  struct basis basis = basis_at(scene, am->frequency_hz, line);
  return creal(am->index) * basis.in_phase + cimag(am->index) * basis.quadrature;
}

/* ---- one frequency */

static double product(double complex a, double complex b)
{
  return creal(a * conj(b));
}

struct fit {
  double complex index;
  double gain; /* by which chi-squared falls */
};

/* Weighted least squares of both parts of the index over all lines with a phase. */
static struct fit fit_am(const struct account_scene *scene, double am_hz)
{
  const struct sc_line_list *list = &scene->result->air_lines;
  double ii = 0, iq = 0, qq = 0, ri = 0, rq = 0;
  for (size_t k = 0; k < list->count; k++) {
    const struct account_rest *rest = &scene->rests[k];
    if (!rest->is_complex || !(rest->uncertainty > 0))
      continue;
    struct basis basis = basis_at(scene, am_hz, &list->lines[k]);
    double weight = 1 / (rest->uncertainty * rest->uncertainty);
    ii += weight * product(basis.in_phase, basis.in_phase);
    iq += weight * product(basis.in_phase, basis.quadrature);
    qq += weight * product(basis.quadrature, basis.quadrature);
    ri += weight * product(rest->value, basis.in_phase);
    rq += weight * product(rest->value, basis.quadrature);
  }
  double determinant = ii * qq - iq * iq;
  if (!(determinant > 0))
    return (struct fit){0, 0};
  double x = (ri * qq - rq * iq) / determinant, y = (rq * ii - ri * iq) / determinant;
  return (struct fit){x + I * y, x * ri + y * rq};
}

/* The pair at the frequency itself has to lose most of its rest, on both sides. */
static bool explains_pair(const struct account_scene *scene, const struct account_am *am,
                          const struct sc_line *line)
{
  const struct sc_line *lines = scene->result->air_lines.lines;
  for (int side = 0; side < 2; side++) {
    const struct sc_line *of = side == 0 ? line : &lines[line->mirror];
    double complex rest = account_rest_of(scene, of).value;
    double left = cabs(rest - made_by(scene, am, of));
    if (left > pair_share * cabs(rest) && left > sigmas * account_rest_of(scene, of).uncertainty)
      return false;
  }
  return true;
}

/* ---- all of them */

struct candidate {
  const struct sc_line *line;
  double part;
};

static int falling(const void *a, const void *b)
{
  double left = ((const struct candidate *)a)->part, right = ((const struct candidate *)b)->part;
  return (left < right) - (left > right);
}

/* So weak that the converter's steps may make it, and not expected either. */
static bool may_be_steps(const struct account_scene *scene, const struct sc_line *line)
{
  return account_below_converter(scene->result, line->tone.level_db.value) &&
         !account_is_of_data(scene, line->offset_hz.value, 2 * account_amplitude(line));
}

static int upward(const void *a, const void *b)
{
  const struct candidate *left = a, *right = b;
  double left_hz = left->line->offset_hz.value, right_hz = right->line->offset_hz.value;
  return (left_hz > right_hz) - (left_hz < right_hz);
}

/* Pairs with a part of AM that stands out: the strongest ones, and the nearest to the carrier.
 * Beside each strong line of a modulation AM has a pair that is stronger than its own, but farther
 * out. */
static size_t find_candidates(const struct account_scene *scene,
                              struct candidate candidates[SC_LISTED_MAX])
{
  const struct sc_line_list *list = &scene->result->air_lines;
  size_t count = 0;
  for (size_t i = 0; i < list->count && count < SC_LISTED_MAX; i++) {
    const struct sc_line *line = &list->lines[i];
    if (line->offset_hz.value <= 0 || line->mirror < 0 || may_be_steps(scene, line))
      continue;
    struct account_parts parts = account_divide(scene, line);
    if (parts.known && cabs(parts.am) > parts.limit)
      candidates[count++] = (struct candidate){line, cabs(parts.am)};
  }
  if (count <= 2 * CANDIDATES_MAX)
    return count;
  qsort(candidates, count, sizeof *candidates, falling);
  qsort(candidates + CANDIDATES_MAX, count - CANDIDATES_MAX, sizeof *candidates, upward);
  return 2 * CANDIDATES_MAX;
}

/* ---- by its distance from strong lines, where modulation leaves too little of the carrier */

/* By falling size, no more than there is room for. */
static void keep_largest(size_t *kept, double *sizes, size_t *count, size_t index, double size)
{
  size_t at = *count < LOOSE_MAX ? (*count)++ : LOOSE_MAX;
  for (; at > 0 && sizes[at - 1] < size; at--)
    if (at < LOOSE_MAX) {
      kept[at] = kept[at - 1];
      sizes[at] = sizes[at - 1];
    }
  if (at < LOOSE_MAX) {
    kept[at] = index;
    sizes[at] = size;
  }
}

struct distances {
  size_t loose[LOOSE_MAX], loose_count;   /* lines of which most is not predicted */
  size_t strong[LOOSE_MAX], strong_count; /* those that are predicted, and strong */
};

static void take_lines(const struct account_scene *scene, struct distances *distances)
{
  const struct sc_line_list *list = &scene->result->air_lines;
  double rests[LOOSE_MAX], sizes[LOOSE_MAX];
  *distances = (struct distances){.loose_count = 0};
  for (size_t i = 0; i < list->count; i++) {
    const struct account_rest *rest = &scene->rests[i];
    const double size = account_amplitude(&list->lines[i]);
    if (account_mostly_predicted(scene, &list->lines[i]))
      keep_largest(distances->strong, sizes, &distances->strong_count, i, size);
    else if (rest->is_complex && cabs(rest->value) > sigmas * rest->uncertainty)
      keep_largest(distances->loose, rests, &distances->loose_count, i, cabs(rest->value));
  }
}

/* Most of the lines that it makes lose most of their rest, if it is there. */
static bool explains_lines(const struct account_scene *scene, const struct account_am *am)
{
  const struct sc_line_list *list = &scene->result->air_lines;
  size_t makes = 0, explains = 0;
  for (size_t i = 0; i < list->count; i++) {
    const struct account_rest *rest = &scene->rests[i];
    const double complex made = made_by(scene, am, &list->lines[i]);
    if (!rest->is_complex || cabs(made) < 2 * sigmas * rest->uncertainty)
      continue;
    makes++;
    explains += cabs(rest->value - made) <= pair_share * cabs(made);
  }
  return explains >= EXPLAINED_MIN && (double)explains >= lines_share * (double)makes;
}

static void find_by_distances(const struct account_scene *scene, struct account_am *am,
                              double *most)
{
  struct distances distances;
  take_lines(scene, &distances);
  const struct sc_line *lines = scene->result->air_lines.lines;
  for (size_t i = 0; i < distances.loose_count && distances.loose_count >= EXPLAINED_MIN; i++)
    for (size_t k = 0; k < distances.strong_count; k++) {
      const double hz = fabs(lines[distances.loose[i]].offset_hz.value -
                             lines[distances.strong[k]].offset_hz.value);
      if (!(hz > 0) || hz > distance_most_hz)
        continue;
      const struct fit fit = fit_am(scene, hz);
      const struct account_am new = {.frequency_hz = hz, .index = fit.index};
      if (fit.gain <= fmax(*most, sigmas * sigmas) || !explains_lines(scene, &new))
        continue;
      *most = fit.gain;
      *am = new;
    }
}

static bool find_next(const struct account_scene *scene, struct account_am *am)
{
  struct candidate candidates[SC_LISTED_MAX];
  size_t count = find_candidates(scene, candidates);
  double most = 0;
  for (size_t i = 0; i < count; i++) {
    double hz = candidates[i].line->offset_hz.value;
    struct fit fit = fit_am(scene, hz);
    struct account_am new = {.frequency_hz = hz, .index = fit.index};
    if (fit.gain <= fmax(most, sigmas * sigmas) || !explains_pair(scene, &new, candidates[i].line))
      continue;
    most = fit.gain;
    *am = new;
  }
  find_by_distances(scene, am, &most);
  return most > 0;
}

static void take_away(struct account_scene *scene, const struct account_am *am)
{
  const struct sc_line_list *list = &scene->result->air_lines;
  for (size_t i = 0; i < list->count; i++)
    if (scene->rests[i].is_complex)
      scene->rests[i].value -= made_by(scene, am, &list->lines[i]);
}

/* Where data are, their square is looked for first: among many tones its own pairs are hidden by
 * theirs, and all lines together tell of it nevertheless. */
static void find_of_data(struct account_scene *scene)
{
  double places_hz[ACCOUNT_DATA_PLACES_MAX];
  const size_t count = account_data_places(scene, places_hz);
  for (size_t i = 0; i < count && scene->am_count < ACCOUNT_AM_MAX; i++) {
    const struct fit fit = fit_am(scene, places_hz[i]);
    if (fit.gain <= sigmas * sigmas || !account_is_of_data(scene, places_hz[i], cabs(fit.index)))
      continue;
    scene->ams[scene->am_count] =
        (struct account_am){.frequency_hz = places_hz[i], .index = fit.index};
    take_away(scene, &scene->ams[scene->am_count++]);
  }
}

/* The rests themselves stay as they are. */
enum sc_error account_find_am(struct account_scene *scene)
{
  size_t count = scene->result->air_lines.count;
  struct account_rest *rests = scene->rests;
  if (scene->turn == 0)
    return SC_OK;
  scene->rests = malloc(count * sizeof *rests);
  if (scene->rests == NULL) {
    scene->rests = rests;
    return SC_NO_MEMORY;
  }
  memcpy(scene->rests, rests, count * sizeof *rests);
  find_of_data(scene);
  while (scene->am_count < ACCOUNT_AM_MAX && find_next(scene, &scene->ams[scene->am_count]))
    take_away(scene, &scene->ams[scene->am_count++]);
  for (size_t i = 0; i < scene->am_count; i++)
    scene->ams[i].of_data =
        account_is_of_data(scene, scene->ams[i].frequency_hz, cabs(scene->ams[i].index));
  free(scene->rests);
  scene->rests = rests;
  return SC_OK;
}

/* Where phases do not compare, it may be added in any phase. */
static bool is_made(const struct account_rest *rest, double complex sum, double sizes)
{
  const double spread = sigmas * rest->uncertainty;
  return rest->is_complex ? cabs(rest->value - sum) <= fmax(spread, left_share * cabs(rest->value))
                          : cabs(rest->value) <= spread + sizes;
}

const struct account_am *account_am_of(const struct account_scene *scene,
                                       const struct sc_line *line)
{
  const struct account_am *most = NULL;
  const struct account_rest rest = account_rest_of(scene, line);
  double complex sum = 0;
  double strongest = 0, sizes = 0;
  for (size_t i = 0; i < scene->am_count; i++) {
    const double complex made = made_by(scene, &scene->ams[i], line);
    sum += made;
    sizes += cabs(made);
    if (cabs(made) > strongest)
      most = &scene->ams[i];
    strongest = fmax(strongest, cabs(made));
  }
  return is_made(&rest, sum, sizes) ? most : NULL;
}
