/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* From what was measured in the parts to what it means. */
#ifndef SIDECOMB_MEASURE_AUDIO_JUDGE_H
#define SIDECOMB_MEASURE_AUDIO_JUDGE_H

#include <stdint.h>

#include <sidecomb/audio.h>

#include "measure/audio_parts.h"
#include "measure/audio_spectrum.h"
#include "measure/tops.h"

/* Sums over the whole recording. */
struct audio_totals {
  double rate_hz;
  unsigned channels;
  uint64_t sequences; /* leading chirps */
  double frames;
  double sum[2], square[2], product, peak[2];
  struct measure_tops tops[2];
};

/* `run`: whose parts are done as far as its flags say; with totals->sequences == 0 none are. */
void audio_judge(const struct audio_totals *totals, const struct audio_dominant dominant[2],
                 const struct audio_run *run, struct sc_audio *audio);

/* What the parts say of both channels together, each with its reason where it cannot. */
void audio_judge_channels(const struct audio_totals *totals, const struct audio_run *run,
                          struct sc_audio *audio);
/* Response and separation over frequency, by the combs; audio->order is known. */
void audio_judge_combs(const struct audio_totals *totals, const struct audio_run *run,
                       struct sc_audio *audio);

/* Nothing of these, for one reason. */
void audio_refuse_channels(struct sc_audio *audio, const char *why);
void audio_refuse_combs(struct sc_audio *audio, const char *why);

/* 20 lg of a ratio of amplitudes, the noise's share of the lower one's power taken off. */
struct sc_quantity audio_ratio_db(double complex over, double over_variance, double complex under,
                                  double under_variance);
/* Largest such ratio that would be seen. */
double audio_ratio_limit_db(double complex over, double under_variance);

extern const char audio_lost[], audio_one_channel[];

#endif
