/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The state of the stereo meter, shared by the file that fills it and the one that concludes. */
#ifndef SIDECOMB_MEASURE_STEREO_SUMS_H
#define SIDECOMB_MEASURE_STEREO_SUMS_H

#include <sidecomb/stereo.h>

#include "dsp/deemphasis.h"
#include "dsp/highpass.h"
#include "measure/channels.h"
#include "measure/decoder.h"
#include "measure/residual.h"

/* Sums over all decoded frames: m sum, i and q difference in phase and in quadrature. */
struct measure_stereo_sums {
  double frames;
  double m, i, q, mm, ii, qq, mi, mq, iq;
  double pilot;
  double sum_high, sum_low, difference_high, difference_low;
  /* of the unlocked difference, in blocks */
  double block_frames, block_mean[2], block_square[2], block_power;
  double symmetric, unlocked_power;
  double hum_frames, hum; /* square of the sum from 30 Hz on, behind de-emphasis */
};

struct sc_stereo_meter {
  struct sc_stereo_settings settings;
  double audio_rate_hz;
  struct measure_decoder *decoder; /* NULL: the input is too slow */
  struct measure_residual *residual;
  struct measure_channels *channels;
  float *audio, *heard;
  struct dsp_deemphasis hum_deemphasis, left_deemphasis, right_deemphasis;
  struct dsp_highpass hum_highpass;
  size_t hum_skip;
  struct measure_stereo_sums sums;
};

#endif
