/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* De-emphasis by one pole and one zero. */
#include "dsp/deemphasis.h"

#include <math.h>

#define TWO_PI 6.283185307179586476925286766559

static const double exact_share = 0.3; /* of the rate */

void dsp_deemphasis_set(struct dsp_deemphasis *filter, double tau_s, double rate_hz)
{
  *filter = (struct dsp_deemphasis){.now = 1.0};
  if (!(tau_s > 0.0))
    return;
  const double pole = exp(-1.0 / (tau_s * rate_hz));
  const double c = cos(TWO_PI * exact_share);
  const double x = TWO_PI * exact_share * rate_hz * tau_s;
  const double sum = 1.0 - pole; /* of the taps: unity at zero */
  const double square = (1.0 - 2.0 * pole * c + pole * pole) / (1.0 + x * x);
  /* |now + before e^(-jw)|^2 = sum^2 - 2 now before (1 - c) = square */
  const double inside = sum * sum - 2.0 * (sum * sum - square) / (1.0 - c);
  filter->feedback = pole;
  filter->now = (sum + sqrt(fmax(0.0, inside))) / 2.0;
  filter->before = sum - filter->now;
}

static inline float step(struct dsp_deemphasis *f, double x)
{
  f->y = f->feedback * f->y + (f->now * x + f->before * f->x);
  f->x = x;
  return (float)f->y;
}

void dsp_deemphasis_run(struct dsp_deemphasis *filter, const float *in, float *out, size_t frames)
{
  struct dsp_deemphasis f = *filter;
  for (size_t n = 0; n < frames; n++)
    out[n] = step(&f, in[n]);
  *filter = f;
}

/* Each output waits for the one before it, but not for the other channel's. */
void dsp_deemphasis_run_pair(struct dsp_deemphasis *left, struct dsp_deemphasis *right,
                             const float *in, float *out, size_t frames)
{
  struct dsp_deemphasis l = *left, r = *right;
  for (size_t n = 0; n < frames; n++) {
    out[2 * n] = step(&l, in[2 * n]);
    out[2 * n + 1] = step(&r, in[2 * n + 1]);
  }
  *left = l;
  *right = r;
}
