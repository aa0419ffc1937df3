/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Low-pass design with the Kaiser window: J. F. Kaiser, "Nonrecursive digital filter design using
 * the I0-sinh window function", IEEE ISCAS 1974 (the length and beta formulae are the textbook's,
 * from memory; the tests measure what comes out). */
#include "dsp/resample.h"

#include <math.h>
#include <stdlib.h>

#define PI 3.1415926535897932384626433832795

/* The formulae are fits, good to about two decibels. */
static const double margin_db = 3.0;

static double bessel_i0(double x)
{
  double term = 1.0;
  double sum = 1.0;
  for (int k = 1; term > 1e-17 * sum; k++) {
    term *= x / (2.0 * k) * (x / (2.0 * k));
    sum += term;
  }
  return sum;
}

static double kaiser_beta(double attenuation_db)
{
  if (attenuation_db > 50.0)
    return 0.1102 * (attenuation_db - 8.7);
  if (attenuation_db > 21.0)
    return 0.5842 * pow(attenuation_db - 21.0, 0.4) + 0.07886 * (attenuation_db - 21.0);
  return 0.0;
}

static size_t odd_length(double attenuation_db, double transition)
{
  const double order = (fmax(attenuation_db, 21.0) - 7.95) / (14.36 * transition);
  return (size_t)ceil(order / 2.0) * 2 + 1;
}

size_t dsp_lowpass_length(double pass_hz, double stop_hz, double attenuation_db, double rate_hz)
{
  return odd_length(attenuation_db + margin_db, (stop_hz - pass_hz) / rate_hz);
}

static double sinc(double x)
{
  return x == 0.0 ? 1.0 : sin(PI * x) / (PI * x);
}

static void fill(double *taps, size_t count, double cutoff, double beta)
{
  const double middle = (double)(count - 1) / 2.0;
  double sum = 0.0;
  for (size_t k = 0; k < count; k++) {
    const double t = (double)k - middle;
    const double u = middle > 0.0 ? t / middle : 0.0;
    taps[k] = sinc(2.0 * cutoff * t) * bessel_i0(beta * sqrt(fmax(0.0, 1.0 - u * u)));
    sum += taps[k];
  }
  for (size_t k = 0; k < count; k++)
    taps[k] /= sum;
}

enum sc_error dsp_lowpass_design(double pass_hz, double stop_hz, double attenuation_db,
                                 double rate_hz, double **taps, size_t *count)
{
  if (!(pass_hz >= 0.0 && stop_hz > pass_hz && rate_hz > 0.0 && attenuation_db > 0.0))
    return SC_BAD_ARGUMENT;
  *count = dsp_lowpass_length(pass_hz, stop_hz, attenuation_db, rate_hz);
  *taps = malloc(*count * sizeof **taps);
  if (*taps == NULL)
    return SC_NO_MEMORY;
  fill(*taps, *count, (pass_hz + stop_hz) / (2.0 * rate_hz),
       kaiser_beta(attenuation_db + margin_db));
  return SC_OK;
}
