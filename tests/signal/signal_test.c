/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The generator against theory: Bessel lines, the composite recovered by another way, noise. */
#include <complex.h>
#include <math.h>
#include <stdlib.h>

#include <check.h>
#include <fftw3.h>

#include <sidecomb/signal.h>

#include "signal/suites.h"
#include "signal/tools.h"

/* The spectrum of a record that holds a whole number of cycles of every part: no window is
 * needed, each line stands in one bin, and every other bin is a spur. */
enum { RATE = 2400000, RECORD = 24000, BIN_HZ = RATE / RECORD };

static void start_from(struct sc_signal_settings *settings)
{
  sc_signal_settings_init(settings);
  settings->rate_hz = RATE;
  settings->level = 1;
}

static double complex *spectrum(const struct sc_signal_settings *settings)
{
  struct sc_signal *signal;
  ck_assert_int_eq(sc_signal_create(settings, &signal), SC_OK);
  double complex *x = fftw_malloc(RECORD * sizeof *x);
  fftw_plan plan = fftw_plan_dft_1d(RECORD, x, x, FFTW_FORWARD, FFTW_ESTIMATE);
  sc_signal_iq(signal, (double *)x, RECORD);
  fftw_execute(plan);
  for (size_t i = 0; i < RECORD; i++)
    x[i] /= RECORD;
  fftw_destroy_plan(plan);
  sc_signal_destroy(signal);
  return x;
}

static double complex line(const double complex *spectrum, int64_t hz)
{
  return spectrum[(hz / BIN_HZ + RECORD) % RECORD];
}

/* sin phase 0 means the phase -(b) cos(wt): lines J_n(b) (-j)^n. */
static double complex theory_line(int n, double index)
{
  static const double complex turns[4] = {1, -I, -1, I};
  return jn(n, index) * turns[(n % 4 + 4) % 4];
}

/* Bar of the issue: 0.005 dB; what double precision gives is far less. */
static const double line_tolerance_db = 1e-9;
static const double spur_limit_dbc = -250;

static void check_single_tone(double index, double tone_hz)
{
  struct sc_signal_settings settings;
  start_from(&settings);
  settings.composite_count = 1;
  settings.composite[0] = (struct sc_signal_tone){tone_hz, index * tone_hz / 1000, 0};
  double complex *x = spectrum(&settings);
  for (int i = 0; i < RECORD; i++) {
    const int hz = (i < RECORD / 2 ? i : i - RECORD) * BIN_HZ;
    const int n = hz / (int)tone_hz;
    const double complex expected = n * (int)tone_hz == hz ? theory_line(n, index) : 0;
    CHECK_BELOW(db(cabs(x[i] - expected) + 1e-30), spur_limit_dbc);
    if (cabs(expected) > 1e-6)
      CHECK_CLOSE(db(cabs(x[i])), db(cabs(expected)), line_tolerance_db);
  }
  fftw_free(x);
}

START_TEST(single_tone_lines_are_bessel_functions_of_libm)
{
  static const double indices[] = {0.1, 0.3553, 0.5, 1, 2.404825557695773, 5, 5.5200781102863115};
  for (size_t i = 0; i < sizeof indices / sizeof indices[0]; i++)
    check_single_tone(indices[i], 15000);
  check_single_tone(75, 1000);
}
END_TEST

/* Abramowitz and Stegun, Handbook of Mathematical Functions, tables 9.1 and 9.2 (values from
 * memory, they agree with the C library to every digit given). */
static const struct {
  double index;
  int order;
  double value;
} tabulated[] = {{1, 0, 0.7651976866},  {1, 1, 0.4400505857},           {1, 2, 0.1149034849},
                 {2, 0, 0.2238907791},  {2, 1, 0.5767248078},           {2, 3, 0.1289432495},
                 {5, 0, -0.1775967713}, {2.4048255577, 1, 0.5191474973}};

START_TEST(single_tone_lines_are_the_tabulated_values)
{
  for (size_t i = 0; i < sizeof tabulated / sizeof tabulated[0]; i++) {
    struct sc_signal_settings settings;
    start_from(&settings);
    settings.composite_count = 1;
    settings.composite[0] = (struct sc_signal_tone){10000, 10 * tabulated[i].index, 0};
    double complex *x = spectrum(&settings);
    const int n = tabulated[i].order;
    const double complex turned = line(x, n * 10000) * cpow(I, n);
    CHECK_CLOSE(creal(turned), tabulated[i].value, 1e-10);
    fftw_free(x);
  }
}
END_TEST

/* exp(j sum) has lines at every sum of orders with the product of the Bessel functions. */
START_TEST(two_tones_make_product_lines)
{
  struct sc_signal_settings settings;
  start_from(&settings);
  settings.composite_count = 2;
  settings.composite[0] = (struct sc_signal_tone){19000, 6.75, 0};
  settings.composite[1] = (struct sc_signal_tone){1300, 13, 0.7};
  settings.carrier_offset_hz = -5000;
  double complex *x = spectrum(&settings);
  for (int n = -3; n <= 3; n++)
    for (int m = -6; m <= 6; m++) {
      const double complex expected =
          theory_line(n, 6.75 / 19) * theory_line(m, 10) * cexp(I * 0.7 * m);
      CHECK_BELOW(db(cabs(line(x, -5000 + 19000 * n + 1300 * m) - expected)), -240);
    }
  fftw_free(x);
}
END_TEST

/* The composite written down as the standard gives it, and its phase by Simpson's rule on a
 * grid sixteen times finer: shares nothing with the generator. */
struct station {
  double left_khz, left_hz, right_khz, right_hz, pilot_khz, pilot_hz, pilot_rad, residual_khz,
      residual_rad;
};

static double standard_composite(const struct station *s, double t)
{
  const double w = TWO_PI * s->pilot_hz * t + s->pilot_rad;
  const double left = s->left_khz * sin(TWO_PI * s->left_hz * t + 0.3);
  const double right = s->right_khz * sin(TWO_PI * s->right_hz * t - 1.1);
  return (left + right) / 2 + (left - right) / 2 * sin(2 * w) + s->pilot_khz * sin(w) +
         s->residual_khz * sin(2 * w + s->residual_rad) + 2.5 * cos(TWO_PI * 67000 * t);
}

static void station_settings(const struct station *s, struct sc_signal_settings *settings)
{
  start_from(settings);
  settings->left_count = settings->right_count = settings->composite_count = 1;
  settings->left[0] = (struct sc_signal_tone){s->left_hz, s->left_khz, 0.3};
  settings->right[0] = (struct sc_signal_tone){s->right_hz, s->right_khz, -1.1};
  settings->composite[0] = (struct sc_signal_tone){67000, 2.5, TWO_PI / 4};
  settings->pilot_khz = s->pilot_khz;
  settings->pilot_hz = s->pilot_hz;
  settings->pilot_phase_rad = s->pilot_rad;
  settings->residual_khz = s->residual_khz;
  settings->residual_phase_rad = s->residual_rad;
}

static const struct station stations[] = {
    {45, 1000, 45, 14999.5, 6.75, 19000.4, 0.4, 0.3, 1.2},
    {67.5, 400, 0, 1000, 7.5, 18998, -2, 0, 0},
    {0, 50, 20, 38000, 0, 19000, 0, 1, 0},
};

static void check_composite(const struct station *station)
{
  enum { FRAMES = 5000 };
  static double khz[FRAMES];
  struct sc_signal_settings settings;
  struct sc_signal *signal;
  station_settings(station, &settings);
  ck_assert_int_eq(sc_signal_create(&settings, &signal), SC_OK);
  sc_signal_composite(signal, khz, FRAMES);
  for (size_t i = 0; i < FRAMES; i++)
    CHECK_CLOSE(khz[i], standard_composite(station, (double)i / RATE), 1e-9);
  sc_signal_destroy(signal);
}

static double simpson_radians(const struct station *station, double t, double step)
{
  enum { PARTS = 16 };
  double sum = 0;
  for (int i = 0; i < PARTS; i++) {
    const double a = t + step * i / PARTS, h = step / PARTS;
    sum += h / 6 *
           (standard_composite(station, a) + 4 * standard_composite(station, a + h / 2) +
            standard_composite(station, a + h));
  }
  return TWO_PI * 1000 * sum;
}

static void check_phase(const struct station *station)
{
  enum { FRAMES = 2000 };
  static double complex iq[FRAMES];
  struct sc_signal_settings settings;
  struct sc_signal *signal;
  station_settings(station, &settings);
  settings.carrier_offset_hz = 1234.5;
  ck_assert_int_eq(sc_signal_create(&settings, &signal), SC_OK);
  sc_signal_iq(signal, (double *)iq, FRAMES);
  for (size_t i = 0; i + 1 < FRAMES; i++) {
    const double expected =
        simpson_radians(station, (double)i / RATE, 1.0 / RATE) + TWO_PI * 1234.5 / RATE;
    CHECK_CLOSE(carg(iq[i + 1] * conj(iq[i])), expected, 1e-12);
    CHECK_CLOSE(cabs(iq[i]), 1, 1e-14);
  }
  sc_signal_destroy(signal);
}

START_TEST(composite_is_the_standards)
{
  for (size_t i = 0; i < sizeof stations / sizeof stations[0]; i++)
    check_composite(&stations[i]);
}
END_TEST

START_TEST(phase_is_the_integral_of_the_composite)
{
  for (size_t i = 0; i < sizeof stations / sizeof stations[0]; i++)
    check_phase(&stations[i]);
}
END_TEST

START_TEST(mono_sends_no_difference)
{
  struct sc_signal_settings settings;
  struct sc_signal *signal;
  double khz[500];
  start_from(&settings);
  settings.mono = true;
  settings.left_count = 1;
  settings.left[0] = (struct sc_signal_tone){1000, 30, 0};
  ck_assert_int_eq(sc_signal_create(&settings, &signal), SC_OK);
  sc_signal_composite(signal, khz, 500);
  for (int i = 0; i < 500; i++)
    CHECK_CLOSE(khz[i], 15 * sin(TWO_PI * 1000 * i / RATE), 1e-12);
  sc_signal_destroy(signal);
}
END_TEST

START_TEST(a_tone_at_zero_frequency_shifts_the_carrier)
{
  struct sc_signal_settings settings;
  start_from(&settings);
  settings.composite_count = 1;
  settings.composite[0] = (struct sc_signal_tone){0, 0.5, TWO_PI / 4};
  double complex *x = spectrum(&settings);
  CHECK_CLOSE(cabs(line(x, 500)), 1, 1e-12);
  fftw_free(x);
}
END_TEST

START_TEST(one_sided_carriers_stand_alone)
{
  struct sc_signal_settings settings;
  start_from(&settings);
  settings.level = 0.25;
  settings.carrier_count = 2;
  settings.carriers[0] = (struct sc_signal_tone){131400, 0.002, 0.5};
  settings.carriers[1] = (struct sc_signal_tone){-90100, 0.01, 0};
  double complex *x = spectrum(&settings);
  CHECK_BELOW(cabs(line(x, 0) - 0.25), 1e-14);
  CHECK_BELOW(cabs(line(x, 131400) - 0.0005 * cexp(I * 0.5)), 1e-14);
  CHECK_BELOW(cabs(line(x, -90100) - 0.0025), 1e-14);
  CHECK_BELOW(cabs(line(x, -131400)), 1e-14);
  settings.no_carrier = true;
  fftw_free(x);
  x = spectrum(&settings);
  CHECK_BELOW(cabs(line(x, 0)), 1e-14);
  CHECK_BELOW(cabs(line(x, 131400) - 0.0005 * cexp(I * 0.5)), 1e-14);
  fftw_free(x);
}
END_TEST

static const uint64_t noise_seed = 41;

START_TEST(noise_has_the_stated_power)
{
  enum { FRAMES = 400000 };
  struct sc_signal_settings settings;
  struct sc_signal *signal;
  sc_signal_settings_init(&settings);
  settings.cnr_db = 30;
  settings.no_carrier = true;
  settings.seed = noise_seed;
  double *iq = malloc(2 * FRAMES * sizeof *iq);
  ck_assert_int_eq(sc_signal_create(&settings, &signal), SC_OK);
  sc_signal_iq(signal, iq, FRAMES);
  double power = 0, cross = 0;
  for (size_t i = 0; i < FRAMES; i++) {
    power += iq[2 * i] * iq[2 * i] + iq[2 * i + 1] * iq[2 * i + 1];
    cross += iq[2 * i] * iq[2 * i + 1];
  }
  /* carrier of 0.5: power 0.25; 30 dB below in 200 kHz of 384 kHz; five standard deviations */
  const double expected = 0.25e-3 * 384 / 200;
  CHECK_CLOSE(power / FRAMES, expected, 5 * expected / sqrt(FRAMES));
  CHECK_CLOSE(cross / FRAMES, 0, 5 * expected / 2 / sqrt(FRAMES));
  sc_signal_destroy(signal);
  free(iq);
}
END_TEST

START_TEST(frames_do_not_depend_on_the_calls)
{
  enum { FRAMES = 3000 };
  static double whole[2 * FRAMES], parts[2 * FRAMES];
  struct sc_signal_settings settings;
  struct sc_signal *a, *b;
  station_settings(&stations[0], &settings);
  settings.cnr_db = 20;
  settings.seed = noise_seed;
  ck_assert_int_eq(sc_signal_create(&settings, &a), SC_OK);
  ck_assert_int_eq(sc_signal_create(&settings, &b), SC_OK);
  sc_signal_iq(a, whole, FRAMES);
  for (size_t done = 0, n = 1; done < FRAMES; done += n, n = n * 2 + 1) {
    n = n < FRAMES - done ? n : FRAMES - done;
    sc_signal_iq(b, parts + 2 * done, n);
  }
  for (size_t i = 0; i < 2 * FRAMES; i++)
    CHECK_CLOSE(whole[i], parts[i], 0);
  sc_signal_destroy(a);
  sc_signal_destroy(b);
}
END_TEST

static void check_refused(const struct sc_signal_settings *settings)
{
  struct sc_signal *signal;
  ck_assert_int_eq(sc_signal_create(settings, &signal), SC_BAD_ARGUMENT);
  ck_assert_ptr_null(signal);
}

START_TEST(senseless_settings_are_refused)
{
  struct sc_signal_settings good, bad;
  struct sc_signal *signal;
  sc_signal_settings_init(&good);
  check_refused(NULL);
#define REFUSED(field, value)                                                                      \
  bad = good;                                                                                      \
  bad.field = value;                                                                               \
  check_refused(&bad)
  REFUSED(rate_hz, 0);
  REFUSED(rate_hz, -1);
  REFUSED(rate_hz, NAN);
  REFUSED(pilot_khz, INFINITY);
  REFUSED(cnr_db, INFINITY);
  REFUSED(level, -1);
  REFUSED(left_count, SC_SIGNAL_TONES_MAX + 1);
  bad = good;
  bad.carrier_count = 1;
  bad.carriers[0].frequency_hz = NAN;
  check_refused(&bad);
#undef REFUSED
  ck_assert_int_eq(sc_signal_create(&good, &signal), SC_OK);
  sc_signal_destroy(signal);
  sc_signal_destroy(NULL);
}
END_TEST

Suite *signal_suite(void)
{
  Suite *suite = suite_create("signal");
  TCase *lines = tcase_create("lines");
  tcase_add_test(lines, single_tone_lines_are_bessel_functions_of_libm);
  tcase_add_test(lines, single_tone_lines_are_the_tabulated_values);
  tcase_add_test(lines, two_tones_make_product_lines);
  tcase_add_test(lines, a_tone_at_zero_frequency_shifts_the_carrier);
  tcase_add_test(lines, one_sided_carriers_stand_alone);
  suite_add_tcase(suite, lines);
  TCase *composite = tcase_create("composite");
  tcase_add_test(composite, composite_is_the_standards);
  tcase_add_test(composite, phase_is_the_integral_of_the_composite);
  tcase_add_test(composite, mono_sends_no_difference);
  suite_add_tcase(suite, composite);
  TCase *rest = tcase_create("noise and calls");
  tcase_add_test(rest, noise_has_the_stated_power);
  tcase_add_test(rest, frames_do_not_depend_on_the_calls);
  tcase_add_test(rest, senseless_settings_are_refused);
  suite_add_tcase(suite, rest);
  return suite;
}
