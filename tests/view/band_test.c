/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Power in a band against closed forms: white noise of known variance has variance over rate in
 * every hertz, and a tone of amplitude A has A^2 (Parseval's theorem). */
#include <config.h>

#include <math.h>
#include <stdlib.h>

#include <check.h>

#include "support/random.h"
#include "support/support.h"
#include "view/band.h"
#include "view/suites.h"

enum { FRAMES = 1 << 15 };
static const double rate_hz = 100e3, rbw_hz = 200;
/* Side lobes and the far ends of the window that a band does not hold. */
static const double tone_tolerance = 1e-3;

static float samples[2 * FRAMES];

static struct sc_spectrum *measure(enum sc_window window, bool complex_input,
                                   struct sc_trace *trace)
{
  struct sc_spectrum *spectrum;
  const struct sc_spectrum_settings settings = {.sample_rate_hz = rate_hz,
                                                .complex_input = complex_input,
                                                .rbw_hz = rbw_hz,
                                                .window = window,
                                                .window_parameter = 12,
                                                .overlap = -1,
                                                .expected_frames = FRAMES};
  ck_assert_int_eq(sc_spectrum_create(&settings, &spectrum), SC_OK);
  sc_spectrum_feed(spectrum, samples, FRAMES, false);
  sc_spectrum_result(spectrum, trace);
  return spectrum;
}

static void make_noise(uint64_t *seed, double deviation)
{
  for (size_t i = 0; i < 2 * FRAMES; i++)
    samples[i] = (float)(deviation * support_normal(seed));
}

static void make_tone(double hz, double amplitude, bool complex_input)
{
  double step = 2 * acos(-1) * hz / rate_hz;
  for (size_t i = 0; i < FRAMES; i++)
    if (complex_input) {
      samples[2 * i] = (float)(amplitude * cos(step * (double)i));
      samples[2 * i + 1] = (float)(amplitude * sin(step * (double)i));
    } else {
      samples[i] = (float)(amplitude * cos(step * (double)i));
    }
}

/* Noise of variance 2 d^2 (both parts) in complex samples. */
START_TEST(white_noise_has_its_variance_in_the_whole_and_its_share_in_a_band)
{
  uint64_t seed = support_seed("white_noise", 5);
  unsigned trials = support_trials(60);
  double squares = 0, densities = 0, floors = 0;
  for (unsigned t = 0; t < trials; t++) {
    struct sc_trace trace;
    make_noise(&seed, 0.1);
    struct sc_spectrum *spectrum = measure(SC_WINDOW_BLACKMAN_HARRIS, true, &trace);
    double low = -40e3 + 1e3 * support_uniform(&seed), high = low + 20e3;
    struct view_band band = view_band_power(&trace, high, low);
    struct view_density density = view_band_density(&trace, 12345);
    double truth = 2 * 0.01 / rate_hz;
    ck_assert_ptr_null(band.power.why);
    squares += pow((band.power.value - truth * 20e3) / band.power.uncertainty, 2);
    densities += pow((density.per_hz.value - truth) / density.per_hz.uncertainty, 2);
    floors += band.floor / (truth * 20e3);
    ck_assert(!density.line_within);
    sc_spectrum_destroy(spectrum);
  }
  ck_assert_double_le(squares / trials, support_mean_square_limit(trials));
  ck_assert_double_le(densities / trials, support_mean_square_limit(trials));
  ck_assert_double_ge(squares / trials, 0.4); /* nor is the uncertainty overstated much */
  ck_assert_double_eq_tol(floors / trials, 1, 0.02);
}
END_TEST

START_TEST(a_tone_has_its_power_whatever_the_window)
{
  for (int window = SC_WINDOW_HANN; window < SC_WINDOW_COUNT; window++)
    for (int real = 0; real <= 1; real++)
      for (double off = 0; off < 1; off += 0.19) {
        struct sc_trace trace;
        double hz = 10e3 + off * rbw_hz;
        make_tone(hz, 0.3, real == 0);
        struct sc_spectrum *spectrum = measure((enum sc_window)window, real == 0, &trace);
        struct view_band band = view_band_power(&trace, hz - 20 * rbw_hz, hz + 20 * rbw_hz);
        ck_assert_ptr_null(band.power.why);
        ck_assert_double_eq_tol(band.power.value, 0.09, 0.09 * tone_tolerance);
        ck_assert_double_lt(band.floor, 0.09 * tone_tolerance);
        ck_assert(view_band_density(&trace, hz).line_within);
        sc_spectrum_destroy(spectrum);
      }
}
END_TEST

START_TEST(bands_add_up)
{
  uint64_t seed = support_seed("bands_add_up", 8);
  struct sc_trace trace;
  make_noise(&seed, 0.1);
  struct sc_spectrum *spectrum = measure(SC_WINDOW_HANN, true, &trace);
  for (int t = 0; t < 100; t++) {
    double a = -20e3 + 10e3 * support_uniform(&seed), b = 10e3 * support_uniform(&seed);
    double c = 20e3 + 10e3 * support_uniform(&seed);
    b = fmin(fmax(b, a + 2 * rbw_hz), c - 2 * rbw_hz);
    double parts =
        view_band_power(&trace, a, b).power.value + view_band_power(&trace, b, c).power.value;
    ck_assert_double_eq_tol(parts, view_band_power(&trace, a, c).power.value, 1e-12);
  }
  sc_spectrum_destroy(spectrum);
}
END_TEST

START_TEST(what_the_trace_does_not_hold_is_not_measured)
{
  struct sc_trace none = {.points = 0};
  struct sc_trace trace;
  make_tone(1e3, 0.5, true);
  struct sc_spectrum *spectrum = measure(SC_WINDOW_HANN, true, &trace);
  ck_assert_ptr_nonnull(view_band_power(&none, 0, 1e3).power.why);
  ck_assert_ptr_nonnull(view_band_power(&trace, 0, 60e3).power.why);
  ck_assert_ptr_nonnull(view_band_power(&trace, 0, rbw_hz / 4).power.why);
  ck_assert_ptr_nonnull(view_band_power(&trace, (double)NAN, 1e3).power.why);
  ck_assert_ptr_nonnull(view_band_density(&trace, 49.99e3).per_hz.why);
  sc_spectrum_destroy(spectrum);
}
END_TEST

Suite *band_suite(void)
{
  Suite *suite = suite_create("band");
  TCase *tests = tcase_create("band");
  tcase_add_test(tests, white_noise_has_its_variance_in_the_whole_and_its_share_in_a_band);
  tcase_add_test(tests, a_tone_has_its_power_whatever_the_window);
  tcase_add_test(tests, bands_add_up);
  tcase_add_test(tests, what_the_trace_does_not_hold_is_not_measured);
  suite_add_tcase(suite, tests);
  return suite;
}
