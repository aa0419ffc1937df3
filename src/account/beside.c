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
static const double pair_db = 3;      /* lines of a pair around another carrier */
static const double other_width_hz = 100e3;
enum { OTHER_LINES_MIN = 6, OTHER_LINES_MAX = 64, OTHER_PAIRS_MIN = 3 };

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
        !account_mostly_predicted(scene, line)) {
      scene->image = ratio;
      scene->image_phasor = image_phasor(scene, line, carrier);
    }
  }
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
