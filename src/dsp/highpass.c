/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#include "dsp/highpass.h"

#include <math.h>

#define PI 3.1415926535897932384626433832795

void dsp_highpass_set(struct dsp_highpass *filter, double corner_hz, double rate_hz)
{
  const double w = tan(PI * corner_hz / rate_hz), each = 1.0 / (1.0 + sqrt(2.0) * w + w * w);
  *filter = (struct dsp_highpass){.gain = each,
                                  .one = 2.0 * (w * w - 1.0) * each,
                                  .two = (1.0 - sqrt(2.0) * w + w * w) * each};
}

/* Transposed form: of a constant x nothing comes out, so kept[0] = -gain x, kept[1] = gain x. */
void dsp_highpass_settle(struct dsp_highpass *filter, double level)
{
  filter->kept[0] = -filter->gain * level;
  filter->kept[1] = filter->gain * level;
}

double dsp_highpass_square(struct dsp_highpass *filter, const float *in, size_t frames)
{
  const double gain = filter->gain, one = filter->one, two = filter->two;
  double first = filter->kept[0], second = filter->kept[1], sum = 0.0;
  for (size_t n = 0; n < frames; n++) {
    const double x = gain * (double)in[n], y = x + first;
    first = second - 2.0 * x - one * y;
    second = x - two * y;
    sum += y * y;
  }
  filter->kept[0] = first;
  filter->kept[1] = second;
  return sum;
}
