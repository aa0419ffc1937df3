/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Tones of the composite that come of the capture's width. Without the outer lines of FM, whose sum
 * is m(t), the discriminator sees exp(j p) - m, and so, to first order, a phase that is less by the
 * imaginary part of m exp(-j p): each missing line a beats with each line b there is, at the
 * distance of both. Missing is what the channel's filter takes away where it falls, and near the
 * capture's edge what a line lacks against the prediction. What passes of lines beyond half the
 * composite's rate is too much at the frequency that sampling makes of theirs. */
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
static const double change_least = 0.01; /* of a tone: less is not worth a word */
enum { TONES_MAX = 4 }; /* weak ones that are told from what they lack themselves */

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

/* Of the channel's filter, linear between the points that are known. */
static double gain_at(const struct sc_channel_edge *edge, double from_middle_hz)
{
  enum { LAST = SC_CHANNEL_EDGE_POINTS - 1 };
  const double place =
      LAST * (fabs(from_middle_hz) - edge->pass_hz) / (edge->stop_hz - edge->pass_hz);
  if (!(place > 0))
    return 1;
  if (!(place < LAST))
    return 0;
  const int at = (int)place;
  return edge->gain[at] + (place - at) * (edge->gain[at + 1] - edge->gain[at]);
}

/* What the capture has of it. Where only a size is known, a filter that weakens it leaves the
 * phase. */
static double complex captured(const struct account_scene *scene, const struct account_spot *spot)
{
  const struct sc_result *result = scene->result;
  const double place_hz = result->carrier.offset_hz.value + spot->frequency_hz;
  double complex phasor;
  if (fabs(place_hz) < account_edge_hz(result))
    return spot->amplitude;
  const struct sc_line *line = line_at(scene, spot->frequency_hz);
  if (line == NULL)
    return 0;
  if (account_phasor(scene, line, &phasor))
    return phasor;
  return cabs(spot->amplitude) > 0
             ? spot->amplitude * account_amplitude(line) / cabs(spot->amplitude)
             : 0;
}

/* What is missing of a prediction. */
struct cut {
  const struct account_scene *scene;
  const struct account_prediction *prediction;
  struct missing *missing;
  size_t count;
};

static void add_missing(struct cut *cut, double offset_hz, double complex amplitude)
{
  if (amplitude != 0)
    cut->missing[cut->count++] = (struct missing){offset_hz, amplitude};
}

/* In the middle of a record of an odd number of samples, between two of them, what is sampled at
 * another frequency has the other sign. */
static double folded_sign(const struct sc_result *result)
{
  const double samples = result->composite_lines.record_s * result->composite_rate_hz.value;
  return isfinite(samples) && lround(samples) % 2 != 0 ? -1 : 1;
}

static enum sc_error find_missing(struct cut *cut)
{
  const struct sc_result *result = cut->scene->result;
  const double rate_hz = result->composite_rate_hz.value, sign = folded_sign(result);
  cut->missing = calloc(2 * cut->prediction->spot_count + 1, sizeof *cut->missing);
  if (cut->missing == NULL)
    return SC_NO_MEMORY;
  for (size_t i = 0; i < cut->prediction->spot_count; i++) {
    const struct account_spot *spot = &cut->prediction->spots[i];
    const double hz = spot->frequency_hz;
    const double from_middle_hz =
        hz + result->carrier.offset_hz.value - result->composite_middle_hz;
    const double complex passes =
        gain_at(&result->composite_edge, from_middle_hz) * captured(cut->scene, spot);
    const bool folds = fabs(from_middle_hz) > rate_hz / 2;
    add_missing(cut, hz, folds ? spot->amplitude : spot->amplitude - passes);
    if (folds)
      add_missing(cut, hz - copysign(rate_hz, from_middle_hz), -sign * passes);
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

/* Of a tone that it is: what is measured of it is more or less by this. */
static void note_change(const struct cut *cut, const struct sc_line *line, double complex made)
{
  const struct sc_line_list *list = &cut->scene->result->composite_lines;
  const bool counts = cabs(made) >= change_least * account_index(line);
  cut->scene->cut[line - list->lines] = counts ? made : 0;
}

static void judge(const struct cut *cut, struct sc_line *line)
{
  const struct sc_result *result = cut->scene->result;
  const double reach_hz = account_reach_hz(&result->composite_lines, line->offset_hz.uncertainty);
  const struct beats beats = beats_at(cut, line->offset_hz.value, reach_hz);
  const double made = cabs(beats.above - conj(beats.below));
  if (!(fabs(account_index(line) - made) <= doubtful * beats.sizes)) {
    note_change(cut, line, conj(beats.below) - beats.above);
    return;
  }
  account_label(line, "cut by the capture");
  account_verdict(line, SC_VERDICT_ARTEFACT,
                  "no tone: lines of the modulation beyond %.0f kHz from the carrier, or weakened "
                  "at the capture's edge, are missing, and that makes %.2g kHz here",
                  result->composite_half_width_hz / 1e3, 1e-3 * made * line->offset_hz.value);
}

/* Of the tones that the account predicts with, those that were not judged; of the suspects among
 * them, the strongest. */
static enum sc_error predict_with(const struct account_scene *scene, size_t suspects,
                                  struct account_prediction *prediction)
{
  const struct sc_line_list *list = &scene->result->composite_lines;
  const struct account_prediction *all = &scene->prediction;
  struct account_component components[ACCOUNT_COMPONENTS_MAX], weak[ACCOUNT_WEAK_MAX];
  size_t count = 0, weak_count = 0, taken = 0;
  for (size_t i = 0; i < all->component_count; i++) { /* by falling index */
    const struct sc_line *line = &list->lines[scene->component_lines[i]];
    if (line->verdict == SC_VERDICT_ARTEFACT || (is_suspect(line) && taken++ >= suspects))
      continue;
    components[count++] = all->components[i];
  }
  for (size_t i = 0; i < all->weak_count; i++)
    if (!is_suspect(&list->lines[scene->weak_lines[i]]))
      weak[weak_count++] = all->weak[i];
  return account_predict_beside(components, count, &(struct account_weak){weak, weak_count, NULL},
                                scene->floor, account_exact_hz(list, 0), prediction);
}

/* Where memory is short they are judged without this. */
static void judge_all(const struct account_scene *scene, size_t suspects)
{
  struct account_prediction prediction = {.component_count = 0};
  struct cut cut = {.scene = scene, .prediction = &prediction};
  struct sc_line_list *list = &scene->result->composite_lines;
  if (predict_with(scene, suspects, &prediction) == SC_OK && find_missing(&cut) == SC_OK)
    for (size_t i = 0; cut.count > 0 && i < list->count; i++)
      if (is_suspect(&list->lines[i]))
        judge(&cut, &list->lines[i]);
  free(cut.missing);
  account_prediction_destroy(&prediction);
}

static size_t count_suspects(const struct sc_line_list *list)
{
  size_t count = 0;
  for (size_t i = 0; i < list->count; i++)
    count += is_suspect(&list->lines[i]);
  return count;
}

/* The suspects stand for what is missing: with them the prediction lacks it as well. Those that are
 * cleared are tones, and make lines that are missing, too: at first all are taken for that, and,
 * where some were none, the strongest that remain, one after the other. */
void account_find_cut(struct account_scene *scene)
{
  const struct sc_line_list *list = &scene->result->composite_lines;
  const size_t suspects = count_suspects(list);
  if (!(scene->result->composite_half_width_hz > 0) || suspects == 0)
    return;
  free(scene->cut); /* where memory is short none of this is told */
  scene->cut = calloc(list->count, sizeof *scene->cut);
  if (scene->cut == NULL)
    return;
  judge_all(scene, 0);
  if (count_suspects(list) > 0)
    judge_all(scene, ACCOUNT_COMPONENTS_MAX);
  for (size_t tones = 1; tones <= TONES_MAX && count_suspects(list) > tones; tones++)
    if (count_suspects(list) < suspects)
      judge_all(scene, tones);
}
