/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#include "account/mean.h"

#include <math.h>

static const double pi = 3.14159265358979323846;

static double sinc(double x)
{
  return fabs(x) > 1e-9 ? sin(pi * x) / (pi * x) : 1;
}

double account_mirrored_by_mean(double mean_s, double am_hz, unsigned n, double *share)
{
  const double turns = am_hz * mean_s, k = n / 2 + 1;
  const double at = n % 2 == 0 ? k - turns : k + turns;
  *share = fabs(sinc(turns)) * sinc(at) * sinc(at);
  return fabs(at) / mean_s;
}
