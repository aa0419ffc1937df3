/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Levels, frequencies, averages, holds and memory of the averaged spectrum over its full span. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "measure/suites.h"
#include "measure/tones.h"
#include "support/allocation.h"
#include "support/random.h"
#include "support/support.h"

static const double LEVEL_DB = 0.0005; /* single precision, and what a figure is printed to */
static const double RATE_HZ = 192000;

enum { LENGTH = 480 };

static struct sc_spectrum_settings full(bool complex_input, enum sc_window window)
{
  const double beta = 9;
  struct sc_window_figures figures = sc_window_figures(window, beta);
  return (struct sc_spectrum_settings){
      .sample_rate_hz = RATE_HZ,
      .complex_input = complex_input,
      .rbw_hz = figures.noise_bandwidth_bins * RATE_HZ / LENGTH,
      .window = window,
      .window_parameter = beta,
      .overlap = 0.5,
  };
}

static double level_at(const struct sc_spectrum_settings *settings, double frequency_hz)
{
  struct sc_trace trace;
  struct sc_spectrum *spectrum = tones_measure(settings, frequency_hz, 1, 10 * LENGTH, &trace);
  size_t peak = tones_strongest(&trace);
  ck_assert_double_eq_tol(tones_frequency(&trace, peak), frequency_hz, 0.501 * trace.step_hz);
  double level = tones_db((double)trace.mean[peak]);
  sc_spectrum_destroy(spectrum);
  return level;
}

/* _i: window, then the same for real input. */
START_TEST(a_full_scale_tone_reads_zero_db)
{
  struct sc_spectrum_settings settings =
      full(_i < SC_WINDOW_COUNT, (enum sc_window)(_i % SC_WINDOW_COUNT));
  ck_assert_double_eq_tol(level_at(&settings, RATE_HZ / LENGTH * 50), 0, LEVEL_DB);
  ck_assert_double_eq_tol(level_at(&settings, RATE_HZ / LENGTH * 211), 0, LEVEL_DB);
  if (settings.complex_input)
    ck_assert_double_eq_tol(level_at(&settings, RATE_HZ / LENGTH * -97), 0, LEVEL_DB);
}
END_TEST

START_TEST(half_way_between_bins_the_window_s_scalloping_shows)
{
  enum sc_window window = (enum sc_window)_i;
  struct sc_spectrum_settings settings = full(true, window);
  struct sc_window_figures figures = sc_window_figures(window, settings.window_parameter);
  double loss = -level_at(&settings, RATE_HZ / LENGTH * 50.5);
  /* The flat top's largest error is not at the half. */
  double tolerance = window == SC_WINDOW_FLAT_TOP ? figures.scalloping_db : 5 * LEVEL_DB;
  ck_assert_double_eq_tol(loss, figures.scalloping_db, tolerance + LEVEL_DB);
}
END_TEST

/* At 0 Hz a constant of 1 has twice the power of a full-scale sine: 3.01 dB. */
START_TEST(real_input_counts_zero_and_half_the_rate_once)
{
  struct sc_spectrum_settings settings = full(false, SC_WINDOW_HANN);
  for (int alternating = 0; alternating < 2; alternating++) {
    struct sc_spectrum *spectrum = tones_create(&settings);
    float x[4 * LENGTH];
    struct sc_trace trace;
    for (size_t n = 0; n < 4 * LENGTH; n++)
      x[n] = alternating && n % 2 ? -1 : 1;
    sc_spectrum_feed(spectrum, x, 4 * LENGTH, false);
    sc_spectrum_result(spectrum, &trace);
    size_t at = alternating ? trace.points - 1 : 0;
    ck_assert_uint_eq(trace.points, LENGTH / 2 + 1);
    ck_assert_double_eq_tol(tones_frequency(&trace, at), alternating ? RATE_HZ / 2 : 0, 1e-9);
    ck_assert_double_eq_tol(tones_db((double)trace.mean[at]), 10 * log10(2), LEVEL_DB);
    sc_spectrum_destroy(spectrum);
  }
}
END_TEST

START_TEST(points_lie_where_they_say)
{
  struct sc_trace trace;
  struct sc_spectrum_settings settings = full(true, SC_WINDOW_HANN);
  sc_spectrum_destroy(tones_measure(&settings, 0, 1, LENGTH, &trace));
  ck_assert_uint_eq(trace.points, LENGTH);
  ck_assert_double_eq(trace.start_hz, -RATE_HZ / 2);
  ck_assert_double_eq(trace.step_hz, RATE_HZ / LENGTH);
  ck_assert_double_eq_tol(trace.rbw_hz, 1.5 * RATE_HZ / LENGTH, 1e-6);
  ck_assert_double_eq(trace.record_s, LENGTH / RATE_HZ);
  ck_assert(!trace.rbw_limited);
}
END_TEST

static void fill_noise(uint64_t *state, float *x, size_t count)
{
  for (size_t i = 0; i < count; i++)
    x[i] = (float)(0.1 * support_normal(state));
}

/* The sum of all points over the window's noise bandwidth is the power of the samples. */
START_TEST(noise_power_is_the_integral_of_the_density)
{
  enum { FRAMES = 200 * LENGTH };
  uint64_t state = support_seed("noise_power_is_the_integral_of_the_density", 71);
  struct sc_spectrum_settings settings = full(true, (enum sc_window)_i);
  struct sc_spectrum *spectrum = tones_create(&settings);
  float *x = malloc(2 * FRAMES * sizeof *x);
  struct sc_trace trace;
  double power = 0, sum = 0;
  fill_noise(&state, x, 2 * FRAMES);
  for (size_t i = 0; i < 2 * FRAMES; i++)
    power += (double)x[i] * (double)x[i] / FRAMES;
  sc_spectrum_feed(spectrum, x, FRAMES, false);
  sc_spectrum_result(spectrum, &trace);
  for (size_t i = 0; i < trace.points; i++)
    sum += (double)trace.mean[i] / trace.rbw_hz * trace.step_hz;
  ck_assert_double_eq_tol(sum / power, 1, 0.01);
  sc_spectrum_destroy(spectrum);
  free(x);
}
END_TEST

/* Each record again by itself, and their mean, largest and smallest. */
START_TEST(holds_are_the_extremes_of_single_records)
{
  enum { RECORDS = 9, FRAMES = LENGTH + (RECORDS - 1) * LENGTH / 2 };
  uint64_t state = support_seed("holds_are_the_extremes_of_single_records", 72);
  struct sc_spectrum_settings settings = full(_i, SC_WINDOW_BLACKMAN_HARRIS);
  size_t parts = _i ? 2 : 1;
  float x[2 * FRAMES], max[LENGTH], min[LENGTH];
  double mean[LENGTH] = {0};
  struct sc_spectrum *spectrum = tones_create(&settings);
  struct sc_trace trace;
  fill_noise(&state, x, FRAMES * parts);
  for (size_t r = 0; r < RECORDS; r++) {
    sc_spectrum_reset(spectrum);
    sc_spectrum_feed(spectrum, x + r * LENGTH / 2 * parts, LENGTH, false);
    sc_spectrum_result(spectrum, &trace);
    ck_assert_uint_eq(trace.records, 1);
    for (size_t i = 0; i < trace.points; i++) {
      max[i] = r ? fmaxf(max[i], trace.mean[i]) : trace.mean[i];
      min[i] = r ? fminf(min[i], trace.mean[i]) : trace.mean[i];
      mean[i] += (double)trace.mean[i] / RECORDS;
    }
  }
  sc_spectrum_reset(spectrum);
  sc_spectrum_feed(spectrum, x, FRAMES, false);
  sc_spectrum_result(spectrum, &trace);
  ck_assert_uint_eq(trace.records, RECORDS);
  for (size_t i = 0; i < trace.points; i++) {
    ck_assert_float_eq_tol(trace.max_hold[i] / max[i], 1, 1e-6F);
    ck_assert_float_eq_tol(trace.min_hold[i] / min[i], 1, 1e-6F);
    ck_assert_double_eq_tol((double)trace.mean[i] / mean[i], 1, 1e-6);
  }
  sc_spectrum_destroy(spectrum);
}
END_TEST

START_TEST(the_blocks_make_no_difference)
{
  enum { FRAMES = 20 * LENGTH + 77 };
  uint64_t state = support_seed("the_blocks_make_no_difference", 73);
  struct sc_spectrum_settings settings = full(_i % 2, SC_WINDOW_FLAT_TOP);
  settings.overlap = _i / 2 ? 0.8 : 0;
  settings.expected_frames = FRAMES;
  settings.records_enough = _i / 2 == 2 ? 9 : 0;
  size_t parts = settings.complex_input ? 2 : 1;
  float *x = malloc(FRAMES * parts * sizeof *x);
  struct sc_spectrum *whole = tones_create(&settings), *parted = tones_create(&settings);
  struct sc_trace of_whole, of_parted;
  fill_noise(&state, x, FRAMES * parts);
  sc_spectrum_feed(whole, x, FRAMES, false);
  for (size_t done = 0, n; done < FRAMES; done += n) {
    n = support_random(&state) % (support_random(&state) % 4 ? 100 : 1500);
    n = n < FRAMES - done ? n : FRAMES - done;
    sc_spectrum_feed(parted, x + done * parts, n, false);
  }
  sc_spectrum_result(whole, &of_whole);
  sc_spectrum_result(parted, &of_parted);
  ck_assert_uint_eq(of_whole.records, of_parted.records);
  size_t bytes = of_whole.points * sizeof(float);
  ck_assert_mem_eq(of_whole.mean, of_parted.mean, bytes);
  ck_assert_mem_eq(of_whole.max_hold, of_parted.max_hold, bytes);
  ck_assert_mem_eq(of_whole.min_hold, of_parted.min_hold, bytes);
  sc_spectrum_destroy(whole);
  sc_spectrum_destroy(parted);
  free(x);
}
END_TEST

/* Noise wherever records are to be, none between them. */
static const struct {
  size_t lengths, enough, records;
  double coverage;
  size_t every; /* of the lengths, one is in a record */
} spreads[] = {
    {8, 10, 15, 1, 1},                                 /* too few: they overlap by half */
    {15, 10, 15, 1, 1},                                /* enough without overlap */
    {20, 10, 10, 0.5, 2},                              /* one of two */
    {39, 10, 13, 1 / 3.0, 3}, {1600, 10, 100, 1 / 16.0, 16}, /* never fewer than one of 16 */
};

START_TEST(of_a_long_capture_records_are_spread_evenly)
{
  uint64_t state = support_seed("of_a_long_capture_records_are_spread_evenly", 74);
  struct sc_spectrum_settings settings = full(true, SC_WINDOW_HANN);
  const size_t every = spreads[_i].every, frames = spreads[_i].lengths * LENGTH;
  settings.expected_frames = frames;
  settings.records_enough = spreads[_i].enough;
  float *x = calloc(2 * frames, sizeof *x);
  for (size_t l = 0; l < spreads[_i].lengths; l += every)
    fill_noise(&state, x + 2 * l * LENGTH, 2 * (size_t)LENGTH);
  struct sc_spectrum *spectrum = tones_create(&settings);
  struct sc_trace trace;
  sc_spectrum_feed(spectrum, x, frames, false);
  sc_spectrum_result(spectrum, &trace);
  double least = INFINITY;
  for (size_t i = 0; i < trace.points; i++)
    least = fmin(least, (double)trace.max_hold[i]);
  ck_assert_uint_eq(trace.records, spreads[_i].records);
  ck_assert_double_eq_tol(trace.coverage, spreads[_i].coverage, 1e-12);
  ck_assert_double_gt(least, 0);
  double power = 0;
  for (size_t i = 0; i < trace.points; i++)
    power += (double)trace.mean[i] * trace.step_hz / trace.rbw_hz;
  printf("%zu lengths: power %.3f\n", spreads[_i].lengths, power);
  ck_assert_double_eq_tol(power, 0.02, 0.0015); /* that of fill_noise, nothing of the silence */
  sc_spectrum_destroy(spectrum);
  free(x);
}
END_TEST

/* Power 1, then 1/4: the average follows 1 - exp(-t / memory). */
START_TEST(memory_fades_with_its_time_constant)
{
  struct sc_spectrum_settings settings = full(true, SC_WINDOW_HANN);
  settings.memory_s = 20 * LENGTH / RATE_HZ;
  double frequency = 20 * RATE_HZ / LENGTH;
  size_t before = 1000 * LENGTH, after = 10 * LENGTH;
  float *loud = tones_make(&settings, frequency, 1, 0, before);
  float *soft = tones_make(&settings, frequency, 0.5, 0, after);
  struct sc_spectrum *spectrum = tones_create(&settings);
  struct sc_trace trace;
  sc_spectrum_feed(spectrum, loud, before, false);
  sc_spectrum_feed(spectrum, soft, after, true);
  sc_spectrum_result(spectrum, &trace);
  double records = 19; /* of half a length each */
  double left = exp(-records * LENGTH / 2 / RATE_HZ / settings.memory_s);
  ck_assert_double_eq_tol((double)trace.mean[tones_strongest(&trace)], left + (1 - left) / 4, 1e-5);
  ck_assert_float_eq_tol(trace.max_hold[tones_strongest(&trace)], 1, 1e-5F);
  ck_assert_float_eq_tol(trace.min_hold[tones_strongest(&trace)], 0.25F, 1e-5F);
  free(loud);
  free(soft);
  sc_spectrum_destroy(spectrum);
}
END_TEST

START_TEST(memory_starts_as_a_plain_average)
{
  struct sc_spectrum_settings settings = full(true, SC_WINDOW_HANN);
  struct sc_trace trace;
  settings.memory_s = 1000;
  sc_spectrum_destroy(tones_measure(&settings, 20 * RATE_HZ / LENGTH, 1, 3 * LENGTH, &trace));
  struct sc_spectrum *spectrum =
      tones_measure(&settings, 20 * RATE_HZ / LENGTH, 1, 3 * LENGTH, &trace);
  ck_assert_double_eq_tol((double)trace.mean[tones_strongest(&trace)], 1, 1e-5);
  sc_spectrum_destroy(spectrum);
}
END_TEST

/* A gap with a jump of phase: no record straddles it, so the tone stays a clean line; fed as
 * if there were none, it splatters. */
START_TEST(no_record_straddles_a_discontinuity)
{
  struct sc_spectrum_settings settings = full(true, SC_WINDOW_BLACKMAN_HARRIS);
  size_t part = 5 * LENGTH + LENGTH / 3;
  double frequency = 100 * RATE_HZ / LENGTH;
  float *first = tones_make(&settings, frequency, 1, 0, part);
  float *second = tones_make(&settings, frequency, 1, 2 * part + LENGTH / 5, part);
  for (int marked = 0; marked < 2; marked++) {
    struct sc_spectrum *spectrum = tones_create(&settings);
    struct sc_trace trace;
    sc_spectrum_feed(spectrum, first, part, false);
    sc_spectrum_feed(spectrum, second, part, marked);
    sc_spectrum_result(spectrum, &trace);
    double far = tones_db((double)trace.max_hold[tones_strongest(&trace) + 100]);
    printf("gap %s: 100 bins away %.1f dB\n", marked ? "marked" : "not marked", far);
    ck_assert_uint_eq(trace.records, marked ? 18 : 20);
    if (marked)
      ck_assert_double_lt(far, -90);
    else
      ck_assert_double_gt(far, -70);
    sc_spectrum_destroy(spectrum);
  }
  free(first);
  free(second);
}
END_TEST

START_TEST(an_empty_feed_may_bring_a_discontinuity)
{
  struct sc_spectrum_settings settings = full(true, SC_WINDOW_HANN);
  struct sc_spectrum *spectrum = tones_create(&settings);
  struct sc_trace trace;
  float x[2 * LENGTH] = {0};
  sc_spectrum_feed(spectrum, x, LENGTH - 1, false);
  sc_spectrum_feed(spectrum, NULL, 0, true);
  sc_spectrum_feed(spectrum, x, LENGTH - 1, false);
  sc_spectrum_result(spectrum, &trace);
  ck_assert_uint_eq(trace.points, 0);
  ck_assert_uint_eq(trace.records, 0);
  ck_assert_double_eq(trace.independent_records, 0);
  sc_spectrum_destroy(spectrum);
}
END_TEST

/* Relative variance of an averaged density in units of segment over record length, a long record
 * (Welch 1967; computed apart from this code): window, overlap, variance. */
static const struct {
  enum sc_window window;
  double overlap, variance;
} worths[] = {
    {SC_WINDOW_RECTANGULAR, 0, 1.000},       {SC_WINDOW_RECTANGULAR, 0.5, 0.750},
    {SC_WINDOW_RECTANGULAR, 0.75, 0.688},    {SC_WINDOW_HANN, 0.5, 0.528},
    {SC_WINDOW_HANN, 0.75, 0.481},           {SC_WINDOW_HANN, 0.875, 0.481},
    {SC_WINDOW_BLACKMAN_HARRIS, 0.5, 0.501}, {SC_WINDOW_BLACKMAN_HARRIS, 0.75, 0.357},
};

START_TEST(independent_records_agree_with_welch_s_variance)
{
  enum { LENGTHS = 4000 };
  struct sc_spectrum_settings settings = full(false, worths[_i].window);
  struct sc_spectrum *spectrum;
  struct sc_trace trace;
  settings.overlap = worths[_i].overlap;
  spectrum = tones_measure(&settings, 1000, 1, LENGTHS * LENGTH, &trace);
  ck_assert_double_eq_tol(LENGTHS / trace.independent_records, worths[_i].variance, 0.0016);
  sc_spectrum_destroy(spectrum);
}
END_TEST

/* The spread of many noise bins over many trials, with and without memory, and with gaps. */
START_TEST(independent_records_predict_the_spread_of_noise)
{
  enum { FRAMES = 12 * LENGTH, MIDDLE = LENGTH - 40 };
  uint64_t state = support_seed("independent_records_predict_the_spread_of_noise", 74);
  struct sc_spectrum_settings settings = full(true, SC_WINDOW_BLACKMAN_HARRIS);
  settings.overlap = 0.75;
  settings.memory_s = _i == 1 ? 3 * LENGTH / RATE_HZ : 0;
  unsigned trials = support_trials(150);
  float *x = malloc(2 * FRAMES * sizeof *x);
  struct sc_spectrum *spectrum = tones_create(&settings);
  struct sc_trace trace = {0};
  double sum = 0, squares = 0, count = (double)trials * MIDDLE;
  for (unsigned t = 0; t < trials; t++) {
    fill_noise(&state, x, 2 * FRAMES);
    sc_spectrum_reset(spectrum);
    sc_spectrum_feed(spectrum, x, 5 * LENGTH, false);
    sc_spectrum_feed(spectrum, x + 10 * LENGTH, 7 * LENGTH, _i == 2);
    sc_spectrum_result(spectrum, &trace);
    for (size_t i = 20; i < 20 + MIDDLE; i++) {
      sum += (double)trace.mean[i];
      squares += (double)trace.mean[i] * (double)trace.mean[i];
    }
  }
  double mean = sum / count, looks = mean * mean / (squares / count - mean * mean);
  printf("records %llu, worth %.3f, spread says %.3f\n", (unsigned long long)trace.records,
         trace.independent_records, looks);
  /* Neighbouring bins of this window are correlated: worth a third of as many. */
  ck_assert_double_eq_tol(looks / trace.independent_records, 1, 4 * sqrt(2 * 3 / count) + 0.01);
  sc_spectrum_destroy(spectrum);
  free(x);
}
END_TEST

START_TEST(a_short_capture_limits_the_resolution)
{
  struct sc_spectrum_settings settings = full(true, SC_WINDOW_HANN);
  struct sc_trace trace;
  settings.rbw_hz = 0.01;
  settings.expected_frames = 10000;
  struct sc_spectrum *spectrum = tones_measure(&settings, 1000, 1, 10000, &trace);
  ck_assert(trace.rbw_limited);
  ck_assert_uint_ge(trace.records, 1);
  ck_assert_double_eq_tol(trace.rbw_hz, 1.5 * RATE_HZ / 10000, 1e-3);
  sc_spectrum_destroy(spectrum);
}
END_TEST

START_TEST(transforms_stay_bounded)
{
  struct sc_spectrum_settings settings = full(false, SC_WINDOW_HANN);
  struct sc_trace trace;
  settings.rbw_hz = 1e-9;
  struct sc_spectrum *spectrum = tones_create(&settings);
  sc_spectrum_result(spectrum, &trace);
  ck_assert(trace.rbw_limited);
  ck_assert_double_eq(trace.record_s, (1 << 20) / RATE_HZ);
  sc_spectrum_destroy(spectrum);
}
END_TEST

START_TEST(feeding_allocates_nothing)
{
  struct sc_spectrum_settings settings = full(true, SC_WINDOW_HANN);
  size_t asked;
  struct sc_trace trace;
  settings.span_hz = _i ? RATE_HZ / 50 : 0;
  float *x = tones_make(&settings, 1000, 1, 0, 50000);
  struct sc_spectrum *spectrum = tones_create(&settings);
  support_watch_allocations(0);
  for (int i = 0; i < 3; i++) {
    sc_spectrum_feed(spectrum, x, 50000, i == 1);
    sc_spectrum_result(spectrum, &trace);
    sc_spectrum_reset(spectrum);
  }
  support_end_watch(&asked, NULL);
  ck_assert_uint_eq(asked, 0);
  sc_spectrum_destroy(spectrum);
  free(x);
}
END_TEST

/* No assertion here: what Check allocates for one would be counted. */
static bool create_and_destroy(void *context)
{
  struct sc_spectrum *spectrum = context; /* not NULL, so that create has to set it */
  enum sc_error error = sc_spectrum_create(context, &spectrum);
  bool consistent = error == (spectrum ? SC_OK : SC_NO_MEMORY);
  sc_spectrum_destroy(spectrum);
  return error == SC_OK && consistent;
}

START_TEST(create_undoes_itself_when_memory_runs_out)
{
  struct sc_spectrum_settings settings = full(true, SC_WINDOW_HANN);
  settings.span_hz = _i ? RATE_HZ / 50 : 0;
  size_t failures = support_fail_each_allocation(create_and_destroy, &settings);
  printf("%zu allocations failed one by one\n", failures);
  ck_assert_uint_ge(failures, _i ? 16 : 10);
}
END_TEST

START_TEST(unsound_settings_are_refused)
{
  struct sc_spectrum_settings good = full(true, SC_WINDOW_KAISER), bad[12];
  struct sc_spectrum *spectrum = NULL;
  for (size_t i = 0; i < 12; i++)
    bad[i] = good;
  bad[0].sample_rate_hz = 0;
  bad[1].sample_rate_hz = NAN;
  bad[2].centre_hz = RATE_HZ * 0.51;
  bad[3].span_hz = -1;
  bad[4].rbw_hz = INFINITY;
  bad[5].window = SC_WINDOW_COUNT;
  bad[6].window_parameter = -1;
  bad[7].window_parameter = 1e6;
  bad[8].overlap = 0.96;
  bad[9].overlap = NAN;
  bad[10].memory_s = -1;
  bad[11].complex_input = false;
  bad[11].centre_hz = -1000;
  for (size_t i = 0; i < 12; i++)
    ck_assert_int_eq(sc_spectrum_create(&bad[i], &spectrum), SC_BAD_ARGUMENT);
  ck_assert_int_eq(sc_spectrum_create(&good, NULL), SC_BAD_ARGUMENT);
  ck_assert_int_eq(sc_spectrum_create(NULL, &spectrum), SC_BAD_ARGUMENT);
  ck_assert_ptr_null(spectrum);
  sc_spectrum_destroy(NULL);
}
END_TEST

static void add_averages(Suite *suite)
{
  TCase *averages = tcase_create("averages");
  tcase_add_loop_test(averages, noise_power_is_the_integral_of_the_density, 0, SC_WINDOW_COUNT);
  tcase_add_loop_test(averages, holds_are_the_extremes_of_single_records, 0, 2);
  tcase_add_loop_test(averages, the_blocks_make_no_difference, 0, 6);
  tcase_add_loop_test(averages, of_a_long_capture_records_are_spread_evenly, 0,
                      sizeof spreads / sizeof *spreads);
  tcase_add_test(averages, memory_fades_with_its_time_constant);
  tcase_add_test(averages, memory_starts_as_a_plain_average);
  tcase_add_test(averages, no_record_straddles_a_discontinuity);
  tcase_add_test(averages, an_empty_feed_may_bring_a_discontinuity);
  tcase_add_loop_test(averages, independent_records_agree_with_welch_s_variance, 0,
                      sizeof worths / sizeof *worths);
  tcase_add_loop_test(averages, independent_records_predict_the_spread_of_noise, 0, 3);
  suite_add_tcase(suite, averages);
}

Suite *spectrum_suite(void)
{
  Suite *suite = suite_create("spectrum");
  TCase *levels = tcase_create("levels");
  tcase_add_loop_test(levels, a_full_scale_tone_reads_zero_db, 0, 2 * SC_WINDOW_COUNT);
  tcase_add_loop_test(levels, half_way_between_bins_the_window_s_scalloping_shows, 0,
                      SC_WINDOW_COUNT);
  tcase_add_test(levels, real_input_counts_zero_and_half_the_rate_once);
  tcase_add_test(levels, points_lie_where_they_say);
  suite_add_tcase(suite, levels);
  add_averages(suite);
  TCase *handles = tcase_create("handles");
  tcase_add_test(handles, a_short_capture_limits_the_resolution);
  tcase_add_test(handles, transforms_stay_bounded);
  tcase_add_loop_test(handles, feeding_allocates_nothing, 0, 2);
  tcase_add_loop_test(handles, create_undoes_itself_when_memory_runs_out, 0, 2);
  tcase_add_test(handles, unsound_settings_are_refused);
  suite_add_tcase(suite, handles);
  return suite;
}
