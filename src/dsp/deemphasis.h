/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* De-emphasis: a first-order low-pass 1 / (1 + j 2 pi f tau), as 50 or 75 us (ITU-R BS.450). */
#ifndef SIDECOMB_DSP_DEEMPHASIS_H
#define SIDECOMB_DSP_DEEMPHASIS_H

#include <stddef.h>

struct dsp_deemphasis {
  double feedback, now, before; /* y = feedback y' + now x + before x' */
  double x, y;
};

/* tau_s 0: passes all. The pole is the analogue one (impulse invariance), the zero makes the
 * response exact at zero and at 0.3 times the rate: within 0.12 dB up to 15 kHz at 44 kS/s. */
void dsp_deemphasis_set(struct dsp_deemphasis *filter, double tau_s, double rate_hz);
/* In place allowed. */
void dsp_deemphasis_run(struct dsp_deemphasis *filter, const float *in, float *out, size_t frames);
/* Two channels, whose floats take turns. */
void dsp_deemphasis_run_pair(struct dsp_deemphasis *left, struct dsp_deemphasis *right,
                             const float *in, float *out, size_t frames);

#endif
