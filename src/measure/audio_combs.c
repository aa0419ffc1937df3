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
enum { REFERENCE = 6 };
/* Where a law is compared: above, receivers cut off against the pilot. */
static const double law_low_hz = 40, law_high_hz = 13e3;
/* A response that is farther from every law follows none. */
static const double law_rms_db = 1.5;

/* Pre-emphasis put on and de-emphasis taken off, in microseconds. */
static const struct law {
  int on_us, off_us;
  const char *name;
} laws[SC_LAWS] = {
    [SC_LAW_FLAT] = {0, 0, "flat: pre-emphasis and de-emphasis match"},
    [SC_LAW_DEEMPHASIS_50] = {0, 50, "a de-emphasis of 50 µs without its pre-emphasis"},
    [SC_LAW_DEEMPHASIS_75] = {0, 75, "a de-emphasis of 75 µs without its pre-emphasis"},
    [SC_LAW_PREEMPHASIS_50] = {50, 0, "a pre-emphasis of 50 µs without its de-emphasis"},
    [SC_LAW_PREEMPHASIS_75] = {75, 0, "a pre-emphasis of 75 µs without its de-emphasis"},
    [SC_LAW_50_LESS_75] = {50, 75, "a pre-emphasis of 50 µs under a de-emphasis of 75 µs"},
    [SC_LAW_75_LESS_50] = {75, 50, "a pre-emphasis of 75 µs under a de-emphasis of 50 µs"},
};

const char *sc_audio_law_name(enum sc_audio_law law)
{
  return (unsigned)law < SC_LAWS ? laws[law].name : NULL;
}

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

static struct sc_audio_point judge_point(const struct audio_reading comb[SC_COMB_TONES], bool right,
                                         int own, int i)
{
  const double *hz = sc_sequence_comb_hz(right);
  struct sc_audio_point point = {.frequency_hz = hz[i], .right = right};
  const double complex reference = comb[REFERENCE].amplitude[own];
  point.response_db = audio_ratio_db(comb[i].amplitude[own], comb[i].variance[own], reference,
                                     comb[REFERENCE].variance[own]);
  point.response_db.value -=
      20 * log10(sc_sequence_comb_gain(hz[i]) / sc_sequence_comb_gain(hz[REFERENCE]));
  if (i == REFERENCE && point.response_db.why == NULL)
    point.response_db = sc_measured(0, (double)NAN);
  point.separation_db = audio_ratio_db(comb[i].amplitude[own], comb[i].variance[own],
                                       comb[i].amplitude[!own], comb[i].variance[!own]);
  return point;
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
  for (int i = 0; i < SC_COMB_TONES; i++) {
    audio->points[i] = judge_point(run->comb[0], false, left, i);
    audio->points[SC_COMB_TONES + i] = judge_point(run->comb[1], true, !left, i);
  }
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
    variance += isfinite(point->response_db.uncertainty)
                    ? point->response_db.uncertainty * point->response_db.uncertainty
                    : 0;
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

void audio_judge_combs(const struct audio_totals *totals, const struct audio_run *run,
                       struct sc_audio *audio)
{
  const bool done =
      audio->sequence == SC_YES && run->done[SC_PART_COMB_LEFT] && run->done[SC_PART_COMB_RIGHT];
  const struct sc_quantity none = sc_not_measured(audio->why);
  audio->points_why = done ? NULL : audio->why;
  audio->law_rms_db = audio->flat_db = audio->deemphasis_50_db = audio->deemphasis_75_db = none;
  audio->comb_compression_db = none;
  if (!done)
    return;
  judge_points(totals, run, audio);
  judge_laws(audio);
  if (run->done[SC_PART_COMB_LEFT_LOWER] && run->done[SC_PART_COMB_RIGHT_LOWER])
    judge_compression(run, audio);
}
