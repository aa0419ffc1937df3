/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Predicted lines against tabulated Bessel functions, against the pilot's second order worked
 * out by hand, and against a modulation done by numbers and transformed by FFTW. */
#include <config.h>

#include <complex.h>
#include <math.h>
#include <stdlib.h>

#include <fftw3.h>

#include "account/predict.h"
#include "account/suites.h"

enum { POINTS = 1 << 16 }; /* one hertz each in the numerical modulation */
static const double pi = 3.14159265358979323846;

static double dbc(double complex amplitude)
{
  return 20 * log10(cabs(amplitude));
}

static struct account_component tone(double frequency_hz, double index, double phase_rad)
{
  return (struct account_component){.frequency_hz = frequency_hz,
                                    .deviation_khz = index * frequency_hz / 1e3,
                                    .phase_rad = phase_rad};
}

static double complex spot(const struct account_prediction *prediction, double frequency_hz)
{
  const struct account_spot *found = account_spot_near(prediction, frequency_hz, 0.01);
  ck_assert_msg(found != NULL, "nothing is predicted at %g Hz", frequency_hz);
  return found->amplitude;
}

/* Abramowitz and Stegun, tables 9.1 and 9.2 (J0, J1, J2), 9.2 and 9.4 (J3); from memory. */
START_TEST(one_tone_has_the_tabulated_values)
{
  static const struct {
    double index;
    int order;
    double value;
  } table[] = {{1, 0, 0.7651976866},  {1, 1, 0.4400505857},        {1, 2, 0.1149034849},
               {2, 0, 0.2238907791},  {2, 1, 0.5767248078},        {2, 3, 0.1289432495},
               {5, 0, -0.1775967713}, {2.4048256, 1, 0.5191474973}};
  for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
    struct account_component one = tone(1000, table[i].index, 0);
    struct account_prediction prediction;
    ck_assert_int_eq(account_predict(&one, 1, 1e-7, 0.1, &prediction), SC_OK);
    int n = table[i].order;
    ck_assert_double_eq_tol(creal(spot(&prediction, 1e3 * n)), table[i].value, 1e-8);
    double mirrored = n % 2 == 0 ? table[i].value : -table[i].value;
    ck_assert_double_eq_tol(creal(spot(&prediction, -1e3 * n)), mirrored, 1e-8);
    account_prediction_destroy(&prediction);
  }
}
END_TEST

/* Zeros of J0 (Abramowitz and Stegun table 9.5, from memory): no carrier is left, and the spot is
 * kept by the index's uncertainty with |J1| times it. */
START_TEST(a_null_keeps_its_uncertainty)
{
  struct account_component one = tone(1000, 2.404825558, 0);
  one.deviation_uncertainty_khz = 1e-3;
  struct account_prediction prediction;
  ck_assert_int_eq(account_predict(&one, 1, 1e-5, 0.1, &prediction), SC_OK);
  const struct account_spot *carrier = account_spot_near(&prediction, 0, 0.01);
  ck_assert_ptr_nonnull(carrier);
  ck_assert_double_lt(cabs(carrier->amplitude), 1e-8);
  ck_assert_double_eq_tol(account_spot_uncertainty(&prediction, carrier), 1e-3 * 0.5191474973,
                          1e-8);
  account_prediction_destroy(&prediction);
}
END_TEST

/* A pilot of 6.75 kHz with a 38 kHz residual of 0.1, 0.5 and 1 % of 75 kHz, at four phases:
 * J2(0.35526) = -36.13 dBc; -J2 -+ j J0 b/2 e^(+-jt) by hand to the first order of the residual. */
START_TEST(a_residual_adds_to_the_pilots_second_order)
{
  static const struct {
    double percent, degrees, upper_dbc, lower_dbc;
  } table[] = {{0.1, 0, -36.12, -36.12},  {0.1, 30, -36.39, -35.86}, {0.1, 60, -36.60, -35.68},
               {0.1, 90, -36.68, -35.62}, {0.5, 0, -35.74, -35.74},  {0.5, 30, -37.17, -34.67},
               {0.5, 60, -38.62, -34.03}, {0.5, 90, -39.31, -33.81}, {1.0, 0, -34.75, -34.75},
               {1.0, 30, -37.31, -33.15}, {1.0, 60, -41.16, -32.27}, {1.0, 90, -44.36, -31.98}};
  for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
    double sine = -pi / 2; /* the phases above are those of sines */
    struct account_component both[] = {
        tone(19e3, 6.75 / 19, sine),
        tone(38e3, 0.75 * table[i].percent / 38, sine + table[i].degrees * pi / 180)};
    struct account_prediction prediction;
    ck_assert_int_eq(account_predict(both, 2, 1e-6, 0.1, &prediction), SC_OK);
    ck_assert_double_eq_tol(dbc(spot(&prediction, 38e3)), table[i].upper_dbc, 0.02);
    ck_assert_double_eq_tol(dbc(spot(&prediction, -38e3)), table[i].lower_dbc, 0.02);
    account_prediction_destroy(&prediction);
  }
}
END_TEST

START_TEST(the_pilot_alone)
{
  struct account_component pilot = tone(19e3, 6.75 / 19, 0);
  struct account_prediction prediction;
  ck_assert_int_eq(account_predict(&pilot, 1, 1e-6, 0.1, &prediction), SC_OK);
  ck_assert_double_eq_tol(dbc(spot(&prediction, 0)), -0.28, 0.006);
  ck_assert_double_eq_tol(dbc(spot(&prediction, 19e3)), -15.15, 0.006);
  ck_assert_double_eq_tol(dbc(spot(&prediction, 38e3)), -36.13, 0.006);
  ck_assert_double_eq_tol(dbc(spot(&prediction, -57e3)), -60.7, 0.06);
  account_prediction_destroy(&prediction);
}
END_TEST

/* exp(j sum b sin(w t + p)) by numbers; frequencies are whole hertz. */
static double complex *modulate(const struct account_component *components, size_t count)
{
  fftw_complex *signal = fftw_malloc(POINTS * sizeof *signal);
  ck_assert_ptr_nonnull(signal);
  fftw_plan plan = fftw_plan_dft_1d(POINTS, signal, signal, FFTW_FORWARD, FFTW_ESTIMATE);
  for (size_t t = 0; t < POINTS; t++) {
    double phase = 0;
    for (size_t i = 0; i < count; i++) {
      const struct account_component *c = &components[i];
      double turn = fmod(c->frequency_hz * (double)t, POINTS) / POINTS;
      phase += 1e3 * c->deviation_khz / c->frequency_hz * sin(2 * pi * turn + c->phase_rad);
    }
    signal[t] = cexp(I * phase) / POINTS;
  }
  fftw_execute(plan);
  fftw_destroy_plan(plan);
  return signal;
}

static double complex at(const double complex *spectrum, double frequency_hz)
{
  long bin = lround(frequency_hz);
  return spectrum[bin < 0 ? bin + POINTS : bin];
}

/* Every line of the transform is predicted, and nothing that is predicted is missing there. */
static void compare(const struct account_component *components, size_t count)
{
  double complex *spectrum = modulate(components, count);
  struct account_prediction prediction;
  ck_assert_int_eq(account_predict(components, count, 1e-7, 0.1, &prediction), SC_OK);
  ck_assert_double_eq_tol(10 * log10(prediction.power), 0, 0.01); /* Parseval */
  ck_assert_double_lt(prediction.missing, 1e-5);
  size_t compared = 0;
  for (long bin = -POINTS / 2; bin < POINTS / 2; bin++) {
    if (cabs(at(spectrum, (double)bin)) < 1e-5)
      continue;
    double complex difference = spot(&prediction, (double)bin) - at(spectrum, (double)bin);
    ck_assert_msg(cabs(difference) < 3e-6, "%ld Hz: %g off", bin, cabs(difference));
    compared++;
  }
  ck_assert_uint_gt(compared, 20);
  for (size_t i = 0; i < prediction.spot_count; i++) {
    const struct account_spot *s = &prediction.spots[i];
    if (fabs(s->frequency_hz) < POINTS / 2)
      ck_assert_double_lt(cabs(s->amplitude - at(spectrum, s->frequency_hz)), 3e-6);
  }
  account_prediction_destroy(&prediction);
  fftw_free(spectrum);
}

START_TEST(two_tones_as_modulated_by_numbers)
{
  struct account_component two[] = {tone(997, 3, 0.4), tone(1603, 2.2, -1.9)};
  compare(two, 2);
}
END_TEST

START_TEST(three_tones_as_modulated_by_numbers)
{
  struct account_component three[] = {tone(331, 1.3, 2.5), tone(1009, 3, 0.7), tone(1901, 0.2, -3)};
  compare(three, 3);
}
END_TEST

/* 19, 38 and 57 kHz scaled down to fit: many ways lead to each line. */
START_TEST(locked_tones_add_with_their_phases)
{
  struct account_component three[] = {tone(1900, 1.4, 0.3), tone(3800, 0.9, 1.1),
                                      tone(5700, 0.5, -2.2)};
  compare(three, 3);
}
END_TEST

/* 1 kHz left with 20 and 2 kHz right with 15 kHz beside a pilot, all frequencies by a hundredth to
 * fit: 280000 products of 1e-7 and more on some hundred frequencies. */
START_TEST(strong_stereo_tones_as_modulated_by_numbers)
{
  struct account_component seven[] = {
      tone(10, 10, 0.3),      tone(20, 3.75, 1.1),   tone(190, 0.355, -2.2), tone(370, 0.135, 0.9),
      tone(390, 0.128, -1.4), tone(360, 0.104, 2.6), tone(400, 0.094, 3.0)};
  compare(seven, 7);
}
END_TEST

/* 30 Hz of 75 kHz beside a pilot, all frequencies by three to fit. */
START_TEST(a_low_note_as_modulated_by_numbers)
{
  struct account_component two[] = {tone(10, 2500, 0.4), tone(1900, 0.355, -2.2)};
  compare(two, 2);
}
END_TEST

/* Three strong tones without a common measure: what the prediction had no room for is what it says,
 * within a factor of two. */
START_TEST(what_is_missing_is_stated)
{
  struct account_component four[] = {tone(397, 12, 0.3), tone(613, 9, 1.1), tone(1021, 6, -2.2),
                                     tone(4787, 0.4, 0.9)};
  double complex *spectrum = modulate(four, 4);
  struct account_prediction prediction;
  ck_assert_int_eq(account_predict(four, 4, 1e-9, 0.1, &prediction), SC_OK);
  ck_assert_double_gt(prediction.floor, 1e-9);
  double squares = 0;
  size_t count = 0;
  for (size_t i = 0; i < prediction.spot_count; i++) {
    const struct account_spot *s = &prediction.spots[i];
    if (fabs(s->frequency_hz) >= POINTS / 2)
      continue;
    double off = cabs(s->amplitude - at(spectrum, s->frequency_hz));
    squares += off * off;
    count++;
  }
  double rms = sqrt(squares / (double)count);
  ck_assert_msg(rms < 2 * prediction.missing, "%g off, stated %g", rms, prediction.missing);
  ck_assert_double_lt(prediction.missing, 0.01);
  account_prediction_destroy(&prediction);
  fftw_free(spectrum);
}
END_TEST

/* By a small change of each deviation in turn, the differences added in squares. */
START_TEST(uncertainty_is_what_small_changes_make)
{
  struct account_component tones[] = {tone(19e3, 0.36, 0.5), tone(38e3, 0.02, 1.0),
                                      tone(1e3, 1.2, -0.3)};
  double sum = 0, step = 1e-3;
  struct account_prediction base, moved;
  for (size_t i = 0; i < 3; i++)
    tones[i].deviation_uncertainty_khz = step * tones[i].deviation_khz;
  ck_assert_int_eq(account_predict(tones, 3, 1e-7, 0.1, &base), SC_OK);
  for (size_t i = 0; i < 3; i++) {
    double deviation = tones[i].deviation_khz;
    tones[i].deviation_khz *= 1 + step;
    ck_assert_int_eq(account_predict(tones, 3, 1e-7, 0.1, &moved), SC_OK);
    double change = cabs(spot(&moved, 38e3)) - cabs(spot(&base, 38e3));
    sum += change * change;
    account_prediction_destroy(&moved);
    tones[i].deviation_khz = deviation;
  }
  double stated = account_spot_uncertainty(&base, account_spot_near(&base, 38e3, 0.01));
  ck_assert_double_eq_tol(stated / sqrt(sum), 1, 0.01);
  account_prediction_destroy(&base);
}
END_TEST

/* A hundred weak tones beside strong ones, as lines of data that repeat are: of the first order
 * alone, what is off is what the prediction says. At a place that is asked for it is the same. */
START_TEST(weak_tones_as_modulated_by_numbers)
{
  enum { STRONG = 2, WEAK = 100 };
  struct account_component tones[STRONG + WEAK] = {tone(100, 12, 0.3), tone(1900, 0.355, -2.2)};
  for (size_t i = 0; i < WEAK; i++)
    tones[STRONG + i] = tone(5460 + 7 * (double)i, 5e-4, (double)(i * i));
  double complex *spectrum = modulate(tones, STRONG + WEAK);
  struct account_prediction all, some;
  const double place_hz = 5460 + 7 * 42 + 1900;
  const struct account_places places = {&place_hz, 1, 5};
  const struct account_weak weak = {tones + STRONG, WEAK, NULL};
  const struct account_weak wanted = {tones + STRONG, WEAK, &places};
  ck_assert_int_eq(account_predict_beside(tones, STRONG, &weak, 1e-7, 0.1, &all), SC_OK);
  ck_assert_int_eq(account_predict_beside(tones, STRONG, &wanted, 1e-7, 0.1, &some), SC_OK);
  ck_assert_double_lt(all.missing, 2e-6);
  size_t seen = 0;
  double squares = 0;
  for (long bin = -POINTS / 2; bin < POINTS / 2; bin++) {
    const double complex made = at(spectrum, (double)bin);
    if (cabs(made) < 2e-5)
      continue;
    seen++;
    const double off = cabs(spot(&all, (double)bin) - made);
    squares += off * off;
    ck_assert_double_lt(off, 4 * all.missing);
    if (labs(bin) < 2000 || fabs((double)bin - place_hz) < 1)
      ck_assert_double_lt(cabs(spot(&some, (double)bin) - made), 4 * all.missing);
  }
  ck_assert_uint_gt(seen, 500);
  ck_assert_double_lt(sqrt(squares / (double)seen), all.missing);
  ck_assert_uint_lt(some.spot_count, all.spot_count / 2);
  const struct account_way way =
      account_spot_way(&some, account_spot_near(&some, place_hz, 0.1), 0);
  ck_assert_int_eq(way.weak_order, 1);
  ck_assert_uint_eq(way.weak, 42);
  account_prediction_destroy(&all);
  account_prediction_destroy(&some);
  fftw_free(spectrum);
}
END_TEST

/* By a small change of a weak tone's deviation. */
START_TEST(uncertainty_knows_the_weak_tones)
{
  struct account_component strong = tone(1e3, 1.2, -0.3), one = tone(57e3, 0.01, 0.7);
  const struct account_weak weak = {&one, 1, NULL};
  struct account_prediction base, moved;
  one.deviation_uncertainty_khz = 0.1 * one.deviation_khz;
  ck_assert_int_eq(account_predict_beside(&strong, 1, &weak, 1e-7, 0.1, &base), SC_OK);
  one.deviation_khz *= 1.1;
  ck_assert_int_eq(account_predict_beside(&strong, 1, &weak, 1e-7, 0.1, &moved), SC_OK);
  const double change = cabs(spot(&moved, 58e3) - spot(&base, 58e3));
  const double stated = account_spot_uncertainty(&base, account_spot_near(&base, 58e3, 0.01));
  ck_assert_double_eq_tol(stated / change, 1, 0.02);
  account_prediction_destroy(&base);
  account_prediction_destroy(&moved);
}
END_TEST

/* More products than are kept: the floor rises, and the strongest ones remain. */
START_TEST(many_tones_raise_the_floor)
{
  struct account_component tones[ACCOUNT_COMPONENTS_MAX];
  double carrier = 1;
  for (size_t i = 0; i < ACCOUNT_COMPONENTS_MAX; i++) {
    tones[i] = tone(1e3 + 97.3 * (double)(i * i), 0.2, (double)i);
    carrier *= j0(0.2);
  }
  struct account_prediction prediction;
  ck_assert_int_eq(account_predict(tones, ACCOUNT_COMPONENTS_MAX, 3e-5, 0.1, &prediction), SC_OK);
  ck_assert_double_gt(prediction.floor, 3e-5);
  ck_assert_double_eq_tol(cabs(spot(&prediction, 0)), carrier, 0.02);
  account_prediction_destroy(&prediction);
}
END_TEST

START_TEST(what_cannot_be_predicted_is_refused)
{
  struct account_component bad = tone(1000, ACCOUNT_ORDER_MAX - 10, 0);
  struct account_prediction prediction;
  ck_assert_int_eq(account_predict(&bad, 1, 1e-4, 0.1, &prediction), SC_UNSUPPORTED);
  account_prediction_destroy(&prediction);
  bad.frequency_hz = 0;
  ck_assert_int_eq(account_predict(&bad, 1, 1e-4, 0.1, &prediction), SC_BAD_ARGUMENT);
  account_prediction_destroy(&prediction);
}
END_TEST

Suite *predict_suite(void)
{
  Suite *suite = suite_create("predict");
  TCase *lines = tcase_create("lines");
  tcase_add_test(lines, one_tone_has_the_tabulated_values);
  tcase_add_test(lines, a_null_keeps_its_uncertainty);
  tcase_add_test(lines, a_residual_adds_to_the_pilots_second_order);
  tcase_add_test(lines, the_pilot_alone);
  tcase_add_test(lines, two_tones_as_modulated_by_numbers);
  tcase_add_test(lines, three_tones_as_modulated_by_numbers);
  tcase_add_test(lines, locked_tones_add_with_their_phases);
  tcase_add_test(lines, strong_stereo_tones_as_modulated_by_numbers);
  tcase_add_test(lines, a_low_note_as_modulated_by_numbers);
  tcase_add_test(lines, what_is_missing_is_stated);
  tcase_add_test(lines, uncertainty_is_what_small_changes_make);
  tcase_add_test(lines, weak_tones_as_modulated_by_numbers);
  tcase_add_test(lines, uncertainty_knows_the_weak_tones);
  tcase_add_test(lines, many_tones_raise_the_floor);
  tcase_add_test(lines, what_cannot_be_predicted_is_refused);
  suite_add_tcase(suite, lines);
  return suite;
}
