/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Pink noise by a ladder of first-order sections. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <complex.h>
#include <math.h>
#include <string.h>

#include "signal/pink.h"

static const double two_pi = 6.283185307179586476925286766559;

/* From one pole to the next; the first stands well below 20 Hz. */
static const double ratio = 2.2;
static const double first_hz = 3;
static const double lowest_hz = 22.4; /* half of the power passes there */

/* The ladder alone rises above its law as w / (2 sin(w / 2)) does; a zero undoes that to the
 * second order: a / (1 + a)^2 = 1 / 24. */
static const double last_zero = -0.045548849;

/* Third order by the bilinear transform, as a section of first order and one of second. In s and
 * with a corner of 1: s^3 / ((s + 1) (s^2 + s + 1)). */
static void set_high(struct signal_pink *pink, double rate_hz)
{
  const double w = tan(two_pi / 2 * lowest_hz / rate_hz);
  const double first = 1 + w, second = 1 + w + w * w;
  pink->high[0] = (w - 1) / first;
  pink->high[1] = 2 * (w * w - 1) / second;
  pink->high[2] = (1 - w + w * w) / second;
  pink->high_gain = 1 / (first * second);
}

static double high_power(const struct signal_pink *pink, double frequency_hz, double rate_hz)
{
  const double complex z = cexp(-I * two_pi * frequency_hz / rate_hz), zero = 1 - z;
  const double complex below =
      (1 + pink->high[0] * z) * (1 + pink->high[1] * z + pink->high[2] * z * z);
  const double size = cabs(pink->high_gain * zero * zero * zero / below);
  return size * size;
}

static double pass_high(struct signal_pink *pink, double x)
{
  double *rest = pink->rest;
  x *= pink->high_gain;
  const double y = x + rest[0];
  rest[0] = -x - pink->high[0] * y;
  const double out = y + rest[1];
  rest[1] = rest[2] - 2 * y - pink->high[1] * out;
  rest[2] = y - pink->high[2] * out;
  return out;
}

double signal_pink_power(const struct signal_pink *pink, double frequency_hz, double rate_hz)
{
  const double c = cos(two_pi * frequency_hz / rate_hz);
  double power = pink->gain * pink->gain * high_power(pink, frequency_hz, rate_hz);
  for (size_t i = 0; i < pink->count; i++) {
    const double p = pink->pole[i], z = pink->zero[i];
    power *= (1 - 2 * z * c + z * z) / (1 - 2 * p * c + p * p);
  }
  return power;
}

/* Mean power of unit white noise behind the filter, up to the limit, by the midpoint rule on a
 * grid that is even in the square root of the frequency: fine where the spectrum is steep. */
static double power_below(const struct signal_pink *pink, double rate_hz, double limit_hz)
{
  enum { STEPS = 20000 };
  const double top = sqrt(limit_hz);
  double sum = 0;
  for (int i = 0; i < STEPS; i++) {
    const double root = top * (i + 0.5) / STEPS;
    sum += signal_pink_power(pink, root * root, rate_hz) * 2 * root * top / STEPS;
  }
  return sum / (rate_hz / 2);
}

void signal_pink_init(struct signal_pink *pink, double rate_hz, double limit_hz)
{
  memset(pink, 0, sizeof *pink);
  double hz = first_hz;
  while (pink->count + 1 < SIGNAL_PINK_SECTIONS && hz < rate_hz) {
    pink->pole[pink->count] = exp(-two_pi * hz / rate_hz);
    pink->zero[pink->count] = exp(-two_pi * hz * sqrt(ratio) / rate_hz);
    pink->count++;
    hz *= ratio;
  }
  pink->zero[pink->count++] = last_zero;
  set_high(pink, rate_hz);
  pink->gain = 1;
  pink->gain = 1 / sqrt(power_below(pink, rate_hz, limit_hz));
}

double signal_pink_next(struct signal_pink *pink, struct signal_random *random)
{
  double x = pink->gain * signal_random_gauss(random);
  for (size_t i = 0; i < pink->count; i++) {
    const double before = pink->past[i];
    pink->past[i] = x;
    x += pink->pole[i] * pink->past[i + 1] - pink->zero[i] * before;
  }
  pink->past[pink->count] = x;
  return pass_high(pink, x);
}
