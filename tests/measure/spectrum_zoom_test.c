/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The zoom: the same tone at the same frequency and level in every span, a flat span, no aliases,
 * and a resolution that falls with the span as far as the capture's length allows. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include <check.h>

#include "measure/spectrum_plan.h"
#include "measure/suites.h"
#include "measure/tones.h"
#include "support/random.h"
#include "support/support.h"

static const double FLAT_DB = 0.001;
static const double ALIAS_DB = -100;
static const double RATE_HZ = 240000;

static struct sc_spectrum_settings zoomed(bool complex_input, double centre_hz, double span_hz)
{
  return (struct sc_spectrum_settings){
      .sample_rate_hz = RATE_HZ,
      .complex_input = complex_input,
      .centre_hz = centre_hz,
      .span_hz = span_hz,
      .rbw_hz = span_hz / 50,
      .window = SC_WINDOW_KAISER,
      .window_parameter =
          16, /* side lobes below -130 dB, so that no leakage is taken for an alias */
      .overlap = 0.5,
  };
}

static size_t frames_for(const struct sc_spectrum_settings *settings)
{
  return (size_t)(12 * settings->sample_rate_hz / settings->rbw_hz);
}

/* Spans whose decimation is 1, 2, 3, ... and products of several primes. */
static const double spans_hz[] = {120000, 90000, 60000, 30000, 10000, 4000, 1371, 500};
enum { SPANS = sizeof spans_hz / sizeof *spans_hz };

START_TEST(the_span_is_flat_and_its_frequencies_exact)
{
  struct sc_spectrum_settings settings = zoomed(_i % 2, 50000, spans_hz[_i / 2]);
  struct sc_trace trace;
  size_t frames = frames_for(&settings);
  sc_spectrum_destroy(tones_measure(&settings, 50000, 1, frames, &trace));
  double worst = 0;
  size_t points = trace.points;
  /* 12 points, first and last among them; real tones near zero meet their own image. */
  for (size_t turn = 0; turn < 12; turn++) {
    size_t i = turn * (points - 1) / 11;
    double frequency = tones_frequency(&trace, i);
    if (!settings.complex_input && frequency < 15 * trace.step_hz)
      continue;
    struct sc_spectrum *spectrum = tones_measure(&settings, frequency, 1, frames, &trace);
    ck_assert_uint_eq(tones_strongest(&trace), i);
    worst = fmax(worst, fabs(tones_db((double)trace.mean[i])));
    sc_spectrum_destroy(spectrum);
  }
  printf("span %.0f Hz, %zu points: worst error %.6f dB\n", settings.span_hz, points, worst);
  ck_assert_double_lt(worst, FLAT_DB);
}
END_TEST

START_TEST(the_span_is_covered)
{
  struct sc_spectrum_settings settings = zoomed(true, -20000, spans_hz[_i]);
  struct sc_trace trace;
  sc_spectrum_destroy(tones_measure(&settings, -20000, 1, frames_for(&settings), &trace));
  double last = tones_frequency(&trace, trace.points - 1);
  ck_assert_double_ge(trace.start_hz, -20000 - settings.span_hz / 2 - 1e-6 * trace.step_hz);
  ck_assert_double_lt(trace.start_hz, -20000 - settings.span_hz / 2 + trace.step_hz);
  ck_assert_double_le(last, -20000 + settings.span_hz / 2 + 1e-6 * trace.step_hz);
  ck_assert_double_gt(last, -20000 + settings.span_hz / 2 - trace.step_hz);
  ck_assert_double_le(trace.rbw_hz, settings.rbw_hz * (1 + 1e-6));
}
END_TEST

/* A frequency of the input that decimation without a filter would fold into the span, or any one
 * where nothing is decimated. */
static double draw_folding(uint64_t *state, const struct sc_spectrum_settings *settings)
{
  struct measure_band band;
  ck_assert_int_eq(measure_plan_band(settings, &band), SC_OK);
  if (band.decimation == 1)
    return RATE_HZ / 2 * support_uniform(state);
  double turns = (double)(1 + support_random(state) % (band.decimation - 1));
  double within = (band.high_hz - band.low_hz) / 2 * support_uniform(state);
  return remainder(band.mix_hz + within + turns * band.rate_hz, RATE_HZ);
}

/* The same beyond the span's edge by the window's main lobe: 6.1 bins, each 0.45 of the rbw. */
static double draw_outside(uint64_t *state, const struct sc_spectrum_settings *settings)
{
  double clear = settings->span_hz / 2 + 4 * settings->rbw_hz;
  for (;;) {
    double frequency = draw_folding(state, settings);
    double seen = settings->complex_input ? frequency : fabs(frequency);
    double apart = fabs(seen - settings->centre_hz);
    if (apart > clear && RATE_HZ - apart > clear)
      return frequency;
  }
}

/* What full-scale tones outside the span leave within it. */
START_TEST(aliases_stay_below_a_hundred_db)
{
  uint64_t state = support_seed("aliases_stay_below_a_hundred_db", 81 + (uint64_t)_i);
  struct sc_spectrum_settings settings = zoomed(_i % 2, 41234, spans_hz[_i / 2]);
  size_t frames = frames_for(&settings);
  unsigned trials = support_trials(20);
  double worst = 0;
  for (unsigned t = 0; t < trials; t++) {
    double frequency = draw_outside(&state, &settings);
    struct sc_trace trace;
    struct sc_spectrum *spectrum = tones_measure(&settings, frequency, 1, frames, &trace);
    worst = fmax(worst, (double)trace.max_hold[tones_strongest(&trace)]);
    sc_spectrum_destroy(spectrum);
  }
  printf("span %.0f Hz: largest alias %.1f dB\n", settings.span_hz, tones_db(worst));
  ck_assert_double_lt(tones_db(worst), ALIAS_DB);
}
END_TEST

/* The flat top reads a tone between points within 0.0021 dB (Heinzel, Ruediger, Schilling 2002),
 * so spans agree within twice that. */
START_TEST(a_tone_reads_the_same_in_every_span)
{
  const double frequency = 33421.7, spread_db = 0.0042;
  for (size_t i = 0; i < SPANS; i++) {
    struct sc_spectrum_settings settings = zoomed(_i, 33333, spans_hz[i]);
    settings.window = SC_WINDOW_FLAT_TOP;
    struct sc_trace trace;
    struct sc_spectrum *spectrum =
        tones_measure(&settings, frequency, 0.1, frames_for(&settings), &trace);
    size_t peak = tones_strongest(&trace);
    ck_assert_double_eq_tol(tones_db((double)trace.mean[peak]), -20, spread_db);
    ck_assert_double_eq_tol(tones_frequency(&trace, peak), frequency, 0.5 * trace.step_hz + 1e-6);
    sc_spectrum_destroy(spectrum);
  }
}
END_TEST

START_TEST(noise_density_is_the_same_in_every_span)
{
  enum { FRAMES = 1200000 };
  uint64_t state = support_seed("noise_density_is_the_same_in_every_span", 82);
  struct sc_spectrum_settings settings = zoomed(_i % 2, 33333, spans_hz[1 + _i / 2]);
  size_t parts = settings.complex_input ? 2 : 1;
  struct sc_spectrum *spectrum = tones_create(&settings);
  float *x = malloc(FRAMES * parts * sizeof *x);
  struct sc_trace trace;
  double density = 0;
  for (size_t n = 0; n < FRAMES * parts; n++)
    x[n] = (float)(0.1 * support_normal(&state));
  sc_spectrum_feed(spectrum, x, FRAMES, false);
  free(x);
  sc_spectrum_result(spectrum, &trace);
  for (size_t i = 0; i < trace.points; i++)
    density += (double)trace.mean[i] / trace.rbw_hz / (double)trace.points;
  sc_spectrum_destroy(spectrum);
  /* Real input: half the band, and against a sine's power of 1/2. */
  double expected = (settings.complex_input ? 2 : 4) * 0.01 / RATE_HZ;
  double sd = 1 / sqrt(FRAMES * settings.span_hz / RATE_HZ);
  printf("span %.0f Hz: density %.4f of the true one\n", settings.span_hz, density / expected);
  ck_assert_double_eq_tol(density / expected, 1, 5 * sd);
}
END_TEST

START_TEST(resolution_falls_with_the_span)
{
  double last = INFINITY;
  for (size_t i = 0; i < SPANS; i++) {
    struct sc_spectrum_settings settings = zoomed(true, 1000, spans_hz[i]);
    settings.rbw_hz = 0; /* the span's 800th part */
    struct sc_spectrum *spectrum = tones_create(&settings);
    struct sc_trace trace;
    sc_spectrum_result(spectrum, &trace);
    ck_assert_double_le(trace.rbw_hz, spans_hz[i] / 800 * (1 + 1e-6));
    ck_assert_double_gt(trace.rbw_hz, spans_hz[i] / 800 * 0.97);
    ck_assert_double_lt(trace.rbw_hz, last);
    ck_assert(!trace.rbw_limited);
    last = trace.rbw_hz;
    sc_spectrum_destroy(spectrum);
  }
}
END_TEST

/* A capture of one second: however small the span, a record is there, and nearly all of the
 * second is in it. */
START_TEST(the_capture_s_length_is_the_limit)
{
  double lowest = sc_window_figures(SC_WINDOW_KAISER, 16).noise_bandwidth_bins; /* in 1 s */
  for (double span_hz = 1000; span_hz > 0.5; span_hz /= 3) {
    struct sc_spectrum_settings settings = zoomed(_i, 33333, span_hz);
    settings.rbw_hz = 0.01;
    settings.expected_frames = (uint64_t)RATE_HZ;
    struct sc_trace trace;
    struct sc_spectrum *spectrum = tones_measure(&settings, 33333, 1, (size_t)RATE_HZ, &trace);
    ck_assert(trace.rbw_limited);
    ck_assert_uint_ge(trace.records, 1);
    ck_assert_double_ge(trace.rbw_hz, lowest);
    ck_assert_double_lt(trace.rbw_hz, 1.15 * lowest);
    ck_assert_double_eq_tol(tones_db((double)trace.mean[tones_strongest(&trace)]), 0, 1.0);
    sc_spectrum_destroy(spectrum);
  }
}
END_TEST

START_TEST(no_zoomed_record_straddles_a_discontinuity)
{
  struct sc_spectrum_settings settings = zoomed(true, 20000, 5000);
  size_t frames = frames_for(&settings) / 2;
  float *first = tones_make(&settings, 20100, 1, 0, frames);
  float *second = tones_make(&settings, 20100, 1, frames + 1234567, frames);
  for (int marked = 0; marked < 2; marked++) {
    struct sc_spectrum *spectrum = tones_create(&settings);
    struct sc_trace trace;
    sc_spectrum_feed(spectrum, first, frames, false);
    sc_spectrum_feed(spectrum, second, frames, marked);
    sc_spectrum_result(spectrum, &trace);
    double far = tones_db((double)trace.max_hold[2]);
    printf("gap %s: at the span's edge %.1f dB\n", marked ? "marked" : "not marked", far);
    if (marked)
      ck_assert_double_lt(far, -110);
    else
      ck_assert_double_gt(far, -80);
    sc_spectrum_destroy(spectrum);
  }
  free(first);
  free(second);
}
END_TEST

START_TEST(the_blocks_make_no_difference_to_a_zoom)
{
  uint64_t state = support_seed("the_blocks_make_no_difference_to_a_zoom", 83);
  struct sc_spectrum_settings settings = zoomed(_i, 20000, 5000);
  size_t frames = frames_for(&settings), parts = _i ? 2 : 1;
  struct sc_trace whole, parted;
  struct sc_spectrum *one = tones_measure(&settings, 20345, 1, frames, &whole);
  struct sc_spectrum *other = tones_create(&settings);
  float *x = tones_make(&settings, 20345, 1, 0, frames);
  for (size_t done = 0, n; done < frames; done += n) {
    n = support_random(&state) % 1000;
    n = n < frames - done ? n : frames - done;
    sc_spectrum_feed(other, x + done * parts, n, false);
  }
  free(x);
  sc_spectrum_result(other, &parted);
  ck_assert_uint_eq(whole.records, parted.records);
  for (size_t i = 0; i < whole.points; i++)
    ck_assert_float_eq_tol(whole.mean[i], parted.mean[i], 1e-6F);
  sc_spectrum_destroy(one);
  sc_spectrum_destroy(other);
}
END_TEST

START_TEST(a_span_is_cut_to_what_the_input_holds)
{
  struct sc_trace trace;
  struct sc_spectrum_settings settings = zoomed(true, RATE_HZ / 2, 2000);
  sc_spectrum_destroy(tones_measure(&settings, RATE_HZ / 2 - 400, 1, 200000, &trace));
  ck_assert_double_ge(trace.start_hz, RATE_HZ / 2 - 1000 - 1e-6);
  ck_assert_double_le(tones_frequency(&trace, trace.points - 1), RATE_HZ / 2 + 1e-6);
  settings = zoomed(false, 100, 2000);
  struct sc_spectrum *spectrum = tones_measure(&settings, 300, 1, 200000, &trace);
  ck_assert_double_ge(trace.start_hz, 0);
  ck_assert_double_le(tones_frequency(&trace, trace.points - 1), 1100 + 1e-6);
  ck_assert_double_eq_tol(tones_frequency(&trace, tones_strongest(&trace)), 300, trace.step_hz);
  sc_spectrum_destroy(spectrum);
}
END_TEST

START_TEST(a_span_between_two_points_shows_one)
{
  struct sc_spectrum_settings settings = zoomed(true, 5000, 0.001);
  struct sc_trace trace;
  settings.rbw_hz = 100;
  settings.expected_frames = 100000;
  struct sc_spectrum *spectrum = tones_measure(&settings, 5000, 1, 100000, &trace);
  ck_assert_uint_eq(trace.points, 1);
  ck_assert_double_eq_tol(trace.start_hz, 5000, trace.step_hz);
  sc_spectrum_destroy(spectrum);
}
END_TEST

Suite *spectrum_zoom_suite(void)
{
  Suite *suite = suite_create("spectrum zoom");
  TCase *levels = tcase_create("levels");
  tcase_add_loop_test(levels, the_span_is_flat_and_its_frequencies_exact, 0, 2 * SPANS);
  tcase_add_loop_test(levels, the_span_is_covered, 0, SPANS);
  tcase_add_loop_test(levels, aliases_stay_below_a_hundred_db, 0, 2 * SPANS);
  tcase_add_loop_test(levels, a_tone_reads_the_same_in_every_span, 0, 2);
  tcase_add_loop_test(levels, noise_density_is_the_same_in_every_span, 0, 2 * (SPANS - 2));
  suite_add_tcase(suite, levels);
  TCase *limits = tcase_create("limits");
  tcase_add_test(limits, resolution_falls_with_the_span);
  tcase_add_loop_test(limits, the_capture_s_length_is_the_limit, 0, 2);
  tcase_add_loop_test(limits, no_zoomed_record_straddles_a_discontinuity, 0, 1);
  tcase_add_loop_test(limits, the_blocks_make_no_difference_to_a_zoom, 0, 2);
  tcase_add_test(limits, a_span_is_cut_to_what_the_input_holds);
  tcase_add_test(limits, a_span_between_two_points_shows_one);
  suite_add_tcase(suite, limits);
  return suite;
}
