/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What makes lines on air beside the modulation: unequal I and Q of the receiver, amplitude
 * modulation, another signal in the same capture. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdlib.h>

#include "account/scene.h"

static const double image_most = 0.3; /* -10 dB: no receiver is as bad */
static const double one_kind = 0.2;   /* most of phase modulation beside amplitude modulation */
static const double same_record_hz = 100e3; /* lines nearer than this share one search */
static const double pair_db = 3;            /* lines of a pair around another carrier */
static const double other_width_hz = 100e3;
enum { OTHER_LINES_MIN = 6, OTHER_LINES_MAX = 64, OTHER_PAIRS_MIN = 3 };

/* ---- mirror image */

/* exp(j p) at the capture's frequency x has its conjugate at -x, smaller by one factor for all
 * lines. A carrier in the middle of the capture hides it. */
void account_find_image(struct account_scene *scene)
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
        !account_mostly_predicted(scene, line))
      scene->image = ratio;
  }
}

double account_image_expected(const struct account_scene *scene, const struct sc_line *line)
{
  double mirrored = -line->offset_hz.value - 2 * scene->result->carrier.offset_hz.value;
  double reach = account_reach_hz(&scene->result->air_lines, line->offset_hz.uncertainty);
  return scene->image *
         account_predicted(scene, account_spot_near(&scene->prediction, mirrored, reach));
}

/* ---- amplitude modulation */

static double complex phasor(const struct sc_line *line)
{
  return line->tone.amplitude * cexp(I * line->tone.phase_rad);
}

struct account_pair account_divide_pair(const struct account_scene *scene,
                                        const struct sc_line *line)
{
  const struct sc_line *lines = scene->result->air_lines.lines;
  if (scene->carrier < 0 || line->mirror < 0 || fabs(line->offset_hz.value) > same_record_hz)
    return (struct account_pair){(double)NAN, (double)NAN};
  double complex carrier = phasor(&lines[scene->carrier]);
  double complex u = phasor(line) / carrier, l = phasor(&lines[line->mirror]) / carrier;
  return (struct account_pair){cabs(u + conj(l)), cabs(u - conj(l))};
}

double account_am_expected(const struct account_scene *scene, const struct account_am *am,
                           const struct sc_line *line)
{
  double reach = account_reach_hz(&scene->result->air_lines, line->offset_hz.uncertainty);
  double sum = 0;
  for (int side = -1; side <= 1; side += 2) {
    double from_hz = line->offset_hz.value + side * am->frequency_hz;
    sum += account_predicted(scene, account_spot_near(&scene->prediction, from_hz, reach));
  }
  return am->index / 2 * sum;
}

static bool is_known_am(const struct account_scene *scene, const struct sc_line *line)
{
  for (size_t i = 0; i < scene->am_count; i++)
    if (account_agrees(account_amplitude(line), account_amplitude_uncertainty(line),
                       account_am_expected(scene, &scene->ams[i], line)))
      return true;
  return false;
}

static bool is_new_am(const struct account_scene *scene, const struct sc_line *line)
{
  if (line->offset_hz.value <= 0 || account_mostly_predicted(scene, line) ||
      is_known_am(scene, line) || account_below_converter(scene->result, line->tone.level_db.value))
    return false;
  struct account_pair pair = account_divide_pair(scene, line);
  return pair.pm < one_kind * pair.am;
}

/* The strongest first, so that the products of one are not taken for another. */
void account_find_am(struct account_scene *scene)
{
  const struct sc_line_list *list = &scene->result->air_lines;
  const struct sc_line *best = list->lines;
  while (best != NULL && scene->am_count < ACCOUNT_AM_MAX) {
    best = NULL;
    for (size_t i = 0; i < list->count; i++)
      if (is_new_am(scene, &list->lines[i]) &&
          (best == NULL || account_amplitude(&list->lines[i]) > account_amplitude(best)))
        best = &list->lines[i];
    if (best != NULL)
      scene->ams[scene->am_count++] =
          (struct account_am){best->offset_hz.value, account_divide_pair(scene, best).am};
  }
}

/* ---- another signal */

static bool is_loose(const struct account_scene *scene, const struct sc_line *line)
{
  return line->mirror < 0 && !account_is_direct_current(scene->result, line) &&
         !account_mostly_predicted(scene, line) &&
         !account_agrees(account_amplitude(line), account_amplitude_uncertainty(line),
                         account_image_expected(scene, line));
}

static int falling(const void *a, const void *b)
{
  double left = (*(const struct sc_line *const *)a)->level_dbc.value;
  double right = (*(const struct sc_line *const *)b)->level_dbc.value;
  return (left < right) - (left > right);
}

/* The strongest loose lines. */
static size_t take_loose(const struct account_scene *scene,
                         const struct sc_line *loose[OTHER_LINES_MAX])
{
  const struct sc_line_list *list = &scene->result->air_lines;
  size_t count = 0;
  for (size_t i = 0; i < list->count; i++) {
    if (!is_loose(scene, &list->lines[i]))
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

static size_t pairs_around(const struct account_scene *scene, const struct sc_line *const *loose,
                           size_t count, double centre_hz)
{
  const struct sc_line_list *list = &scene->result->air_lines;
  size_t pairs = 0;
  for (size_t i = 0; i < count; i++)
    for (size_t k = 0; k < i; k++) {
      double sum = loose[i]->offset_hz.value + loose[k]->offset_hz.value;
      double spread = hypot(loose[i]->offset_hz.uncertainty, loose[k]->offset_hz.uncertainty);
      pairs += fabs(sum - 2 * centre_hz) <= account_exact_hz(list, spread) &&
               fabs(loose[i]->level_dbc.value - loose[k]->level_dbc.value) <= pair_db;
    }
  return pairs;
}

/* An FM signal has its lines in pairs around its carrier, and the carrier's own line where that is
 * not just in a null. */
void account_find_other(struct account_scene *scene)
{
  const struct sc_line *loose[OTHER_LINES_MAX];
  size_t count = take_loose(scene, loose), most = OTHER_PAIRS_MIN - 1;
  if (count < OTHER_LINES_MIN)
    return;
  for (size_t i = 0; i < count; i++) {
    size_t pairs = pairs_around(scene, loose, count, loose[i]->offset_hz.value);
    if (pairs <= most)
      continue;
    most = pairs;
    scene->other_hz = loose[i]->offset_hz.value;
  }
}

bool account_is_of_other(const struct account_scene *scene, const struct sc_line *line)
{
  return scene->other_hz != 0 && is_loose(scene, line) &&
         line->offset_hz.value * scene->other_hz > 0 &&
         fabs(line->offset_hz.value - scene->other_hz) <= other_width_hz;
}
