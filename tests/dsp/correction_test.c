/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The correction of a response against networks whose response is known exactly. */
#include <config.h>

#include <complex.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include <check.h>

#include "dsp/correction.h"
#include "dsp/suites.h"
#include "support/random.h"
#include "support/support.h"

/* A coupling capacitor (3 Hz) and a rolled-off input (60 kHz): first-order networks, with a
 * gain of 1.2. */
static double complex network(double hz)
{
  double complex s = I * hz;
  return 1.2 * (s / 3) / (1 + s / 3) / (1 + s / 60e3);
}

/* Points as a person would measure them: 24 an octave from 1 Hz on. */
static size_t measure(struct dsp_response_point *points, size_t most, double end_hz)
{
  size_t count = 0;
  for (double hz = 1; count < most && hz < end_hz; hz *= pow(2, 1 / 24.0)) {
    double complex h = network(hz);
    points[count++] = (struct dsp_response_point){hz, 20 * log10(cabs(h)), carg(h) * 180 / M_PI};
  }
  return count;
}

struct hop {
  struct dsp_correction *correction;
  size_t hop, delay, frames;
  float *in, *out;
};

static struct hop create(const struct dsp_response_point *points, size_t count, double rate_hz,
                         unsigned channels)
{
  struct hop hop;
  ck_assert_int_eq(dsp_correction_create(points, count, rate_hz, channels, &hop.correction), SC_OK);
  hop.hop = dsp_correction_hop(hop.correction);
  hop.delay = dsp_correction_delay(hop.correction);
  hop.frames = hop.hop + 2 * hop.delay;
  hop.in = calloc(hop.frames * channels, sizeof *hop.in);
  hop.out = calloc(hop.hop * channels, sizeof *hop.out);
  return hop;
}

static void destroy(struct hop *hop)
{
  dsp_correction_destroy(hop->correction);
  free(hop->in);
  free(hop->out);
}

/* A tone of 0.5 that went through the network must come out as it was. Accuracy is that of
 * straight lines between 24 points an octave, and of single precision. */
START_TEST(a_network_is_undone)
{
  static const double rates_hz[] = {44100, 96000, 192000, 384000};
  static const double tones_hz[] = {50, 997, 3150, 15000, 19000};
  static struct dsp_response_point points[1000];
  double rate_hz = rates_hz[_i];
  size_t count = measure(points, 1000, rate_hz / 2 + 2000);
  struct hop hop = create(points, count, rate_hz, 1);
  for (size_t tone = 0; tone < 5; tone++) {
    double step = 2 * M_PI * tones_hz[tone] / rate_hz, worst = 0;
    double complex h = network(tones_hz[tone]);
    for (size_t i = 0; i < hop.frames; i++)
      hop.in[i] = (float)(0.5 * cabs(h) * cos(step * (double)i + carg(h)));
    dsp_correction_run(hop.correction, hop.in, hop.out);
    for (size_t i = 0; i < hop.hop; i++)
      worst = fmax(worst, fabs((double)hop.out[i] - 0.5 * cos(step * (double)(i + hop.delay))));
    printf("%g S/s, %g Hz: error %.1f dB\n", rate_hz, tones_hz[tone], 20 * log10(worst / 0.5));
    /* 0.05 % and 0.03 degrees; at 50 Hz the smoothing over 20 Hz shows */
    ck_assert_msg(worst < 0.5 * (tones_hz[tone] < 100 ? 5e-3 : 5e-4), "%g", worst);
  }
  destroy(&hop);
}
END_TEST

START_TEST(nothing_to_correct_changes_nothing)
{
  static const struct dsp_response_point flat[] = {{0, 0, 0}, {200e3, 0, 360}, {300e3, 0, -720}};
  uint64_t state = support_seed("nothing_to_correct_changes_nothing", 12);
  struct hop hop = create(flat, 1, 192000, 2);
  for (size_t i = 0; i < 2 * hop.frames; i++)
    hop.in[i] = (float)support_uniform(&state);
  dsp_correction_run(hop.correction, hop.in, hop.out);
  for (size_t i = 0; i < 2 * hop.hop; i++)
    ck_assert(fabs((double)hop.out[i] - (double)hop.in[i + 2 * hop.delay]) < 2e-6);
  destroy(&hop);
}
END_TEST

/* One channel must not leak into the other. */
START_TEST(channels_stay_apart)
{
  static const struct dsp_response_point points[] = {{0, -6, 0}, {20e3, -3, 40}, {48e3, 2, 80}};
  uint64_t state = support_seed("channels_stay_apart", 13);
  struct hop hop = create(points, 3, 96000, 2);
  for (size_t i = 0; i < hop.frames; i++)
    hop.in[2 * i] = (float)support_uniform(&state);
  dsp_correction_run(hop.correction, hop.in, hop.out);
  for (size_t i = 0; i < hop.hop; i++)
    ck_assert(fabs((double)hop.out[2 * i + 1]) < 2e-6);
  destroy(&hop);
}
END_TEST

/* Outside the points nothing changes: 2 kHz is far from the band of 5 to 10 kHz. */
START_TEST(outside_the_points_nothing_changes)
{
  static const struct dsp_response_point points[] = {{5000, 6, 30}, {10000, 6, 30}};
  struct hop hop = create(points, 2, 96000, 1);
  double step = 2 * M_PI * 2000 / 96000;
  for (size_t i = 0; i < hop.frames; i++)
    hop.in[i] = (float)cos(step * (double)i);
  dsp_correction_run(hop.correction, hop.in, hop.out);
  for (size_t i = 0; i < hop.hop; i++)
    ck_assert(fabs((double)hop.out[i] - cos(step * (double)(i + hop.delay))) < 1e-4);
  destroy(&hop);
}
END_TEST

START_TEST(bad_arguments_are_refused)
{
  static const struct dsp_response_point point = {0, 0, 0};
  struct dsp_correction *correction;
  ck_assert_int_eq(dsp_correction_create(&point, 0, 48000, 1, &correction), SC_BAD_ARGUMENT);
  ck_assert_int_eq(dsp_correction_create(&point, 1, 0, 1, &correction), SC_BAD_ARGUMENT);
  ck_assert_int_eq(dsp_correction_create(&point, 1, 48000, 3, &correction), SC_BAD_ARGUMENT);
  ck_assert_ptr_null(correction);
  dsp_correction_destroy(NULL);
}
END_TEST

Suite *correction_suite(void)
{
  Suite *suite = suite_create("correction");
  TCase *tests = tcase_create("correction");
  tcase_add_loop_test(tests, a_network_is_undone, 0, 4);
  tcase_add_test(tests, nothing_to_correct_changes_nothing);
  tcase_add_test(tests, channels_stay_apart);
  tcase_add_test(tests, outside_the_points_nothing_changes);
  tcase_add_test(tests, bad_arguments_are_refused);
  suite_add_tcase(suite, tests);
  return suite;
}
