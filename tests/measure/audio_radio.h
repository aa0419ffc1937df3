/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What a radio, and the one who records it, make of the test audio. */
#ifndef SIDECOMB_TESTS_MEASURE_AUDIO_RADIO_H
#define SIDECOMB_TESTS_MEASURE_AUDIO_RADIO_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <sidecomb/audio.h>

#include "dsp/weighting.h"

/* Zero-initialise, then set the rate; the rest then is a perfect way. */
struct radio {
  double rate_hz;
  unsigned channels;            /* 0: 2 */
  double clock_ppm;             /* the recorder's clock runs fast */
  double before_s, after_s;     /* of other sound */
  double until_s;               /* of the sequence; 0: all of it */
  double gain[2][2];            /* of output from input, all 0: the identity */
  double second, third;         /* harmonic distortion x + second x^2 + third x^3 */
  double preemphasis_us;        /* x + tau dx/dt, before all else */
  double noise;                 /* rms of white, evenly spread noise in each output */
  bool same_noise;              /* the same in both: a mono radio */
  enum dsp_weighting weighting; /* filters both channels, at 32 kHz and more */
  unsigned bits;                /* that the recorder rounds to; 0: none */
  uint64_t seed;
  double gap_s; /* where the feed says that frames are missing; 0: nowhere */
};

/* Plays and judges, in blocks of odd lengths; `name` goes with the seed into the log. */
struct sc_audio radio_judge(const char *name, const struct radio *radio);
/* The meter, after it has heard it; to be destroyed. */
struct sc_audio_meter *radio_play(const char *name, const struct radio *radio);

#endif
