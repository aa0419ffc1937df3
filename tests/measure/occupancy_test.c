/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Occupied bandwidth against closed forms (Bessel functions of the C library) and against one
 * plain transform of the whole record. */
#include <config.h>

#include <complex.h>
#include <math.h>
#include <stdlib.h>

#include <check.h>
#include <fftw3.h>

#include <sidecomb/occupancy.h>
#include <sidecomb/signal.h>

#include "measure/suites.h"
#include "support/random.h"
#include "support/support.h"

enum { BLOCK = 1 << 14, LINES = 512, FLAT_POINTS = 4001 };

/* The same resolution as the program's: 4096 points of the capture, two bins wide. */
static struct sc_spectrum *spectrum_of(const struct sc_signal_settings *signal, size_t frames)
{
  struct sc_spectrum_settings settings = {.sample_rate_hz = signal->rate_hz,
                                          .complex_input = true,
                                          .rbw_hz = 2 * signal->rate_hz / 4096,
                                          .window = SC_WINDOW_BLACKMAN_HARRIS,
                                          .overlap = 0.5};
  struct sc_spectrum *spectrum;
  struct sc_signal *source;
  ck_assert_int_eq(sc_spectrum_create(&settings, &spectrum), SC_OK);
  ck_assert_int_eq(sc_signal_create(signal, &source), SC_OK);
  static double made[2 * BLOCK];
  static float samples[2 * BLOCK];
  for (size_t done = 0; done < frames; done += BLOCK) {
    sc_signal_iq(source, made, BLOCK);
    for (size_t i = 0; i < 2 * BLOCK; i++)
      samples[i] = (float)made[i];
    sc_spectrum_feed(spectrum, samples, BLOCK, false);
  }
  sc_signal_destroy(source);
  return spectrum;
}

static struct sc_occupancy measure(const struct sc_signal_settings *signal, double noise_density)
{
  struct sc_spectrum *spectrum = spectrum_of(signal, (size_t)signal->rate_hz);
  struct sc_trace trace;
  sc_spectrum_result(spectrum, &trace);
  struct sc_occupancy_settings settings = {signal->carrier_offset_hz, noise_density, 0.02,
                                           (double)NAN, (double)NAN};
  struct sc_occupancy occupancy = sc_occupancy_measure(&trace, &settings);
  sc_spectrum_destroy(spectrum);
  return occupancy;
}

static struct sc_signal_settings carrier(double rate_hz)
{
  struct sc_signal_settings signal;
  sc_signal_settings_init(&signal);
  signal.rate_hz = rate_hz;
  signal.level = 1;
  signal.carrier_offset_hz = 12345;
  return signal;
}

static void add_tone(struct sc_signal_settings *signal, double frequency_hz, double khz)
{
  signal->composite[signal->composite_count++] =
      (struct sc_signal_tone){.frequency_hz = frequency_hz, .amplitude = khz};
}

static void check_width(struct sc_occupancy occupancy, double expected)
{
  ck_assert_ptr_null(occupancy.obw99_hz.why);
  ck_assert_msg(fabs(occupancy.obw99_hz.value - expected) <= occupancy.rbw_hz.value,
                "%.0f Hz, expected %.0f", occupancy.obw99_hz.value, expected);
  ck_assert_double_eq_tol(occupancy.upper_hz.value, expected / 2, occupancy.rbw_hz.value);
  ck_assert_double_eq_tol(occupancy.lower_hz.value, -expected / 2, occupancy.rbw_hz.value);
}

/* The lines of one tone are n f apart, with powers Jn(beta)^2. */
static double single_tone_width(double frequency_hz, double khz)
{
  double beta = khz * 1e3 / frequency_hz, outside = 0.5;
  int n = 0;
  outside -= pow(j0(beta), 2) / 2;
  while (outside > 0.005)
    outside -= pow(jn(++n, beta), 2);
  return 2 * n * frequency_hz;
}

START_TEST(one_tone_is_as_wide_as_its_bessel_lines)
{
  static const struct {
    double frequency_hz, khz;
  } cases[] = {{15e3, 75}, {1e3, 75}, {1e3, 22.5}, {19e3, 6.75}, {53e3, 75}};
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct sc_signal_settings signal = carrier(480e3);
    add_tone(&signal, cases[i].frequency_hz, cases[i].khz);
    check_width(measure(&signal, (double)NAN),
                single_tone_width(cases[i].frequency_hz, cases[i].khz));
  }
}
END_TEST

struct line {
  double offset_hz, power;
};

static int by_offset(const void *a, const void *b)
{
  double x = ((const struct line *)a)->offset_hz, y = ((const struct line *)b)->offset_hz;
  return (x > y) - (x < y);
}

/* Two tones make lines at m f + n g with amplitudes Jm Jn. */
START_TEST(two_tones_are_as_wide_as_the_product_of_their_lines)
{
  enum { ORDERS = 10 };
  const double f = 9000, g = 13700, f_khz = 30, g_khz = 25;
  struct sc_signal_settings signal = carrier(480e3);
  add_tone(&signal, f, f_khz);
  add_tone(&signal, g, g_khz);
  static struct line lines[(2 * ORDERS + 1) * (2 * ORDERS + 1)];
  size_t count = 0;
  for (int m = -ORDERS; m <= ORDERS; m++)
    for (int n = -ORDERS; n <= ORDERS; n++)
      lines[count++] =
          (struct line){m * f + n * g, pow(jn(m, f_khz * 1e3 / f) * jn(n, g_khz * 1e3 / g), 2)};
  qsort(lines, count, sizeof lines[0], by_offset);
  double sum = 0;
  size_t i = 0;
  while (sum + lines[i].power < 0.005)
    sum += lines[i++].power;
  check_width(measure(&signal, (double)NAN), -2 * lines[i].offset_hz);
}
END_TEST

/* White noise that fills a band: 99 % of the band. */
START_TEST(a_band_of_noise_is_99_percent_of_itself)
{
  static float power[FLAT_POINTS];
  uint64_t seed = support_seed("a_band_of_noise", 7);
  const double looks = 400;
  for (size_t i = 0; i < FLAT_POINTS; i++) {
    double inside = i >= 1000 && i < 3000 ? 1 : 0;
    power[i] = (float)((inside + 1e-3) * (1 + support_normal(&seed) / sqrt(looks)));
  }
  struct sc_trace trace = {.start_hz = -200e3,
                           .step_hz = 100,
                           .points = FLAT_POINTS,
                           .mean = power,
                           .max_hold = power,
                           .rbw_hz = 200,
                           .independent_records = looks};
  struct sc_occupancy_settings settings = {0, 1e-3 / 200, 0.01, 30, 53e3};
  struct sc_occupancy occupancy = sc_occupancy_measure(&trace, &settings);
  ck_assert_double_eq_tol(occupancy.obw99_hz.value, 0.99 * 200e3, 200);
  ck_assert_double_eq_tol(occupancy.minus26db_hz.value, 200e3, 200);
  ck_assert_double_eq(occupancy.carson_hz.value, 2 * (30e3 + 53e3));
  ck_assert_double_eq_tol(occupancy.span_hz.value, 350e3, 150);
}
END_TEST

/* Many tones at once stand for programme. */
static struct sc_signal_settings programme(double rate_hz)
{
  struct sc_signal_settings signal = carrier(rate_hz);
  signal.pilot_khz = 6.75;
  uint64_t seed = support_seed("programme", 1234);
  for (size_t i = 0; i < 24; i++) {
    double frequency = 60 * pow(14000.0 / 60, (double)i / 23);
    double khz = 14 / (1 + frequency / 2000);
    signal.left[signal.left_count++] =
        (struct sc_signal_tone){frequency, khz, 3 * support_uniform(&seed)};
    signal.right[signal.right_count++] =
        (struct sc_signal_tone){frequency * 1.03, khz * 0.7, 3 * support_uniform(&seed)};
  }
  return signal;
}

/* One transform of a whole second without any window, summed from either end. */
static double plain_width(const struct sc_signal_settings *signal)
{
  size_t n = (size_t)signal->rate_hz;
  fftw_complex *x = fftw_alloc_complex(n);
  fftw_plan plan = fftw_plan_dft_1d((int)n, x, x, FFTW_FORWARD, FFTW_ESTIMATE);
  struct sc_signal *source;
  ck_assert_int_eq(sc_signal_create(signal, &source), SC_OK);
  sc_signal_iq(source, (double *)x, n);
  sc_signal_destroy(source);
  fftw_execute(plan);
  double total = 0, sum = 0;
  size_t lower = 0, upper = 0;
  for (size_t i = 0; i < n; i++)
    total += pow(cabs(x[i]), 2);
  for (size_t i = 0; i < n; i++) {
    sum += pow(cabs(x[(i + n / 2) % n]), 2); /* from the lowest frequency on */
    lower = sum < 0.005 * total ? i : lower;
    upper = sum < 0.995 * total ? i : upper;
  }
  fftw_destroy_plan(plan);
  fftw_free(x);
  return (double)(upper - lower);
}

START_TEST(programme_agrees_with_a_plain_transform)
{
  struct sc_signal_settings signal = programme(480e3);
  double expected = plain_width(&signal);
  ck_assert_double_eq_tol(measure(&signal, (double)NAN).obw99_hz.value, expected, 0.01 * expected);
}
END_TEST

/* 30 dB in 200 kHz; the noise density is known by construction. */
START_TEST(a_wide_capture_reads_as_wide_as_a_narrow_one)
{
  static const double rates[] = {480e3, 2.4e6};
  double width[2];
  for (size_t i = 0; i < 2; i++) {
    struct sc_signal_settings signal = programme(rates[i]);
    signal.cnr_db = 30;
    width[i] = measure(&signal, 1e-3 / 200e3).obw99_hz.value;
  }
  ck_assert_double_eq_tol(width[1], width[0], 0.01 * width[0]);
  struct sc_signal_settings quiet = programme(480e3);
  double truth = plain_width(&quiet);
  ck_assert_double_eq_tol(width[0], truth, 0.01 * truth);
  ck_assert_double_eq_tol(width[1], truth, 0.01 * truth);
}
END_TEST

START_TEST(nothing_is_measured_of_nothing)
{
  struct sc_trace trace = {0};
  struct sc_occupancy_settings settings = {0, (double)NAN, 0, (double)NAN, (double)NAN};
  ck_assert_ptr_nonnull(sc_occupancy_measure(&trace, &settings).obw99_hz.why);
  static float power[FLAT_POINTS];
  trace = (struct sc_trace){.start_hz = -200e3,
                            .step_hz = 100,
                            .points = FLAT_POINTS,
                            .mean = power,
                            .max_hold = power,
                            .rbw_hz = 200};
  ck_assert_ptr_nonnull(sc_occupancy_measure(&trace, &settings).obw99_hz.why);
  settings.carrier_hz = 10e6;
  ck_assert_ptr_nonnull(sc_occupancy_measure(&trace, &settings).span_hz.why);
  for (size_t i = 0; i < FLAT_POINTS; i++)
    power[i] = 1;
  settings.carrier_hz = 0;
  ck_assert_ptr_nonnull(sc_occupancy_measure(&trace, &settings).minus26db_hz.why);
}
END_TEST

Suite *occupancy_suite(void)
{
  Suite *suite = suite_create("occupancy");
  TCase *widths = tcase_create("widths");
  tcase_add_test(widths, one_tone_is_as_wide_as_its_bessel_lines);
  tcase_add_test(widths, two_tones_are_as_wide_as_the_product_of_their_lines);
  tcase_add_test(widths, a_band_of_noise_is_99_percent_of_itself);
  tcase_add_test(widths, programme_agrees_with_a_plain_transform);
  tcase_add_test(widths, a_wide_capture_reads_as_wide_as_a_narrow_one);
  tcase_add_test(widths, nothing_is_measured_of_nothing);
  suite_add_tcase(suite, widths);
  return suite;
}
