/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The account of one result, in its order: predict from all tones of the composite, sort out
 * those that the discriminator made, name the others, predict again, compare with the air. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdlib.h>

#include "account/account.h"
#include "account/beneath.h"
#include "account/changing.h"
#include "account/scene.h"
#include "account/words.h"

/* Of the floor to the weakest line on air: many ways too weak to matter alone lead to one place,
 * and where the list holds the strongest lines alone, those are hundreds. */
static const double below_weakest = 0.001;
static const double floor_least = 1e-7, floor_most = 1e-4;
/* Of a line of data: up to 7.5 kHz in all, at 57 kHz, a few of which hold half. */
static const double weak_index = 0.1;
static const double places_times = 2; /* of the resolution on air */
static const double pi = 3.14159265358979323846;

static void name_nearest(struct sc_line_list *list)
{
  for (size_t i = 0; i < list->count; i++) {
    struct sc_line *line = &list->lines[i];
    line->nearest = sc_subcarrier_nearest(line->offset_hz.value, &line->nearest_distance_hz);
  }
}

/* What an earlier account said. */
static void forget(struct sc_line_list *list)
{
  for (size_t i = 0; i < list->count; i++) {
    if (list->lines[i].beneath)
      continue;
    list->lines[i].verdict = SC_VERDICT_UNKNOWN;
    list->lines[i].am_hz = 0;
    list->lines[i].label[0] = '\0';
  }
}

static void leave_unknown(struct sc_line_list *list, const char *why)
{
  for (size_t i = 0; i < list->count; i++)
    account_verdict(&list->lines[i], SC_VERDICT_UNKNOWN, "%s", why);
}

static double floor_for(const struct sc_line_list *list)
{
  double weakest = 1;
  for (size_t i = 0; i < list->count; i++)
    weakest = fmin(weakest, account_amplitude(&list->lines[i]));
  return fmin(fmax(below_weakest * weakest, floor_least), floor_most);
}

static ptrdiff_t find_carrier(const struct sc_line_list *list)
{
  for (size_t i = 0; i < list->count; i++)
    if (fabs(list->lines[i].offset_hz.value) <=
        account_reach_hz(list, list->lines[i].offset_hz.uncertainty))
      return (ptrdiff_t)i;
  return -1;
}

/* Of the newest record in which a line on air was seen. */
static double last_middle(const struct sc_line_list *list)
{
  double last = (double)NAN;
  for (size_t i = 0; i < list->count; i++) {
    const struct sc_tone *tone = &list->lines[i].tone;
    if (list->lines[i].alongside && tone->moment_count > 0)
      last = fmax(last, tone->moments[tone->moment_count - 1].middle_s);
  }
  return last;
}

/* ---- components */

/* In the middle of the record, where frequency errors turn it least and its uncertainty is half
 * of that at an end. */
static struct account_component component_of(const struct account_scene *scene,
                                             const struct sc_line *line)
{
  const struct sc_line_list *list = &scene->result->composite_lines;
  double phase = account_phase(scene, list, line), khz = line->deviation_khz.value;
  bool known = !isnan(phase);
  double complex beat = scene->beats != NULL ? scene->beats[line - list->lines] : 0;
  beat += scene->cut != NULL ? scene->cut[line - list->lines] : 0;
  if (known && beat != 0) {
    double complex tone = khz * cexp(I * phase) - 1e-3 * line->offset_hz.value * beat;
    khz = cabs(tone);
    phase = carg(tone);
  }
  return (struct account_component){.frequency_hz = line->offset_hz.value,
                                    .deviation_khz = khz,
                                    .deviation_uncertainty_khz = line->deviation_khz.uncertainty,
                                    .phase_rad = known ? phase : 0,
                                    .phase_uncertainty_rad =
                                        known ? line->tone.phase_uncertainty_rad / 2 : pi};
}

static bool takes_part(const struct account_scene *scene, const struct sc_line *line)
{
  return line->verdict != SC_VERDICT_ARTEFACT && line->deviation_khz.why == NULL &&
         line->offset_hz.value > 0 &&
         account_index(line) > fmax(2 * scene->floor, scene->sure_index);
}

/* Of data that repeat, where there is not room for all: they have hundreds of lines, and the first
 * order of each does. */
static bool is_weak(const struct account_scene *scene, const struct sc_line *line)
{
  return account_is_in_data(scene->result, line) && account_index(line) < weak_index;
}

static bool are_too_many(const struct account_scene *scene)
{
  const struct sc_line_list *list = &scene->result->composite_lines;
  size_t count = 0;
  for (size_t i = 0; i < list->count; i++)
    count += takes_part(scene, &list->lines[i]);
  return count > ACCOUNT_COMPONENTS_MAX;
}

/* The ones of the highest index, which make the strongest lines, of those that are weak or not.
 * Returns their count, `room` at most. */
static size_t choose_lines(const struct account_scene *scene, bool apart, bool weak, size_t room,
                           size_t *chosen)
{
  const struct sc_line *lines = scene->result->composite_lines.lines;
  size_t count = 0;
  for (size_t i = 0; i < scene->result->composite_lines.count; i++) {
    if (!takes_part(scene, &lines[i]) || (apart && is_weak(scene, &lines[i])) != weak)
      continue;
    size_t at = count < room ? count++ : room;
    for (; at > 0 && account_index(&lines[chosen[at - 1]]) < account_index(&lines[i]); at--)
      if (at < room)
        chosen[at] = chosen[at - 1];
    if (at < room)
      chosen[at] = i;
  }
  return count;
}

static double power_of(const struct sc_line *line)
{
  return pow(account_index(line), 2) / 2;
}

/* A tone of the index b that had no room moves the power b^2 / 2 to lines that are not predicted.
 */
static double power_left_out(const struct account_scene *scene, size_t chosen, size_t weak)
{
  const struct sc_line_list *list = &scene->result->composite_lines;
  double power = 0;
  if (chosen < ACCOUNT_COMPONENTS_MAX && weak < ACCOUNT_WEAK_MAX)
    return 0;
  for (size_t i = 0; i < list->count; i++)
    if (takes_part(scene, &list->lines[i]))
      power += power_of(&list->lines[i]);
  for (size_t i = 0; i < chosen; i++)
    power -= power_of(&list->lines[scene->component_lines[i]]);
  for (size_t i = 0; i < weak; i++)
    power -= power_of(&list->lines[scene->weak_lines[i]]);
  return fmax(power, 0);
}

static void fill_components(const struct account_scene *scene, const size_t *chosen, size_t count,
                            double times, struct account_component *components)
{
  for (size_t i = 0; i < count; i++) {
    components[i] = component_of(scene, &scene->result->composite_lines.lines[chosen[i]]);
    components[i].deviation_khz *= times;
    components[i].deviation_uncertainty_khz *= times;
  }
}

enum sc_error account_predict_times(struct account_scene *scene, double times, double floor,
                                    struct account_prediction *prediction)
{
  const struct sc_line_list *list = &scene->result->composite_lines;
  struct account_component components[ACCOUNT_COMPONENTS_MAX], weak[ACCOUNT_WEAK_MAX];
  const bool apart = are_too_many(scene);
  const size_t count =
      choose_lines(scene, apart, false, ACCOUNT_COMPONENTS_MAX, scene->component_lines);
  const size_t weak_count = choose_lines(scene, apart, true, ACCOUNT_WEAK_MAX, scene->weak_lines);
  fill_components(scene, scene->component_lines, count, times, components);
  fill_components(scene, scene->weak_lines, weak_count, times, weak);
  account_prediction_destroy(prediction);
  const struct account_weak beside = {weak, weak_count, times == 1 ? &scene->places : NULL};
  enum sc_error error = account_predict_beside(components, count, &beside, floor,
                                               account_exact_hz(list, 0), prediction);
  if (error == SC_OK)
    account_prediction_lacks(prediction, times * times * power_left_out(scene, count, weak_count));
  return error;
}

static int rising(const void *a, const void *b)
{
  const double left = *(const double *)a, right = *(const double *)b;
  return (left > right) - (left < right);
}

/* Lines on air, and their mirrored places. What stands so near to one that it may be taken for it,
 * or is not told apart from it, counts. */
static bool find_places(struct account_scene *scene)
{
  const struct sc_line_list *list = &scene->result->air_lines;
  double *hz = calloc(2 * list->count + 1, sizeof *hz);
  if (hz == NULL)
    return false;
  for (size_t i = 0; i < list->count; i++) {
    hz[2 * i] = list->lines[i].offset_hz.value;
    hz[2 * i + 1] = -list->lines[i].offset_hz.value;
  }
  qsort(hz, 2 * list->count, sizeof *hz, rising);
  const double within_hz = places_times * list->resolution_hz;
  scene->places = (struct account_places){hz, 2 * list->count, within_hz};
  return true;
}

static bool has_direct_current(const struct sc_result *result)
{
  for (size_t i = 0; i < result->air_lines.count; i++)
    if (account_is_direct_current(result, &result->air_lines.lines[i]))
      return true;
  return false;
}

static enum sc_error explain(struct account_scene *scene)
{
  account_find_rounded_anew(scene);
  account_take_rounded_tones(scene);
  enum sc_error error = account_predict_times(scene, 1, scene->floor, &scene->prediction);
  if (error == SC_OK) {
    account_find_turn(scene);
    account_find_image(scene);
  }
  if (error == SC_OK && scene->image > 0)
    error = account_predict_times(scene, 2, scene->floor, &scene->doubled);
  if (error == SC_OK) {
    if (account_find_beats(scene) > 0)
      error = account_predict_times(scene, 1, scene->floor, &scene->prediction);
  }
  bool strong = false;
  if (error == SC_OK)
    error = account_find_strong_beats(scene, &strong);
  if (error == SC_OK && strong) {
    account_find_cut(scene);
    error = account_predict_times(scene, 1, scene->floor, &scene->prediction);
  }
  if (error != SC_OK)
    return error;
  account_find_common(scene);
  account_find_turn(scene);
  account_find_rests(scene);
  error = account_find_am(scene);
  if (error != SC_OK)
    return error;
  scene->direct_current = has_direct_current(scene->result);
  account_find_others(scene);
  account_give_roles(scene);
  account_judge_air(scene);
  account_fill_parts(scene);
  return SC_OK;
}

/* Why the composite's tones tell nothing of the air; NULL: they do. */
static const char *inexplicable(const struct sc_result *result)
{
  if (result->capture.info.kind == SC_KIND_AUDIO)
    return "audio alone does not tell what made it";
  if (result->composite_why != NULL || result->composite_lines.why != NULL)
    return "no composite to explain it by";
  return NULL;
}

static enum sc_error explain_lines(struct sc_result *result, struct account_beneath *beneath)
{
  struct account_scene scene = {.result = result, .common = 1, .taken = &beneath->list};
  scene.floor = floor_for(&result->air_lines);
  scene.carrier = find_carrier(&result->air_lines);
  scene.middle_s = last_middle(&result->air_lines);
  scene.rests = calloc(result->air_lines.count + 1, sizeof *scene.rests);
  const bool room = find_places(&scene) && scene.rests != NULL;
  enum sc_error error = room ? explain(&scene) : SC_NO_MEMORY;
  size_t seen = 0;
  if (error == SC_UNSUPPORTED) {
    account_give_roles(&scene);
    leave_unknown(&result->air_lines, "a tone turns the carrier too far to predict its lines");
    beneath->list.why = "what stands beneath cannot be told from ghosts";
    error = SC_OK;
  } else if (error == SC_OK && (beneath->list.count > 0 || beneath->shows_dbc != NULL)) {
    account_judge_beneath(&scene, beneath);
    name_nearest(&beneath->list);
    seen = beneath->list.count;
  } else if (error == SC_OK) {
    account_explain_changing(&scene, beneath);
  }
  beneath->list.count = seen;
  account_prediction_destroy(&scene.prediction);
  account_prediction_destroy(&scene.doubled);
  free((void *)scene.places.hz);
  free(scene.beats);
  free(scene.cut);
  free(scene.rests);
  return error;
}

enum sc_error account_explain(struct sc_result *result, struct account_beneath *beneath)
{
  struct account_beneath none = {.list = {.count = 0}};
  const char *why = inexplicable(result);
  forget(&result->air_lines);
  forget(&result->composite_lines);
  name_nearest(&result->air_lines);
  name_nearest(&result->composite_lines);
  beneath = beneath != NULL ? beneath : &none;
  beneath->least_dbc = -INFINITY;
  if (why == NULL && result->air_lines.count + beneath->list.count > 0)
    return explain_lines(result, beneath);
  beneath->list.count = 0;
  if (why != NULL) {
    leave_unknown(&result->air_lines, why);
    leave_unknown(&result->composite_lines, why);
  } else {
    struct account_scene scene = {.result = result, .common = 1, .carrier = -1};
    account_find_rounding_of_tones(&scene);
    account_give_roles(&scene);
  }
  return SC_OK;
}
