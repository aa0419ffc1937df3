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

static inline float bin_power(const float *bin)
{
  return bin[0] * bin[0] + bin[1] * bin[1];
}

DSP_CLONES
void dsp_gather_power(const float *restrict spectrum, size_t bins, double decay,
                      double *restrict sum, float *restrict max, float *restrict min)
{
  for (size_t k = 0; k < bins; k++) {
    float power = bin_power(spectrum + 2 * k);
    sum[k] = decay * sum[k] + (double)power;
    max[k] = power > max[k] ? power : max[k];
    min[k] = power < min[k] ? power : min[k];
  }
}

DSP_CLONES
void dsp_gather_two_powers(const float *restrict first, const float *restrict second, size_t bins,
                           double decay, double *restrict sum, float *restrict max,
                           float *restrict min)
{
  const float less = (float)decay;
  const double both = decay * decay;
  for (size_t k = 0; k < bins; k++) {
    float one = bin_power(first + 2 * k), two = bin_power(second + 2 * k);
    float larger = one > two ? one : two, smaller = one < two ? one : two;
    sum[k] = both * sum[k] + (double)(less * one + two);
    max[k] = larger > max[k] ? larger : max[k];
    min[k] = smaller < min[k] ? smaller : min[k];
  }
}
