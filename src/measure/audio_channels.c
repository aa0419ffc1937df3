/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The two channels against each other: order, separation, balance, phase, and the walk. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>

#include "measure/audio_judge.h"

#define DEGREES 57.2957795130823209

/* Channels whose levels of the same tone differ by less are the same channel. */
static const double identical_db = 0.5;
/* A tone is there when its power is this much more than its variance. */
static const double present = 100;

static void refuse_pair(struct sc_audio *audio, const char *why)
{
  const struct sc_quantity none = sc_not_measured(why);
  audio->order = SC_ORDER_UNKNOWN;
  audio->order_why = why;
  audio->separation_left_to_right_db = audio->separation_right_to_left_db = none;
  audio->separation_limit_db = none;
  audio->balance_db = audio->phase_deg = none;
}

void audio_refuse_channels(struct sc_audio *audio, const char *why)
{
  const struct sc_quantity none = sc_not_measured(why);
  refuse_pair(audio, why);
  audio->walk_null_db = audio->walk_null_limit_db = audio->walk_null_deg = none;
  audio->walk_law_db = audio->walk_ripple_db = audio->walk_phase_deg = none;
}

/* ---- order */

/* By how much the left channel holds more of a tone; NAN: the tone is in neither. */
static double lead_db(const struct audio_reading *reading)
{
  double power[2];
  bool there = false;
  for (int c = 0; c < 2; c++) {
    const double complex a = reading->amplitude[c];
    power[c] = creal(a * conj(a));
    there = there || power[c] > present * reading->variance[c];
  }
  return there ? 10 * log10((power[0] + 1e-30) / (power[1] + 1e-30)) : (double)NAN;
}

static bool inverted(const struct audio_reading *reading)
{
  return creal(reading->amplitude[0] * conj(reading->amplitude[1])) < 0;
}

static enum sc_channel_order order_of(const struct audio_reading *left,
                                      const struct audio_reading *right, const char **why)
{
  const double left_db = lead_db(left), right_db = -lead_db(right);
  if (isnan(left_db) || isnan(right_db)) {
    *why = "a tone that was sent on one channel alone did not come through";
    return SC_ORDER_UNKNOWN;
  }
  const bool same = fabs(left_db) < identical_db && fabs(right_db) < identical_db;
  if (same && (inverted(left) || inverted(right))) {
    *why = "both channels carry the same, in one of them inverted";
    return SC_ORDER_UNKNOWN;
  }
  if (same) {
    *why = "what was sent on one channel alone came back on both alike: a mono radio";
    return SC_ORDER_IDENTICAL;
  }
  if (left_db > 0 && right_db > 0) {
    *why = "the tones of the left and of the right channel came back where they were sent";
    return SC_ORDER_NORMAL;
  }
  if (left_db < 0 && right_db < 0) {
    *why = "the tones of the left and of the right channel came back exchanged";
    return SC_ORDER_SWAPPED;
  }
  *why = "the tones of both channels came back stronger in the same one";
  return SC_ORDER_UNKNOWN;
}

static void judge_order(const struct audio_run *run, struct sc_audio *audio)
{
  audio->order = order_of(&run->left, &run->right, &audio->order_why);
  const char *ignored;
  if (run->done[SC_PART_BOTH] && audio->order != SC_ORDER_UNKNOWN &&
      order_of(&run->both_left, &run->both_right, &ignored) != audio->order) {
    audio->order = SC_ORDER_UNKNOWN;
    audio->order_why = "the channels are placed otherwise when both sound than when one does";
  }
}

/* ---- separation, balance, phase */

static struct sc_quantity separation(const struct audio_reading *reading, int own)
{
  return audio_ratio_db(reading->amplitude[own], reading->variance[own], reading->amplitude[!own],
                        reading->variance[!own]);
}

static void judge_separation(const struct audio_run *run, struct sc_audio *audio)
{
  const int left = audio->order == SC_ORDER_SWAPPED;
  audio->separation_left_to_right_db = separation(&run->left, left);
  audio->separation_right_to_left_db = separation(&run->right, !left);
  audio->separation_limit_db = sc_measured(
      fmin(audio_ratio_limit_db(run->left.amplitude[left], run->left.variance[!left]),
           audio_ratio_limit_db(run->right.amplitude[!left], run->right.variance[left])),
      (double)NAN);
}

static void judge_balance(const struct audio_run *run, struct sc_audio *audio)
{
  const struct audio_reading *line_up = &run->line_up;
  audio->balance_db = audio_ratio_db(line_up->amplitude[0], line_up->variance[0],
                                     line_up->amplitude[1], line_up->variance[1]);
  audio->phase_deg = audio->balance_db;
  if (audio->balance_db.why != NULL)
    return;
  /* an amplitude's relative uncertainty is its phase's in radians */
  const double db_to_rad = 0.115129254649702;
  audio->phase_deg =
      sc_measured(DEGREES * carg(line_up->amplitude[0] * conj(line_up->amplitude[1])),
                  DEGREES * db_to_rad * audio->balance_db.uncertainty);
}

/* ---- the walk */

/* Highest over lowest level of |p u + q u*|; `limit`: the same if only noise kept them apart. */
static struct sc_quantity range_db(const struct audio_walk *walk, int which, double *limit)
{
  const double p = cabs(walk->p[which]), q = cabs(walk->q[which]);
  const double least = fabs(p - q), uncertainty = sqrt(2 * walk->variance[which]);
  *limit = 20 * log10((p + q) / (3 * uncertainty + 1e-15));
  if (!(least > 3 * uncertainty))
    return sc_not_measured("its bottom is lost in the noise");
  return sc_measured(20 * log10((p + q) / least), 8.685889638 * uncertainty / least);
}

static void judge_sum(const struct audio_run *run, struct sc_audio *audio)
{
  const struct audio_walk *walk = &run->walk;
  const double complex p = walk->p[AUDIO_WALK_SUM], q = walk->q[AUDIO_WALK_SUM];
  double limit;
  audio->walk_null_db = range_db(walk, AUDIO_WALK_SUM, &limit);
  audio->walk_null_limit_db = sc_measured(limit, (double)NAN);
  audio->walk_law_db = sc_measured(walk->law_db[AUDIO_WALK_SUM], (double)NAN);
  double null_deg = 180 - DEGREES * carg(p * conj(q));
  if (null_deg < 0)
    null_deg += 360;
  const double smaller = fmin(cabs(p), cabs(q));
  audio->walk_null_deg =
      smaller > 0
          ? sc_measured(null_deg, DEGREES * sqrt(2 * walk->variance[AUDIO_WALK_SUM]) / smaller)
          : sc_not_measured("one of the two tones is not in it");
}

static void judge_stereo_walk(const struct audio_run *run, struct sc_audio *audio)
{
  double largest_db = 0, uncertainty_db = 0;
  for (int c = 0; c < 2; c++) {
    const double p = cabs(run->walk.p[c]), q = cabs(run->walk.q[c]);
    const double top = fmax(p, q), leak = fmin(p, q);
    const double db = 20 * log10((top + leak) / (top - leak + 1e-15));
    if (db >= largest_db) {
      largest_db = db;
      uncertainty_db = 2 * 8.685889638 * sqrt(run->walk.variance[c]) / (top + 1e-15);
    }
  }
  const int swapped = audio->order == SC_ORDER_SWAPPED;
  audio->walk_ripple_db = sc_measured(largest_db, uncertainty_db);
  audio->walk_phase_deg = sc_measured(DEGREES * run->walk.phase_rad[swapped], (double)NAN);
}

static void judge_walk(const struct audio_totals *totals, const struct audio_run *run,
                       struct sc_audio *audio)
{
  judge_sum(run, audio);
  const bool stereo = audio->order == SC_ORDER_NORMAL || audio->order == SC_ORDER_SWAPPED;
  if (totals->channels == 2 && stereo)
    judge_stereo_walk(run, audio);
  else
    audio->walk_ripple_db = audio->walk_phase_deg =
        sc_not_measured("the channels are not two different ones");
}

void audio_judge_channels(const struct audio_totals *totals, const struct audio_run *run,
                          struct sc_audio *audio)
{
  const bool found = audio->sequence == SC_YES;
  audio_refuse_channels(audio, audio->why);
  if (totals->channels == 1)
    refuse_pair(audio, audio_one_channel);
  if (!found)
    return;
  if (totals->channels == 2) {
    judge_balance(run, audio);
    if (run->done[SC_PART_LEFT] && run->done[SC_PART_RIGHT]) {
      judge_order(run, audio);
      judge_separation(run, audio);
    }
  }
  if (run->done[SC_PART_WALK])
    judge_walk(totals, run, audio);
}
