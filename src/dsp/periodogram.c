/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The two loops around a transform that an averaged spectrum spends its time in, in versions for
 * the processor at hand. */
#include "dsp/periodogram.h"

#include "dsp/simd.h"

DSP_CLONES
void dsp_weigh_complex(const float *restrict in, const float *restrict window, size_t frames,
                       float *restrict out)
{
  for (size_t n = 0; n < frames; n++) {
    out[2 * n] = in[2 * n] * window[n];
    out[2 * n + 1] = in[2 * n + 1] * window[n];
  }
}

DSP_CLONES
void dsp_weigh_real(const float *restrict in, const float *restrict window, size_t frames,
                    float *restrict out)
{
  for (size_t n = 0; n < frames; n++)
    out[n] = in[n] * window[n];
}

DSP_CLONES
void dsp_gather_power(const float *restrict spectrum, size_t bins, double decay,
                      double *restrict sum, float *restrict max, float *restrict min)
{
  for (size_t k = 0; k < bins; k++) {
    float re = spectrum[2 * k], im = spectrum[2 * k + 1];
    float power = re * re + im * im;
    sum[k] = decay * sum[k] + (double)power;
    max[k] = power > max[k] ? power : max[k];
    min[k] = power < min[k] ? power : min[k];
  }
}
