/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Tools of this room's tests. */
#include <complex.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>
#include <fftw3.h>

#include "signal/tools.h"

void check_close(double got, double expected, double tolerance, const char *file, int line)
{
  if (!(fabs(got - expected) <= tolerance))
    ck_abort_msg("%s:%d: %.12g instead of %.12g, tolerance %g", file, line, got, expected,
                 tolerance);
}

void check_below(double got, double limit, const char *file, int line)
{
  if (!(got < limit))
    ck_abort_msg("%s:%d: %.12g is not below %.12g", file, line, got, limit);
}

double db(double amplitude)
{
  return 20 * log10(amplitude + 1e-300);
}

struct sc_scenario *plain_scenario(double rate_hz)
{
  struct sc_scenario *s = malloc(sizeof *s);
  ck_assert_ptr_nonnull(s);
  sc_scenario_init(s);
  s->rate_hz = rate_hz;
  s->level_dbfs = 0;
  s->station.pilot_khz = 0;
  return s;
}

double *play(const struct sc_scenario *scenario, size_t frames)
{
  struct sc_generator *generator;
  struct sc_message message = {""};
  const enum sc_error error = sc_generator_create(scenario, &generator, &message);
  ck_assert_msg(error == SC_OK, "%s", message.text);
  double *out = calloc(frames * sc_generator_channels(generator), sizeof *out);
  ck_assert_ptr_nonnull(out);
  sc_generator_run(generator, out, frames);
  sc_generator_destroy(generator);
  return out;
}

void transform(double complex *x, size_t n)
{
  double complex *work = fftw_malloc(n * sizeof *work);
  ck_assert_ptr_nonnull(work);
  fftw_plan plan = fftw_plan_dft_1d((int)n, work, work, FFTW_FORWARD, FFTW_ESTIMATE);
  memcpy(work, x, n * sizeof *work);
  fftw_execute(plan);
  for (size_t i = 0; i < n; i++)
    x[i] = work[i] / (double)n;
  fftw_destroy_plan(plan);
  fftw_free(work);
}

double complex *scenario_spectrum(const struct sc_scenario *scenario, size_t frames)
{
  double *samples = play(scenario, frames);
  double complex *x = malloc(frames * sizeof *x);
  ck_assert_ptr_nonnull(x);
  for (size_t i = 0; i < frames; i++)
    x[i] =
        scenario->what == SC_WHAT_COMPOSITE ? samples[i] : samples[2 * i] + I * samples[2 * i + 1];
  free(samples);
  transform(x, frames);
  return x;
}

double complex bin(const double complex *spectrum, size_t n, double rate_hz, double hz)
{
  const long k = lround(hz / rate_hz * (double)n);
  return spectrum[(k + (long)n) % (long)n];
}

static double bessel_i0(double x)
{
  double term = 1, sum = 1;
  for (int k = 1; term > 1e-18 * sum; k++) {
    term *= x / (2.0 * k) * (x / (2.0 * k));
    sum += term;
  }
  return sum;
}

void lowpass(const double *in, double *out, size_t n, double pass_hz, double stop_hz,
             double rate_hz)
{
  const double cut = (pass_hz + stop_hz) / 2 / rate_hz, beta = 14.5;
  const long half = (long)ceil(140 / 14.36 / ((stop_hz - pass_hz) / rate_hz) / 2);
  double *taps = malloc((size_t)(2 * half + 1) * sizeof *taps);
  ck_assert_ptr_nonnull(taps);
  for (long k = -half; k <= half; k++) {
    const double u = (double)k / (double)half;
    const double sinc = k == 0 ? 2 * cut : sin(TWO_PI * cut * (double)k) / (TWO_PI / 2 * (double)k);
    taps[k + half] = sinc * bessel_i0(beta * sqrt(1 - u * u)) / bessel_i0(beta);
  }
  for (long i = 0; i < (long)n; i++) {
    double sum = 0;
    for (long k = -half; k <= half; k++)
      if (i - k >= 0 && i - k < (long)n)
        sum += taps[k + half] * in[i - k];
    out[i] = sum;
  }
  free(taps);
}
