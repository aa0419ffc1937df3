/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Weightings against the published tables, filters against the exact responses. */
#include <config.h>

#include <math.h>
#include <stdlib.h>

#include "dsp/quasi_peak.h"
#include "dsp/suites.h"
#include "dsp/weighting.h"

#define PI 3.1415926535897932384626433832795

/* ITU-R BS.468-4, table 1: hertz, dB, tolerance (table and tolerances from memory). */
static const double table_468[][3] = {
    {31.5, -29.9, 2.0}, {63, -23.9, 1.4},   {100, -19.8, 1.0},   {200, -13.8, 0.85},
    {400, -7.8, 0.7},   {800, -1.9, 0.55},  {1000, 0.0, 0.5},    {2000, 5.6, 0.5},
    {3150, 9.0, 0.5},   {4000, 10.5, 0.5},  {5000, 11.7, 0.5},   {6300, 12.2, 0.05},
    {7100, 12.0, 0.2},  {8000, 11.4, 0.4},  {9000, 10.1, 0.6},   {10000, 8.1, 0.8},
    {12500, 0.0, 1.2},  {14000, -5.3, 1.4}, {16000, -11.7, 1.6}, {20000, -22.2, 2.0},
};
/* At 6.3 kHz, the reference of the tolerances, the table allows nothing; half of its last digit
 * stands there. The fit is within 0.1 dB everywhere. */
static const double fit_db = 0.1;

/* IEC 61672-1, table 3, at the exact third octaves 1000 * 10^(k / 10), from 20 Hz to 20 kHz. */
static const double table_a[] = {-50.5, -44.7, -39.4, -34.6, -30.2, -26.2, -22.5, -19.1,
                                 -16.1, -13.4, -10.9, -8.6,  -6.6,  -4.8,  -3.2,  -1.9,
                                 -0.8,  0.0,   0.6,   1.0,   1.2,   1.3,   1.2,   1.0,
                                 0.5,   -0.1,  -1.1,  -2.5,  -4.3,  -6.6,  -9.3};
static const double table_a_digit_db = 0.05;

/* The first-order law, 10 lg (1 + (2 pi f tau)^2), worked by hand: hertz, 50 us, 75 us. */
static const double table_emphasis[][3] = {
    {30, 0.000, 0.001},      {400, 0.068, 0.152},     {1000, 0.409, 0.871},
    {2000, 1.445, 2.761},    {2122.07, 1.597, 3.010}, {3183.1, 3.010, 5.119},
    {5000, 5.400, 8.164},    {8000, 8.643, 11.822},   {10000, 10.362, 13.656},
    {12500, 12.154, 15.526}, {15000, 13.656, 17.073},
};
static const double last_digit_db = 0.0006;
/* What the filter adds: 0.01 dB, and 0.1 degrees. */
static const double filter_db = 0.01, filter_error = 1.2e-3;

static const double rates[] = {32000, 44100, 48000, 96000, 192000};
#ifdef SC_SANITIZED
enum { RATES = 3 }; /* the higher ones take long */
#else
enum { RATES = sizeof rates / sizeof rates[0] };
#endif
#define ROWS(table) (sizeof(table) / sizeof(table)[0])

/* The filter's answer to an impulse on the left; the right stays silent. */
struct answer {
  double *samples;
  size_t frames, delay;
  double rate_hz;
};

static struct answer answer_of(enum dsp_weighting weighting, double rate)
{
  struct dsp_weighter *weighter;
  ck_assert_int_eq(dsp_weighter_create(weighting, rate, &weighter), SC_OK);
  struct answer answer = {.delay = dsp_weighter_delay(weighter), .rate_hz = rate};
  answer.frames = 2 * answer.delay;
  answer.samples = malloc(answer.frames * sizeof *answer.samples);
  for (size_t i = 0; i < answer.frames; i++) {
    double frame[2] = {i == 0, 0};
    dsp_weighter_run(weighter, frame, frame, 1);
    answer.samples[i] = frame[0];
    ck_assert_double_eq_tol(frame[1], 0, 1e-12);
  }
  dsp_weighter_destroy(weighter);
  return answer;
}

/* Its transform, counted from the delay on. */
static double complex transform(const struct answer *answer, double frequency)
{
  double complex sum = 0;
  const double turn = 2 * PI * frequency / answer->rate_hz;
  for (size_t i = 0; i < answer->frames; i++)
    if (fabs(answer->samples[i]) > 1e-12)
      sum += answer->samples[i] * cexp(-I * turn * ((double)i - (double)answer->delay));
  return sum;
}

static void check_filter(enum dsp_weighting weighting, const struct answer *answer,
                         double frequency, double wanted_db, double tolerance_db)
{
  if (frequency > 0.47 * answer->rate_hz)
    return;
  const double complex h = transform(answer, frequency);
  const double complex error = h / dsp_weighting_response(weighting, frequency) - 1;
  ck_assert_double_le(cabs(error), filter_error);
  ck_assert_double_eq_tol(20 * log10(cabs(h)), wanted_db, tolerance_db);
}

START_TEST(laws_follow_the_tables)
{
  for (size_t i = 0; i < ROWS(table_468); i++) {
    const double db = 10 * log10(dsp_weighting_gain(DSP_WEIGHTING_468, table_468[i][0]));
    ck_assert_double_eq_tol(db, table_468[i][1], fmin(fit_db, table_468[i][2]));
  }
  for (size_t i = 0; i < ROWS(table_a); i++) {
    const double frequency = 1000 * pow(10, ((double)i - 17) / 10);
    const double db = 10 * log10(dsp_weighting_gain(DSP_WEIGHTING_A, frequency));
    ck_assert_double_eq_tol(db, table_a[i], table_a_digit_db + 0.001);
  }
  for (size_t i = 0; i < ROWS(table_emphasis); i++)
    for (int k = 0; k < 2; k++) {
      const enum dsp_weighting w = k ? DSP_WEIGHTING_DEEMPHASIS_75 : DSP_WEIGHTING_DEEMPHASIS_50;
      const double db = 10 * log10(dsp_weighting_gain(w, table_emphasis[i][0]));
      ck_assert_double_eq_tol(db, -table_emphasis[i][1 + k], last_digit_db);
    }
}
END_TEST

/* Through the filter, against the tables, at every rate where the frequency fits. */
START_TEST(filters_follow_the_tables)
{
  struct answer answer = answer_of(DSP_WEIGHTING_468, rates[_i]);
  for (size_t i = 0; i < ROWS(table_468); i++)
    check_filter(DSP_WEIGHTING_468, &answer, table_468[i][0], table_468[i][1],
                 fmin(fit_db, table_468[i][2]));
  free(answer.samples);
  answer = answer_of(DSP_WEIGHTING_A, rates[_i]);
  for (size_t i = 0; i < ROWS(table_a); i++)
    check_filter(DSP_WEIGHTING_A, &answer, 1000 * pow(10, ((double)i - 17) / 10), table_a[i],
                 table_a_digit_db + filter_db);
  free(answer.samples);
}
END_TEST

START_TEST(filters_follow_the_first_order_law)
{
  for (int k = 0; k < 2; k++) {
    const enum dsp_weighting w = k ? DSP_WEIGHTING_DEEMPHASIS_75 : DSP_WEIGHTING_DEEMPHASIS_50;
    const struct answer answer = answer_of(w, rates[_i]);
    for (size_t i = 0; i < ROWS(table_emphasis); i++)
      check_filter(w, &answer, table_emphasis[i][0], -table_emphasis[i][1 + k], filter_db);
    free(answer.samples);
  }
}
END_TEST

/* The flat one is a delay; blocks of any size give the same; channels do not mix. */
START_TEST(flat_only_delays)
{
  struct dsp_weighter *weighter;
  ck_assert_int_eq(dsp_weighter_create(DSP_WEIGHTING_FLAT, 32000, &weighter), SC_OK);
  const size_t delay = dsp_weighter_delay(weighter), frames = 2 * delay;
  double *x = calloc(2 * frames, sizeof *x);
  x[2 * 100] = 1;
  x[2 * 333 + 1] = -0.5;
  for (size_t done = 0; done < frames;) {
    const size_t run = frames - done < 777 ? frames - done : 777;
    dsp_weighter_run(weighter, x + 2 * done, x + 2 * done, run);
    done += run;
  }
  for (size_t i = 0; i < frames; i++) {
    ck_assert_double_eq_tol(x[2 * i], i == 100 + delay ? 1 : 0, 1e-9);
    ck_assert_double_eq_tol(x[2 * i + 1], i == 333 + delay ? -0.5 : 0, 1e-9);
  }
  free(x);
  dsp_weighter_destroy(weighter);
}
END_TEST

START_TEST(bad_rates_are_refused)
{
  static const double bad[] = {0, -48000, 31999, 192001, (double)NAN, (double)INFINITY};
  for (size_t i = 0; i < ROWS(bad); i++) {
    struct dsp_weighter *weighter;
    ck_assert_int_eq(dsp_weighter_create(DSP_WEIGHTING_A, bad[i], &weighter), SC_BAD_ARGUMENT);
    ck_assert_ptr_null(weighter);
  }
  dsp_weighter_destroy(NULL);
}
END_TEST

/* ITU-R BS.468-4, tables 2 and 3 (from memory): bursts of 5 kHz, their reading in percent of the
 * steady tone's, and its limits in dB. */
static const double single_bursts[][3] = {
    {1, -17.4, -13.4}, {2, -13.0, -10.0}, {5, -9.3, -6.6},   {10, -7.7, -5.2},
    {20, -7.1, -4.4},  {50, -6.0, -3.3},  {100, -4.7, -2.2}, {200, -3.3, -0.7},
};
static const double repeated_bursts[][3] = {{2, -7.3, -5.5}, {10, -2.9, -1.7}, {100, -0.5, 0}};

static double largest_reading(double rate, double on_s, double period_s, double seconds)
{
  struct dsp_quasi_peak detector;
  dsp_quasi_peak_start(&detector, rate);
  double largest = 0;
  for (size_t i = 0; (double)i < seconds * rate; i++) {
    const double t = (double)i / rate;
    const double x = fmod(t, period_s) < on_s ? sin(2 * PI * 5000 * t) : 0;
    largest = fmax(largest, dsp_quasi_peak_run(&detector, x));
  }
  return largest;
}

START_TEST(bursts_read_within_their_limits)
{
  const double rate = rates[_i];
  const double steady = largest_reading(rate, 10, 20, 2);
  ck_assert_double_eq_tol(20 * log10(steady * sqrt(2)), 0, 0.1);
  for (size_t i = 0; i < ROWS(single_bursts); i++) {
    const double ratio = largest_reading(rate, single_bursts[i][0] * 1e-3, 10, 0.3) / steady;
    ck_assert_double_ge(20 * log10(ratio), single_bursts[i][1]);
    ck_assert_double_le(20 * log10(ratio), single_bursts[i][2]);
  }
  for (size_t i = 0; i < ROWS(repeated_bursts); i++) {
    const double period = 1 / repeated_bursts[i][0];
    const double ratio = largest_reading(rate, 5e-3, period, 2.1) / steady;
    ck_assert_double_ge(20 * log10(ratio), repeated_bursts[i][1]);
    ck_assert_double_le(20 * log10(ratio), repeated_bursts[i][2]);
  }
}
END_TEST

Suite *weighting_suite(void)
{
  Suite *suite = suite_create("dsp/weighting");
  TCase *tests = tcase_create("weighting");
  tcase_add_test(tests, laws_follow_the_tables);
  tcase_add_loop_test(tests, filters_follow_the_tables, 0, RATES);
  tcase_add_loop_test(tests, filters_follow_the_first_order_law, 0, RATES);
  tcase_add_test(tests, flat_only_delays);
  tcase_add_test(tests, bad_rates_are_refused);
  tcase_add_loop_test(tests, bursts_read_within_their_limits, 0, RATES);
  suite_add_tcase(suite, tests);
  return suite;
}
