/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The averaged spectrum against a general-purpose implementation of Welch's method in double
 * precision (scipy.signal.welch), point by point. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include <check.h>

#include "measure/suites.h"
#include "measure/tones.h"
#include "reference/welch_values.h"
#include "support/random.h"

/* Relative difference of a bin's power, noise alone. Single precision rounds at 6e-8. */
static const double NOISE_DIFFERENCE = 1e-5;
/* Difference of amplitudes against the strongest bin, for a spectrum whose side lobes are at
 * -144 dB and whose floor is lower. */
static const double DIFFERENCE_DB = -125;
static const double PI = 3.14159265358979323846;

static float *make_samples(const struct welch_case *c)
{
  size_t parts = c->complex_input ? 2 : 1;
  float *x = malloc(c->frames * parts * sizeof *x);
  uint64_t state = c->seed;
  for (size_t n = 0; n < c->frames; n++) {
    double angle = 2 * PI * (double)(c->cycles * n % 64) / 64;
    for (size_t part = 0; part < parts; part++) {
      double carrier = c->cycles == 0 ? 0 : part == 0 ? cos(angle) : sin(angle);
      x[n * parts + part] = (float)(c->noise * support_uniform(&state) + carrier);
    }
  }
  return x;
}

static struct sc_spectrum *measure(const struct welch_case *c, struct sc_trace *trace)
{
  const double rate_hz = 48000;
  struct sc_window_figures figures = sc_window_figures(c->window, c->beta);
  struct sc_spectrum_settings settings = {
      .sample_rate_hz = rate_hz,
      .complex_input = c->complex_input,
      .rbw_hz = figures.noise_bandwidth_bins * rate_hz / (double)c->length,
      .window = c->window,
      .window_parameter = c->beta,
      .overlap = 1 - (double)c->hop / (double)c->length,
      .expected_frames = c->frames,
  };
  struct sc_spectrum *spectrum;
  ck_assert_int_eq(sc_spectrum_create(&settings, &spectrum), SC_OK);
  float *x = make_samples(c);
  sc_spectrum_feed(spectrum, x, c->frames, false);
  free(x);
  sc_spectrum_result(spectrum, trace);
  return spectrum;
}

START_TEST(agrees_with_the_reference_library)
{
  const struct welch_case *c = &welch_cases[_i];
  struct sc_trace trace;
  struct sc_spectrum *spectrum = measure(c, &trace);
  ck_assert_uint_eq(trace.points, c->points);
  ck_assert_uint_eq(trace.records, (c->frames - c->length) / c->hop + 1);
  double strongest = 0, relative = 0, apart = 0;
  for (size_t i = 0; i < c->points; i++) {
    double got = (double)trace.mean[i];
    strongest = fmax(strongest, c->power[i]);
    relative = fmax(relative, fabs(got / c->power[i] - 1));
    apart = fmax(apart, pow(sqrt(got) - sqrt(c->power[i]), 2));
  }
  printf("case %d: largest relative difference of a power %.2g, of an amplitude %.1f dB\n", _i,
         relative, tones_db(apart / strongest));
  if (c->cycles == 0)
    ck_assert_double_lt(relative, NOISE_DIFFERENCE);
  ck_assert_double_lt(tones_db(apart / strongest), DIFFERENCE_DB);
  sc_spectrum_destroy(spectrum);
}
END_TEST

Suite *spectrum_reference_suite(void)
{
  Suite *suite = suite_create("spectrum against a reference library");
  TCase *welch = tcase_create("welch");
  tcase_add_loop_test(welch, agrees_with_the_reference_library, 0,
                      sizeof welch_cases / sizeof *welch_cases);
  suite_add_tcase(suite, welch);
  return suite;
}
