/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Where the sequence stands and how the clocks differ; level, distortion and noise of either
 * channel, by the sequence or without it. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "measure/audio_judge.h"

#include <math.h>

#define DB_OF_AMPLITUDE 8.68588963806503655 /* 20 / ln 10 */

const char audio_lost[] = "it is lost in the noise";
const char audio_one_channel[] = "the recording has one channel";

static const char no_chirps[] =
    "the test audio that 'sidecomb sequence' makes is not in it: no chirps were found";
static const char no_line_up[] = "the line-up tone does not follow the first chirps";
static const char ends_early[] = "the recording ends, or has a gap, before the sequence does";
static const char no_trail[] = "the last chirps are not where they should be";
static const char no_flat[] = "no flat tops are seen";
static const char no_tone[] = "no steady tone dominates";

/* Of a correlation peak between samples at 8 kS/s the parabola is off by less than 2 us; the rest
 * is for filters on the way that delay the chirps' band unevenly. */
static const double mark_uncertainty_us = 20;
/* Power of a tone over all the rest, from which on it is called dominant. */
static const double dominant_ratio = 10;

struct sc_quantity audio_ratio_db(double complex over, double over_variance, double complex under,
                                  double under_variance)
{
  const double top = creal(over * conj(over));
  const double bottom = creal(under * conj(under)) - 2 * under_variance;
  /* chance passes this once in e^9 = 8000 times */
  if (!(bottom > 18 * under_variance) || !(top > 18 * over_variance))
    return sc_not_measured(audio_lost);
  return sc_measured(10 * log10(top / bottom),
                     DB_OF_AMPLITUDE * sqrt(over_variance / top + under_variance / bottom));
}

double audio_ratio_limit_db(double complex over, double under_variance)
{
  return 10 * log10(creal(over * conj(over)) / (20 * under_variance + 1e-30));
}

static struct sc_quantity power_db(double power, double relative)
{
  return power > 0 ? sc_measured(10 * log10(power), DB_OF_AMPLITUDE / 2 * relative)
                   : sc_not_measured("there is nothing of it");
}

/* ---- the sequence as a whole */

static const char *missing(const struct audio_totals *totals, const struct audio_run *run)
{
  if (totals->sequences == 0)
    return no_chirps;
  if (!run->done[SC_PART_LINE_UP])
    return no_line_up;
  for (int i = SC_PART_LINE_UP; i < SC_PART_PAUSE; i++)
    if (!run->done[i])
      return ends_early;
  return isfinite(run->trail_s) ? NULL : no_trail;
}

static void judge_clock(const struct audio_run *run, struct sc_audio *audio)
{
  const double lead_s = audio_mark_middle_s(SC_PART_LEAD);
  const double sent_s = audio_mark_middle_s(SC_PART_TRAIL) - lead_s;
  audio->sequence_start_s =
      sc_measured(run->lead_s - lead_s * run->clock, 1e-6 * mark_uncertainty_us);
  audio->clock_error_ppm =
      sc_measured(1e6 * (run->clock - 1), 1e6 * run->clock_relative_uncertainty);
  if (!isfinite(run->trail_s))
    return;
  audio->slip_us =
      sc_measured(1e6 * (run->trail_s - run->lead_s - sent_s * run->clock),
                  hypot(mark_uncertainty_us, 1e6 * sent_s * run->clock_relative_uncertainty));
}

static void judge_sequence(const struct audio_totals *totals, const struct audio_run *run,
                           struct sc_audio *audio)
{
  audio->sequences = totals->sequences;
  audio->why = missing(totals, run);
  audio->evidence = audio->why != NULL ? audio->why : "all of it was found";
  const bool found = totals->sequences > 0 && run->done[SC_PART_LINE_UP];
  audio->sequence = found ? SC_YES : SC_NO;
  audio->sequence_start_s = audio->clock_error_ppm = audio->slip_us = sc_not_measured(audio->why);
  if (found)
    judge_clock(run, audio);
}

/* ---- one channel */

static void refuse_channel(struct sc_audio_channel *channel, const char *why)
{
  const struct sc_quantity none = sc_not_measured(why);
  channel->rms_dbfs = channel->peak_dbfs = channel->frequency_hz = channel->level_dbfs = none;
  channel->flat_percent = none;
  channel->thd_n_db = channel->sinad_db = none;
  channel->snr_db = channel->snr_weighted_db = channel->snr_a_db = none;
  channel->compression_db = none;
}

static void judge_totals(const struct audio_totals *t, int c, struct sc_audio_channel *channel)
{
  const double mean = t->frames > 0 ? t->sum[c] / t->frames : 0;
  const double square = t->frames > 0 ? t->square[c] / t->frames - mean * mean : 0;
  channel->rms_dbfs = power_db(2 * square, (double)NAN);
  channel->peak_dbfs = power_db(t->peak[c] * t->peak[c], (double)NAN);
  const double flat = measure_tops_flat(&t->tops[c]);
  channel->flat_percent =
      flat > 0 ? sc_measured(100 * flat, (double)NAN) : sc_not_measured(no_flat);
}

/* `tone`: its mean square. */
static void judge_distortion(double tone, const struct audio_power *rest,
                             struct sc_audio_channel *channel)
{
  const double share = rest->power / (rest->power + tone);
  channel->thd_n_db = power_db(share, rest->relative * (1 - share));
  channel->sinad_db = channel->thd_n_db;
  channel->sinad_db.value = -channel->thd_n_db.value;
}

static struct sc_quantity noise_ratio(double tone, double tone_relative,
                                      const struct audio_power *noise)
{
  if (!(noise->power > 0))
    return sc_not_measured("the silent part holds nothing but zeros");
  return power_db(tone / noise->power, hypot(noise->relative, tone_relative));
}

static void judge_noise(const struct audio_run *run, int c, double tone, double relative,
                        struct sc_audio_channel *channel)
{
  channel->snr_db = noise_ratio(tone, relative, &run->noise[c]);
  channel->snr_a_db = noise_ratio(tone, relative, &run->noise_a[c]);
  channel->snr_weighted_db = noise_ratio(tone, relative, &run->noise_468[c]);
}

static void judge_by_sequence(const struct audio_run *run, int c, struct sc_audio_channel *channel)
{
  const double complex a = run->line_up.amplitude[c];
  const double variance = run->line_up.variance[c], square = creal(a * conj(a));
  if (!(square > 18 * variance)) {
    const struct sc_quantity none = sc_not_measured("the line-up tone did not come through");
    channel->frequency_hz = channel->level_dbfs = channel->thd_n_db = channel->sinad_db = none;
    channel->snr_db = channel->snr_a_db = channel->snr_weighted_db = none;
    channel->compression_db = none;
    return;
  }
  const double relative = 2 * sqrt(variance / square);
  channel->frequency_hz = sc_measured(run->frequency_hz, run->frequency_uncertainty_hz);
  channel->level_dbfs = power_db(square, relative);
  judge_distortion(square / 2, &run->rest[c], channel);
  if (run->done[SC_PART_NEITHER])
    judge_noise(run, c, square / 2, relative, channel);
  if (!run->done[SC_PART_LINE_UP_LOWER])
    return;
  const double sent_db = -sc_sequence_parts()[SC_PART_LINE_UP_LOWER].level_db;
  channel->compression_db =
      audio_ratio_db(a, variance, run->line_up_lower.amplitude[c], run->line_up_lower.variance[c]);
  channel->compression_db.value = sent_db - channel->compression_db.value;
}

static void judge_by_dominant(const struct audio_dominant *dominant,
                              struct sc_audio_channel *channel)
{
  if (!(dominant->power > dominant_ratio * dominant->rest.power)) {
    channel->frequency_hz = channel->level_dbfs = sc_not_measured(no_tone);
    channel->thd_n_db = channel->sinad_db = sc_not_measured(no_tone);
    return;
  }
  channel->frequency_hz = sc_measured(dominant->frequency_hz, dominant->frequency_uncertainty_hz);
  channel->level_dbfs = power_db(
      2 * dominant->power, dominant->rest.relative * sqrt(dominant->rest.power / dominant->power));
  judge_distortion(dominant->power, &dominant->rest, channel);
}

static void judge_channel(const struct audio_totals *totals, const struct audio_run *run, int c,
                          const struct audio_dominant *dominant, struct sc_audio *audio)
{
  struct sc_audio_channel *channel = &audio->channel[c];
  const bool found = audio->sequence == SC_YES;
  refuse_channel(channel, audio->why);
  if (c == 1 && totals->channels == 1) {
    refuse_channel(channel, audio_one_channel);
    return;
  }
  judge_totals(totals, c, channel);
  if (found)
    judge_by_sequence(run, c, channel);
  else
    judge_by_dominant(dominant, channel);
}

/* ---- all of it */

static struct sc_quantity correlation(const struct audio_totals *t)
{
  if (t->channels == 1)
    return sc_not_measured(audio_one_channel);
  const double n = t->frames;
  const double left = t->square[0] - t->sum[0] * t->sum[0] / n;
  const double right = t->square[1] - t->sum[1] * t->sum[1] / n;
  if (!(left > 0 && right > 0))
    return sc_not_measured("a channel holds nothing but a constant");
  const double both = t->product - t->sum[0] * t->sum[1] / n;
  return sc_measured(fmax(-1, fmin(1, both / sqrt(left * right))), (double)NAN);
}

void audio_judge(const struct audio_totals *totals, const struct audio_dominant dominant[2],
                 const struct audio_run *run, struct sc_audio *audio)
{
  *audio = (struct sc_audio){0};
  judge_sequence(totals, run, audio);
  for (int c = 0; c < 2; c++)
    judge_channel(totals, run, c, &dominant[c], audio);
  audio->correlation = correlation(totals);
  audio_judge_channels(totals, run, audio);
  audio_judge_combs(totals, run, audio);
}

/* A recording in which nothing was found has no number but its totals, and here not these. */
void sc_audio_refuse(struct sc_audio *audio, const char *why)
{
  const struct audio_totals nothing = {.channels = 2};
  const struct audio_dominant dominant[2] = {{0}};
  const struct audio_run none = {0};
  audio_judge(&nothing, dominant, &none, audio);
  audio->sequence = SC_UNKNOWN;
  audio->why = audio->evidence = audio->order_why = audio->points_why = why;
  const struct sc_quantity absent = sc_not_measured(why);
  audio->sequence_start_s = audio->clock_error_ppm = audio->slip_us = absent;
  for (int c = 0; c < 2; c++)
    refuse_channel(&audio->channel[c], why);
  audio->correlation = absent;
  audio_refuse_channels(audio, why);
  audio_refuse_combs(audio, why);
}
