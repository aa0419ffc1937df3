/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Tones of the composite that come of the capture's width. Without the outer lines of FM, whose sum
 * is m(t), the discriminator sees exp(j p) - m, and so, to first order, a phase that is less by the
 * imaginary part of m exp(-j p): each missing line a beats with each line b there is, at the
 * distance of both. Beyond what the channel's filter keeps all is missing; short of that, near the
 * capture's edge, what a line lacks against the prediction. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdlib.h>

#include "account/scene.h"
#include "account/words.h"

/* How much of the beats' sizes is in doubt: the channel's filter falls over some kilohertz.
 * Measured: the worst of some 60 tones was off by 0.28. */
static const double doubtful = 0.3;
/* Index of the strongest tone that is looked at, and that is taken out for that: outer lines so
 * strong that they make more are not missing in a capture of 192 kS/s. */
static const double suspect = 0.1;

struct missing {
  double offset_hz;
  double complex amplitude;
};

static const struct sc_line *line_at(const struct account_scene *scene, double offset_hz)
{
  const struct sc_line_list *list = &scene->result->air_lines;
  for (size_t i = 0; i < list->count; i++)
    if (fabs(list->lines[i].offset_hz.value - offset_hz) <=
        account_reach_hz(list, list->lines[i].offset_hz.uncertainty))
      return &list->lines[i];
  return NULL;
}

static double complex missing_of(const struct account_scene *scene, const struct account_spot *spot)
{
  const struct sc_result *result = scene->result;
  const double place_hz = result->carrier.offset_hz.value + spot->frequency_hz;
  double complex phasor;
  if (fabs(spot->frequency_hz) > result->composite_half_width_hz)
    return spot->amplitude;
  if (fabs(place_hz) < account_edge_hz(result))
    return 0;
  const struct sc_line *line = line_at(scene, spot->frequency_hz);
  if (line == NULL)
    return spot->amplitude;
  return account_phasor(scene, line, &phasor) ? spot->amplitude - phasor : 0;
}

/* What is missing of a prediction. */
struct cut {
  const struct account_scene *scene;
  const struct account_prediction *prediction;
  struct missing *missing;
  size_t count;
};

static enum sc_error find_missing(struct cut *cut)
{
  cut->missing = calloc(cut->prediction->spot_count + 1, sizeof *cut->missing);
  if (cut->missing == NULL)
    return SC_NO_MEMORY;
  for (size_t i = 0; i < cut->prediction->spot_count; i++) {
    const struct account_spot *spot = &cut->prediction->spots[i];
    const double complex amplitude = missing_of(cut->scene, spot);
    if (amplitude == 0)
      continue;
    cut->missing[cut->count++] = (struct missing){spot->frequency_hz, amplitude};
  }
  return SC_OK;
}

struct beats {
  double complex above, below; /* of missing lines above and below those they beat with */
  double sizes;                /* the sum of all sizes */
};

static struct beats beats_at(const struct cut *cut, double hz, double reach_hz)
{
  struct beats beats = {0, 0, 0};
  for (size_t i = 0; i < cut->count; i++)
    for (int side = -1; side <= 1; side += 2) {
      const struct account_spot *spot =
          account_spot_near(cut->prediction, cut->missing[i].offset_hz + side * hz, reach_hz);
      if (spot == NULL)
        continue;
      const double complex beat = cut->missing[i].amplitude * conj(spot->amplitude);
      beats.sizes += cabs(beat);
      *(side < 0 ? &beats.above : &beats.below) += beat;
    }
  return beats;
}

static bool is_suspect(const struct sc_line *line)
{
  return line->verdict != SC_VERDICT_ARTEFACT && line->deviation_khz.why == NULL &&
         account_index(line) <= suspect;
}

static void judge(const struct cut *cut, struct sc_line *line)
{
  const struct sc_result *result = cut->scene->result;
  const double reach_hz = account_reach_hz(&result->composite_lines, line->offset_hz.uncertainty);
  const struct beats beats = beats_at(cut, line->offset_hz.value, reach_hz);
  const double made = cabs(beats.above - conj(beats.below));
  if (!(fabs(account_index(line) - made) <= doubtful * beats.sizes))
    return;
  account_label(line, "cut by the capture");
  account_verdict(line, SC_VERDICT_ARTEFACT,
                  "no tone: lines of the modulation beyond %.0f kHz from the carrier, or weakened "
                  "at the capture's edge, are missing, and that makes %.2g kHz here",
                  result->composite_half_width_hz / 1e3, 1e-3 * made * line->offset_hz.value);
}

/* Of the tones that the account predicts with, all but suspects, or but those that were judged. */
static enum sc_error predict_without(const struct account_scene *scene, bool suspects,
                                     struct account_prediction *prediction)
{
  const struct sc_line_list *list = &scene->result->composite_lines;
  struct account_component components[ACCOUNT_COMPONENTS_MAX];
  size_t count = 0;
  for (size_t i = 0; i < scene->prediction.component_count; i++) {
    const struct sc_line *line = &list->lines[scene->component_lines[i]];
    if (line->verdict != SC_VERDICT_ARTEFACT && (suspects || !is_suspect(line)))
      components[count++] = scene->prediction.components[i];
  }
  return account_predict(components, count, scene->floor, account_exact_hz(list, 0), prediction);
}

/* Where memory is short they are judged without this. */
static void judge_all(const struct account_scene *scene, bool suspects)
{
  struct account_prediction prediction = {.component_count = 0};
  struct cut cut = {.scene = scene, .prediction = &prediction};
  struct sc_line_list *list = &scene->result->composite_lines;
  if (predict_without(scene, suspects, &prediction) == SC_OK && find_missing(&cut) == SC_OK)
    for (size_t i = 0; cut.count > 0 && i < list->count; i++)
      if (is_suspect(&list->lines[i]))
        judge(&cut, &list->lines[i]);
  free(cut.missing);
  account_prediction_destroy(&prediction);
}

/* The suspects stand for what is missing: with them the prediction lacks it as well. Those that are
 * cleared are tones, and make lines that are missing, too. */
void account_find_cut(struct account_scene *scene)
{
  const struct sc_line_list *list = &scene->result->composite_lines;
  size_t suspects = 0;
  if (!(scene->result->composite_half_width_hz > 0))
    return;
  for (size_t i = 0; i < list->count; i++)
    suspects += is_suspect(&list->lines[i]);
  for (int round = 0; suspects > 0 && round < 2; round++)
    judge_all(scene, round > 0);
}
