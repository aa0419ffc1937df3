/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Beats of one-sided lines that are so strong that a first order does not do, and are told by all.
 *
 * Where the tones of a programme are multiples of one frequency, and the line as well, beats fall
 * onto the tones: these are measured with the beats, and without them predict the lines on air. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "account/beats_series.h"
#include "account/changing.h"
#include "account/scene.h"
#include "account/words.h"

enum { ROUNDS = 8 }; /* two or three do, but for very strong lines */
/* Amplitudes re the carrier. Below, the first order tells all that can be seen; beyond, the sum
 * does not converge, and the discriminator clicks. */
static const double strong = 0.01, too_strong = 0.9;
static const double sure = 0.25; /* index: a beat is no larger than its makers (our choice) */
/* Of the power that is left of the lines on air: where all begins with a guess, it does not become
 * so little by chance. */
static const double better = 0.5, no_worse = 1.1;
static const double sigmas = 5;
static const double inexact = 0.02; /* of the sizes of all beats at a place: channel, noise */
static const double most_of_it = 0.5;
static const double in_common = 0.5; /* of measured and predicted lines: power */
static const double one_sided = 0.3; /* of a line, at its mirrored place */

struct search {
  struct account_scene *scene;
  struct account_series series;
  bool guessed; /* whether all begins with the tones that are surely none */
  double own;   /* amplitude of the carrier, as levels on air have it */
};

/* ---- makers */

static double square(double complex amplitude)
{
  return creal(amplitude) * creal(amplitude) + cimag(amplitude) * cimag(amplitude);
}

static void add_maker(struct search *search, const struct account_maker *new)
{
  size_t at = search->series.maker_count < ACCOUNT_MAKERS_MAX ? search->series.maker_count++
                                                              : ACCOUNT_MAKERS_MAX;
  for (; at > 0 && cabs(search->series.makers[at - 1].amplitude) < cabs(new->amplitude); at--)
    if (at < ACCOUNT_MAKERS_MAX)
      search->series.makers[at] = search->series.makers[at - 1];
  if (at < ACCOUNT_MAKERS_MAX)
    search->series.makers[at] = *new;
}

static bool is_maker(const struct search *search, const struct sc_line *line)
{
  for (size_t k = 0; k < search->series.maker_count; k++)
    if (search->series.makers[k].line == line)
      return true;
  return false;
}

/* Levels on air are relative to all the power in the channel, of which the makers may be a part:
 * turn and size of the prediction are those that fit it to the lines of least squares. false: they
 * have little in common. */
static bool find_fit(struct search *search)
{
  struct account_scene *scene = search->scene;
  const struct sc_line_list *list = &scene->result->air_lines;
  double complex both = 0, phasor;
  double measured = 0, predicted = 0;
  scene->turn = 1;
  for (size_t i = 0; i < list->count; i++) {
    const struct sc_line *line = &list->lines[i];
    const struct account_spot *spot = account_spot_of(scene, line);
    if (spot == NULL || is_maker(search, line) || !account_phasor(scene, line, &phasor))
      continue;
    both += phasor * conj(spot->amplitude);
    measured += square(phasor);
    predicted += square(spot->amplitude);
  }
  const bool fits = square(both) > in_common * measured * predicted;
  scene->turn = fits ? both / cabs(both) : 0;
  search->own = fits ? cabs(both) / predicted : 0;
  return fits;
}

/* What the prediction leaves of a line, re the carrier; false: no phase tells. */
static bool rest_of(const struct search *search, const struct sc_line *line, double complex *rest)
{
  const struct account_spot *spot = account_spot_of(search->scene, line);
  if (!account_phasor(search->scene, line, rest))
    return false;
  *rest = *rest / search->own - (spot == NULL ? 0 : spot->amplitude);
  return true;
}

/* Also one that stands on a line of the modulation: what is left at the mirrored place is little.
 */
static bool is_left_alone(const struct search *search, const struct sc_line *line,
                          double complex rest)
{
  const struct sc_line_list *list = &search->scene->result->air_lines;
  double complex mirrored = 0;
  const double reach_hz = account_reach_hz(list, line->offset_hz.uncertainty);
  return search->guessed && fabs(line->offset_hz.value) > reach_hz && cabs(rest) >= strong &&
         line->mirror >= 0 && rest_of(search, &list->lines[line->mirror], &mirrored) &&
         cabs(mirrored) < one_sided * cabs(rest);
}

static void find_makers(struct search *search)
{
  const struct account_scene *scene = search->scene;
  const struct sc_line_list *list = &scene->result->air_lines;
  double complex rest;
  search->series.maker_count = 0;
  for (size_t i = 0; i < list->count; i++) {
    const struct sc_line *line = &list->lines[i];
    if (!rest_of(search, line, &rest) ||
        !(account_is_beater(scene, line) || is_left_alone(search, line, rest)))
      continue;
    const double doubt = hypot(account_amplitude_uncertainty(line) / search->own / cabs(rest),
                               line->tone.phase_uncertainty_rad / 2);
    add_maker(search, &(struct account_maker){line, rest, doubt});
  }
}

/* The fit is better without the makers. */
static bool find_all_makers(struct search *search)
{
  search->series.maker_count = 0;
  for (int pass = 0; pass < 2; pass++) {
    if (!find_fit(search))
      return false;
    find_makers(search);
  }
  return true;
}

static double sum_of_makers(const struct search *search)
{
  double sum = 0;
  for (size_t k = 0; k < search->series.maker_count; k++)
    sum += cabs(search->series.makers[k].amplitude);
  return sum;
}

/* ---- verdicts */

static void label(const struct sc_line *maker, struct sc_line *line)
{
  account_label(line, "beat with %+.2f kHz", maker->offset_hz.value / 1e3);
}

static void name(const struct account_term *term, struct sc_line *line)
{
  const double khz = term->leader->offset_hz.value / 1e3;
  label(term->leader, line);
  if (term->order == 1)
    account_verdict(line, SC_VERDICT_ARTEFACT,
                    "no tone: made in the discriminator by the one-sided line at %+.3f kHz and "
                    "lines of the modulation, as their levels and phases tell",
                    khz);
  else
    account_verdict(line, SC_VERDICT_ARTEFACT,
                    "no tone: made in the discriminator by the one-sided line at %+.3f kHz, in the "
                    "order %d, and lines of the modulation, as their levels and phases tell",
                    khz, term->order);
}

/* Beats of an image, or of what does not go with the carrier, are judged elsewhere. */
static bool is_of_makers(const struct search *search, const struct sc_line *line)
{
  struct sc_line named;
  bool same = false;
  for (size_t k = 0; k < search->series.maker_count && !same; k++) {
    label(search->series.makers[k].line, &named);
    same = line->verdict == SC_VERDICT_ARTEFACT && strcmp(line->label, named.label) == 0;
  }
  return same;
}

static void judge(const struct search *search, struct sc_line *line, double complex *taken)
{
  const struct account_scene *scene = search->scene;
  const double phase = account_phase(scene, &scene->result->composite_lines, line);
  const double index = account_index(line);
  const bool of_makers = is_of_makers(search, line);
  if (isnan(phase) || line->deviation_khz.why != NULL || !(line->offset_hz.value > 0) ||
      (line->verdict == SC_VERDICT_ARTEFACT && !of_makers))
    return;
  const struct account_beat beat = account_series_beat(scene, &search->series, line);
  const double noise = index * hypot(line->deviation_khz.uncertainty / line->deviation_khz.value,
                                     line->tone.phase_uncertainty_rad / 2);
  const double left = cabs(index * cexp(I * phase) - beat.sum);
  const double most = fmax(sigmas * hypot(noise, beat.doubt), inexact * beat.sizes);
  *taken = 0;
  if (beat.leader == NULL)
    return;
  if (left <= most && cabs(beat.sum) >= most_of_it * index) {
    name(beat.leader, line);
    return;
  }
  if (of_makers) {
    line->verdict = SC_VERDICT_UNKNOWN;
    line->label[0] = '\0';
  }
  *taken = beat.sum;
}

/* `settled`: it changes nothing any more. */
static enum sc_error run_round(struct search *search, bool *settled)
{
  struct account_scene *scene = search->scene;
  struct sc_line_list *list = &scene->result->composite_lines;
  *settled = true;
  if (!find_all_makers(search))
    return SC_OK;
  enum sc_error error = account_series_find(scene, &search->series);
  if (error != SC_OK)
    return error;
  for (size_t i = 0; i < list->count; i++) {
    const enum sc_verdict before = list->lines[i].verdict;
    const double complex taken = scene->beats[i];
    judge(search, &list->lines[i], &scene->beats[i]);
    *settled = *settled && before == list->lines[i].verdict &&
               cabs(taken - scene->beats[i]) <= search->series.least;
  }
  return account_predict_times(scene, 1, scene->floor, &scene->prediction);
}

static bool has_strong(struct search *search)
{
  if (!find_all_makers(search))
    return false;
  const double sum = sum_of_makers(search);
  return sum >= strong && sum < too_strong;
}

/* ---- whether that explains the air */

/* Of lines on air, by index, squared; the prediction's scale is the one that fits best. */
static void find_rests(const struct account_scene *scene, double *rests)
{
  const struct sc_line_list *list = &scene->result->air_lines;
  double both = 0, predicted = 0;
  for (size_t i = 0; i < list->count; i++) {
    const struct account_spot *spot = account_spot_of(scene, &list->lines[i]);
    both += spot == NULL ? 0 : account_amplitude(&list->lines[i]) * cabs(spot->amplitude);
    predicted += spot == NULL ? 0 : pow(cabs(spot->amplitude), 2);
  }
  const double scale = predicted > 0 ? both / predicted : 0;
  for (size_t i = 0; i < list->count; i++) {
    const struct account_spot *spot = account_spot_of(scene, &list->lines[i]);
    const double made = spot == NULL ? 0 : scale * cabs(spot->amplitude);
    rests[i] = pow(account_amplitude(&list->lines[i]) - made, 2);
  }
}

/* Of all but the makers. */
static double most_of(const struct search *search, const double *rests)
{
  const struct sc_line_list *list = &search->scene->result->air_lines;
  double most = 0;
  for (size_t i = 0; i < list->count; i++)
    if (!is_maker(search, &list->lines[i]))
      most = fmax(most, rests[i]);
  return sqrt(most);
}

/* Of all but the makers, after over before, each with what measuring leaves anyway. */
static double improvement(const struct search *search, const double *before, const double *after)
{
  const struct sc_line_list *list = &search->scene->result->air_lines;
  double sums[2] = {0, 0};
  for (size_t i = 0; i < list->count; i++) {
    const double chance = pow(account_amplitude_uncertainty(&list->lines[i]), 2);
    if (is_maker(search, &list->lines[i]))
      continue;
    sums[0] += before[i] + chance;
    sums[1] += after[i] + chance;
  }
  return sums[0] > 0 ? sums[1] / sums[0] : 1;
}

/* ---- in order */

/* What was said of the composite, for where it turns out to be right. */
struct kept {
  struct sc_line *lines;
  double *before, *after; /* rests of the lines on air */
};

static enum sc_error restore(struct search *search, const struct kept *kept)
{
  struct account_scene *scene = search->scene;
  struct sc_line_list *list = &scene->result->composite_lines;
  memcpy(list->lines, kept->lines, list->count * sizeof *list->lines);
  memset(scene->beats, 0, list->count * sizeof *scene->beats);
  scene->sure_index = search->guessed ? sure : 0;
  const enum sc_error error = account_predict_times(scene, 1, scene->floor, &scene->prediction);
  scene->sure_index = 0;
  return error;
}

static enum sc_error try_it(struct search *search, const struct kept *kept, bool *done)
{
  enum sc_error error = SC_OK;
  bool settled = false;
  for (int round = 0; error == SC_OK && !settled && round < ROUNDS; round++)
    error = run_round(search, &settled);
  if (error != SC_OK)
    return error;
  find_rests(search->scene, kept->after);
  *done = improvement(search, kept->before, kept->after) < (search->guessed ? better : no_worse) &&
          (search->guessed || most_of(search, kept->after) < strong);
  return SC_OK;
}

/* Beats that pass for tones may spoil the prediction so much that little is told from it: then the
 * tones that are surely none begin. */
static enum sc_error run(struct search *search, const struct kept *kept, bool *done)
{
  enum sc_error error = SC_OK;
  find_rests(search->scene, kept->before);
  const bool tried = has_strong(search);
  if (tried)
    error = try_it(search, kept, done);
  if (error != SC_OK || *done)
    return error;
  search->series.maker_count = 0;
  search->guessed = most_of(search, kept->before) >= strong;
  if (tried || search->guessed)
    error = restore(search, kept);
  if (error == SC_OK && search->guessed && has_strong(search))
    error = try_it(search, kept, done);
  if (error != SC_OK || *done || !search->guessed)
    return error;
  search->guessed = false;
  return restore(search, kept);
}

enum sc_error account_find_strong_beats(struct account_scene *scene, bool *done)
{
  const struct sc_line_list *list = &scene->result->composite_lines;
  const size_t air = scene->result->air_lines.count + 1;
  struct search search = {.scene = scene};
  *done = false;
  if (account_programme_changes(scene) || list->count == 0 ||
      !(scene->result->composite_rate_hz.value > 0))
    return SC_OK;
  struct kept kept = {malloc(list->count * sizeof *kept.lines), calloc(air, sizeof *kept.before),
                      calloc(air, sizeof *kept.after)};
  scene->beats = calloc(list->count, sizeof *scene->beats);
  enum sc_error error = SC_NO_MEMORY;
  if (kept.lines != NULL && kept.before != NULL && kept.after != NULL && scene->beats != NULL) {
    memcpy(kept.lines, list->lines, list->count * sizeof *kept.lines);
    error = run(&search, &kept, done);
  }
  if (!*done) {
    free(scene->beats);
    scene->beats = NULL;
  }
  account_series_destroy(&search.series);
  free(kept.lines);
  free(kept.before);
  free(kept.after);
  return error;
}
