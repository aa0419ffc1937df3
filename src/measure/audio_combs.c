/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Response and separation over frequency, and the network that the response follows. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdlib.h>

#include "dsp/weighting.h"
#include "measure/audio_judge.h"

/* The tone next to 1 kHz in either comb. */
enum { NEXT_TO_1_KHZ = 6 };
static const double reference_hz = 1000;
/* Where a law is compared: above, receivers cut off against the pilot. */
static const double law_low_hz = 40, law_high_hz = 13e3;
/* A response that is farther from every law follows none. */
static const double law_rms_db = 1.5;

/* Pre-emphasis put on and de-emphasis taken off, in microseconds. */
static const struct law {
  int on_us, off_us;
} laws[SC_LAWS] = {
    [SC_LAW_DEEMPHASIS_50] = {0, 50},  [SC_LAW_DEEMPHASIS_75] = {0, 75},
    [SC_LAW_PREEMPHASIS_50] = {50, 0}, [SC_LAW_PREEMPHASIS_75] = {75, 0},
    [SC_LAW_50_LESS_75] = {50, 75},    [SC_LAW_75_LESS_50] = {75, 50},
};

static double lift_db(int us, double hz)
{
  if (us == 0)
    return 0;
  return -10 * log10(dsp_weighting_gain(
                   us == 50 ? DSP_WEIGHTING_DEEMPHASIS_50 : DSP_WEIGHTING_DEEMPHASIS_75, hz));
}

static double law_db(enum sc_audio_law law, double hz)
{
  return lift_db(laws[law].on_us, hz) - lift_db(laws[law].off_us, hz);
}

/* Level of a tone as received over as sent. */
static struct sc_quantity level_db(const struct audio_reading *reading, int own, double hz)
{
  return audio_ratio_db(reading->amplitude[own], reading->variance[own], sc_sequence_comb_gain(hz),
                        0);
}

/* At 1 kHz: a parabola over the logarithm of frequency, through the tone next to it and its
 * neighbours. */
static struct sc_quantity reference_db(const struct sc_quantity levels[SC_COMB_TONES],
                                       const double *hz)
{
  double value = 0, variance = 0;
  for (int i = NEXT_TO_1_KHZ - 1; i <= NEXT_TO_1_KHZ + 1; i++) {
    double weight = 1;
    for (int k = NEXT_TO_1_KHZ - 1; k <= NEXT_TO_1_KHZ + 1; k++)
      weight *= k == i ? 1 : log(reference_hz / hz[k]) / log(hz[i] / hz[k]);
    if (levels[i].why != NULL)
      return levels[i];
    value += weight * levels[i].value;
    variance += weight * weight * levels[i].uncertainty * levels[i].uncertainty;
  }
  return sc_measured(value, sqrt(variance));
}

static struct sc_quantity difference(struct sc_quantity a, struct sc_quantity b)
{
  if (a.why != NULL || b.why != NULL)
    return a.why != NULL ? a : b;
  return sc_measured(a.value - b.value, hypot(a.uncertainty, b.uncertainty));
}

static void judge_comb(const struct audio_reading comb[SC_COMB_TONES], bool right, int own,
                       struct sc_audio_point *points)
{
  const double *hz = sc_sequence_comb_hz(right);
  struct sc_quantity levels[SC_COMB_TONES];
  for (int i = 0; i < SC_COMB_TONES; i++)
    levels[i] = level_db(&comb[i], own, hz[i]);
  const struct sc_quantity reference = reference_db(levels, hz);
  for (int i = 0; i < SC_COMB_TONES; i++)
    points[i] = (struct sc_audio_point){
        .frequency_hz = hz[i],
        .right = right,
        .response_db = difference(levels[i], reference),
        .separation_db = audio_ratio_db(comb[i].amplitude[own], comb[i].variance[own],
                                        comb[i].amplitude[!own], comb[i].variance[!own])};
}

static int by_frequency(const void *a, const void *b)
{
  const struct sc_audio_point *x = a, *y = b;
  return (x->frequency_hz > y->frequency_hz) - (x->frequency_hz < y->frequency_hz);
}

static void judge_points(const struct audio_totals *totals, const struct audio_run *run,
                         struct sc_audio *audio)
{
  const int left = audio->order == SC_ORDER_SWAPPED;
  judge_comb(run->comb[0], false, left, audio->points);
  judge_comb(run->comb[1], true, !left, audio->points + SC_COMB_TONES);
  for (int i = 0; totals->channels == 1 && i < SC_AUDIO_POINTS; i++)
    audio->points[i].separation_db = sc_not_measured(audio_one_channel);
  qsort(audio->points, SC_AUDIO_POINTS, sizeof audio->points[0], by_frequency);
}

static bool counts(const struct sc_audio_point *point)
{
  return point->response_db.why == NULL && point->frequency_hz >= law_low_hz &&
         point->frequency_hz <= law_high_hz;
}

/* Root mean square of what the law leaves, either channel about its own mean. */
static struct sc_quantity rest_db(const struct sc_audio *audio, enum sc_audio_law law)
{
  double sum[2] = {0}, square[2] = {0}, count[2] = {0}, variance = 0;
  for (int i = 0; i < SC_AUDIO_POINTS; i++) {
    const struct sc_audio_point *point = &audio->points[i];
    if (!counts(point))
      continue;
    const double rest = point->response_db.value - law_db(law, point->frequency_hz);
    sum[point->right] += rest;
    square[point->right] += rest * rest;
    count[point->right]++;
    variance += point->response_db.uncertainty * point->response_db.uncertainty;
  }
  const double all = count[0] + count[1];
  if (count[0] < 3 || count[1] < 3)
    return sc_not_measured("too few tones came through");
  const double rest =
      square[0] - sum[0] * sum[0] / count[0] + square[1] - sum[1] * sum[1] / count[1];
  return sc_measured(sqrt(fmax(0, rest) / all), sqrt(variance) / all);
}

static void judge_laws(struct sc_audio *audio)
{
  audio->flat_db = rest_db(audio, SC_LAW_FLAT);
  audio->deemphasis_50_db = rest_db(audio, SC_LAW_DEEMPHASIS_50);
  audio->deemphasis_75_db = rest_db(audio, SC_LAW_DEEMPHASIS_75);
  audio->preemphasis_50_db = rest_db(audio, SC_LAW_PREEMPHASIS_50);
  audio->preemphasis_75_db = rest_db(audio, SC_LAW_PREEMPHASIS_75);
  audio->law_rms_db = audio->flat_db;
  enum sc_audio_law best = SC_LAW_FLAT;
  for (int law = SC_LAW_FLAT + 1; law < SC_LAWS; law++) {
    const struct sc_quantity rest = rest_db(audio, (enum sc_audio_law)law);
    if (rest.why == NULL && rest.value < audio->law_rms_db.value) {
      audio->law_rms_db = rest;
      best = (enum sc_audio_law)law;
    }
  }
  if (audio->law_rms_db.why == NULL && audio->law_rms_db.value < law_rms_db)
    audio->law = best;
}

/* Mean over the tones that came through at both levels. */
static void judge_compression(const struct audio_run *run, struct sc_audio *audio)
{
  const struct sc_sequence_part *parts = sc_sequence_parts();
  const double sent_db =
      parts[SC_PART_COMB_LEFT].level_db - parts[SC_PART_COMB_LEFT_LOWER].level_db;
  const int left = audio->order == SC_ORDER_SWAPPED;
  double sum = 0, variance = 0, count = 0;
  for (int comb = 0; comb < 2; comb++)
    for (int i = 0; i < SC_COMB_TONES; i++) {
      const int own = comb == 0 ? left : !left;
      const struct audio_reading *full = &run->comb[comb][i], *lower = &run->comb[comb + 2][i];
      const struct sc_quantity step = audio_ratio_db(full->amplitude[own], full->variance[own],
                                                     lower->amplitude[own], lower->variance[own]);
      if (step.why != NULL)
        continue;
      sum += step.value;
      variance += step.uncertainty * step.uncertainty;
      count++;
    }
  audio->comb_compression_db = count > 0
                                   ? sc_measured(sent_db - sum / count, sqrt(variance) / count)
                                   : sc_not_measured("no tone of the combs came through");
}

void audio_refuse_combs(struct sc_audio *audio, const char *why)
{
  const struct sc_quantity none = sc_not_measured(why);
  audio->points_why = why;
  audio->law_rms_db = audio->flat_db = none;
  audio->deemphasis_50_db = audio->deemphasis_75_db = none;
  audio->preemphasis_50_db = audio->preemphasis_75_db = none;
  audio->comb_compression_db = none;
}

void audio_judge_combs(const struct audio_totals *totals, const struct audio_run *run,
                       struct sc_audio *audio)
{
  audio_refuse_combs(audio, audio->why);
  if (audio->sequence != SC_YES || !run->done[SC_PART_COMB_LEFT] || !run->done[SC_PART_COMB_RIGHT])
    return;
  audio->points_why = NULL;
  judge_points(totals, run, audio);
  judge_laws(audio);
  if (run->done[SC_PART_COMB_LEFT_LOWER] && run->done[SC_PART_COMB_RIGHT_LOWER])
    judge_compression(run, audio);
}
