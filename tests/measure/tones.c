/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What the tests of the spectrum share: tones of exact frequency, and reading a trace. */
#include "measure/tones.h"

#include <math.h>
#include <stdlib.h>

#include <check.h>

static const double PI = 3.14159265358979323846;
static const double PHASE_CYCLES = 0.3;

float *tones_make(const struct sc_spectrum_settings *settings, double frequency_hz,
                  double amplitude, size_t first, size_t frames)
{
  size_t parts = settings->complex_input ? 2 : 1;
  double step = frequency_hz / settings->sample_rate_hz;
  float *x = malloc((frames + 1) * parts * sizeof *x);
  ck_assert_ptr_nonnull(x);
  for (size_t n = 0; n < frames; n++) {
    double cycles = PHASE_CYCLES + step * (double)(first + n);
    double angle = 2 * PI * (cycles - floor(cycles));
    x[n * parts] = (float)(amplitude * cos(angle));
    if (parts == 2)
      x[2 * n + 1] = (float)(amplitude * sin(angle));
  }
  return x;
}

struct sc_spectrum *tones_create(const struct sc_spectrum_settings *settings)
{
  struct sc_spectrum *spectrum = NULL;
  ck_assert_int_eq(sc_spectrum_create(settings, &spectrum), SC_OK);
  return spectrum;
}

struct sc_spectrum *tones_measure(const struct sc_spectrum_settings *settings, double frequency_hz,
                                  double amplitude, size_t frames, struct sc_trace *trace)
{
  struct sc_spectrum *spectrum = tones_create(settings);
  float *x = tones_make(settings, frequency_hz, amplitude, 0, frames);
  sc_spectrum_feed(spectrum, x, frames, false);
  free(x);
  sc_spectrum_result(spectrum, trace);
  ck_assert_uint_gt(trace->points, 0);
  return spectrum;
}

double tones_frequency(const struct sc_trace *trace, size_t point)
{
  return trace->start_hz + (double)point * trace->step_hz;
}

size_t tones_strongest(const struct sc_trace *trace)
{
  size_t strongest = 0;
  for (size_t i = 1; i < trace->points; i++)
    if (trace->mean[i] > trace->mean[strongest])
      strongest = i;
  return strongest;
}

double tones_db(double power)
{
  return 10 * log10(power);
}
