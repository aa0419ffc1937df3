/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Masks: the shipped one against the published numbers, lines that just pass and just fail, and
 * the one line for each mistake in a mask's text. */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

#include <check.h>

#include <sidecomb/mask.h>
#include <sidecomb/signal.h>

#include "measure/suites.h"
#include "support/support.h"

enum { BLOCK = 1 << 14 };

static const double margin_tolerance_db = 0.1; /* what the margin of a line is good for */
static struct sc_message message;

static struct sc_mask shipped(double power_w)
{
  static char text[4096];
  FILE *file = fopen(support_source_path("samples/47cfr73.317.mask"), "r");
  ck_assert_ptr_nonnull(file);
  text[fread(text, 1, sizeof text - 1, file)] = '\0';
  fclose(file);
  struct sc_mask mask;
  enum sc_error error = sc_mask_parse(text, "47cfr73.317.mask", power_w, &mask, &message);
  ck_assert_msg(error == SC_OK, "%s", message.text);
  return mask;
}

/* 47 CFR 73.317: (b) 120 to 240 kHz at least 25 dB, (c) beyond 240 to 600 kHz 35 dB, (d) beyond
 * 600 kHz 43 + 10 log10(power in watt) dB or 80 dB, whichever is less. */
START_TEST(the_shipped_mask_has_the_published_numbers)
{
  struct sc_mask one = shipped(1), strong = shipped(1000), huge = shipped(10e3);
  static const struct {
    double offset_hz, db;
  } cases[] = {{120e3, 25}, {-180e3, 25}, {239e3, 25}, {241e3, 35}, {-599e3, 35}};
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
    ck_assert_double_eq(sc_mask_limit_db(&one, cases[i].offset_hz), cases[i].db);
  ck_assert(isnan(sc_mask_limit_db(&one, 119e3)));
  ck_assert_double_eq_tol(sc_mask_limit_db(&one, 601e3), 43, 1e-12);
  ck_assert_double_eq_tol(sc_mask_limit_db(&strong, 2e6), 73, 1e-12);
  ck_assert_double_eq_tol(sc_mask_limit_db(&huge, 1e9), 80, 1e-12);
  ck_assert(one.resolution_unstated);
  ck_assert_double_eq(one.resolution_hz, 1000);
  ck_assert(!one.max_hold);
}
END_TEST

/* A carrier with one more beside it, `dbc` below, at a place that no bin has. */
static struct sc_mask_result judge(const struct sc_mask *mask, double offset_hz, double dbc,
                                   double noise_density)
{
  struct sc_signal_settings signal;
  sc_signal_settings_init(&signal);
  signal.rate_hz = 2e6;
  signal.level = 0.5;
  signal.carrier_offset_hz = -100e3;
  signal.carriers[signal.carrier_count++] =
      (struct sc_signal_tone){-100e3 + offset_hz, pow(10, dbc / 20), 0};
  if (noise_density > 0) { /* relative to the carrier, per hertz */
    signal.cnr_db = -10 * log10(noise_density * 200e3);
    signal.seed = 5;
  }
  struct sc_spectrum_settings settings = {.sample_rate_hz = signal.rate_hz,
                                          .complex_input = true,
                                          .rbw_hz = mask->resolution_hz,
                                          .window = SC_WINDOW_FLAT_TOP,
                                          .overlap = 0.5};
  struct sc_spectrum *spectrum;
  struct sc_signal *source;
  ck_assert_int_eq(sc_spectrum_create(&settings, &spectrum), SC_OK);
  ck_assert_int_eq(sc_signal_create(&signal, &source), SC_OK);
  static double made[2 * BLOCK];
  static float samples[2 * BLOCK];
  for (size_t block = 0; block < 40; block++) {
    sc_signal_iq(source, made, BLOCK);
    for (size_t i = 0; i < 2 * BLOCK; i++)
      samples[i] = (float)made[i];
    sc_spectrum_feed(spectrum, samples, BLOCK, false);
  }
  struct sc_trace trace;
  sc_spectrum_result(spectrum, &trace);
  struct sc_mask_settings how = {signal.carrier_offset_hz,
                                 sc_measured(20 * log10(signal.level), 0.01),
                                 noise_density > 0 ? noise_density * 0.25 : (double)NAN};
  struct sc_mask_result result;
  sc_mask_judge(mask, &trace, &how, &result);
  sc_spectrum_destroy(spectrum);
  sc_signal_destroy(source);
  return result;
}

START_TEST(lines_just_pass_and_just_fail)
{
  struct sc_mask mask = shipped(1);
  static const struct {
    double offset_hz, limit_db;
  } cases[] = {{150.3e3, 25}, {-222.7e3, 25}, {301.1e3, 35}, {-588.9e3, 35}, {777.7e3, 43}};
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
    for (double margin = -0.2; margin < 0.3; margin += 0.4) {
      struct sc_mask_result result =
          judge(&mask, cases[i].offset_hz, -cases[i].limit_db - margin, 0);
      ck_assert_int_eq(result.pass, margin > 0 ? SC_YES : SC_NO);
      ck_assert_double_eq_tol(result.worst_margin_db.value, margin, margin_tolerance_db);
      ck_assert_double_eq_tol(result.worst_offset_hz.value, cases[i].offset_hz, mask.resolution_hz);
    }
}
END_TEST

START_TEST(what_cannot_be_judged_is_said)
{
  struct sc_mask mask = shipped(1000);
  /* 1 kHz of noise at -60 dBc: the 73 dB beyond 600 kHz are hidden, 25 and 35 dB are not */
  struct sc_mask_result result = judge(&mask, 200e3, -40, 1e-9);
  ck_assert_int_eq(result.pass, SC_YES);
  ck_assert_double_eq_tol(result.worst_margin_db.value, 15, 0.3);
  ck_assert_double_gt(result.judged_share, 0.4);
  ck_assert_double_lt(result.judged_share, 0.7);
  ck_assert_ptr_nonnull(strstr(result.unjudged, "its noise"));
  ck_assert_ptr_nonnull(strstr(result.unjudged, "the capture ends 900 kHz below"));
  /* a line that stands far over that noise fails all the same */
  result = judge(&mask, 700e3, -40, 1e-9);
  ck_assert_int_eq(result.pass, SC_NO);
  ck_assert_double_eq_tol(result.worst_margin_db.value, 40 - 73, 0.3);
}
END_TEST

START_TEST(nothing_is_judged_of_nothing)
{
  struct sc_mask mask = shipped(1);
  struct sc_trace trace = {0};
  struct sc_mask_settings how = {0, sc_measured(0, 0.1), (double)NAN};
  struct sc_mask_result result;
  sc_mask_judge(&mask, &trace, &how, &result);
  ck_assert_int_eq(result.pass, SC_UNKNOWN);
  ck_assert_ptr_nonnull(result.worst_margin_db.why);
  ck_assert_str_eq(result.name, "47 CFR 73.317");
}
END_TEST

/* White noise of density N makes N B in a resolution of B: 10 lg 0.79 = -1.02, 10 lg 0.8 = -0.97,
 * 10 lg 1.25 = 0.97, 10 lg 1.26 = 1.004 dB off what the mask means. */
START_TEST(another_resolution_than_the_masks_judges_nothing)
{
  enum { POINTS = 801 };
  static const struct {
    double share;
    enum sc_truth pass;
    const char *why;
  } cases[] = {{0.79, SC_UNKNOWN, "too narrow"},
               {0.8, SC_YES, NULL},
               {1, SC_YES, NULL},
               {1.25, SC_YES, NULL},
               {1.26, SC_UNKNOWN, "too short"}};
  static float mean[POINTS];
  struct sc_mask mask = shipped(1);
  for (size_t i = 0; i < POINTS; i++)
    mean[i] = 1e-6f;
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    const struct sc_trace trace = {.points = POINTS,
                                   .start_hz = -200e3,
                                   .step_hz = 500,
                                   .rbw_hz = cases[i].share * mask.resolution_hz,
                                   .mean = mean,
                                   .max_hold = mean};
    const struct sc_mask_settings how = {0, sc_measured(0, 0.1), (double)NAN};
    struct sc_mask_result result;
    sc_mask_judge(&mask, &trace, &how, &result);
    ck_assert_int_eq(result.pass, cases[i].pass);
    ck_assert_double_eq(result.resolution_hz.value, trace.rbw_hz);
    if (cases[i].why != NULL) {
      ck_assert_ptr_nonnull(strstr(result.worst_margin_db.why, cases[i].why));
      ck_assert_ptr_nonnull(strstr(result.unjudged, cases[i].why));
    }
  }
}
END_TEST

static void check_refused(const char *text, const char *said)
{
  struct sc_mask mask;
  ck_assert_msg(sc_mask_parse(text, "own.mask", (double)NAN, &mask, &message) == SC_BAD_FORMAT,
                "taken: %s", text);
  ck_assert_msg(strstr(message.text, said) != NULL, "'%s' said: %s", text, message.text);
  ck_assert_ptr_nonnull(strstr(message.text, "own.mask: "));
  ck_assert_ptr_null(strchr(message.text, '\n'));
}

START_TEST(mistakes_are_named_with_their_line)
{
  check_refused("", "a mask needs a line 'name'");
  check_refused("name x\n", "a mask needs a line 'source'");
  check_refused("name x\nsource y\n", "a mask needs a line 'from'");
  check_refused("name\n", "line 1: nothing follows");
  check_refused("name x\n\nspan 10k\n", "line 3: not name, source");
  check_refused("resolution fine\n", "line 1: the resolution");
  check_refused("resolution 0\n", "line 1: the resolution");
  check_refused("resolution 1k guessed\n", "only 'unstated'");
  check_refused("detector peak\n", "'mean' or 'max'");
  check_refused("from here 25\n", "after 'from' stands an offset");
  check_refused("from -5k 25\n", "after 'from' stands an offset");
  check_refused("from 2k to 1k 25\n", "does not end beyond");
  check_refused("from 2k to 1x 25\n", "does not end beyond");
  check_refused("from 1k to 2k\n", "the limit is a number");
  check_refused("from 1k to 2k nan\n", "the limit is a number");
  check_refused("from 1k to 2k 25 dB\n", "something follows the limit");
  check_refused("from 1k 20 to 30\n", "a straight line needs an end");
  check_refused("from 600k 43+10logP to 80\n", "the transmitter's power");
  char many[8192] = "";
  for (int i = 0; i < SC_MASK_RANGES_MAX + 1; i++)
    strcat(many, "from 1k to 2k 3\n");
  check_refused(many, "line 33: there are too many ranges");
  memset(many, 'x', 600);
  many[600] = '\0';
  check_refused(many, "line 1: the line is too long");
}
END_TEST

START_TEST(comments_lines_and_slopes_are_taken)
{
  struct sc_mask mask;
  const char *text = "# a mask of our own\r\n  name slope\r\nsource\tthe bench # nobody else\n"
                     "detector max\nresolution 300\nfrom 100k to 200k 0 to 80\nfrom 0.2M 80";
  ck_assert_int_eq(sc_mask_parse(text, "own.mask", (double)NAN, &mask, &message), SC_OK);
  ck_assert_str_eq(mask.name, "slope");
  ck_assert_ptr_null(strchr(mask.source, '#'));
  ck_assert(mask.max_hold && !mask.resolution_unstated);
  ck_assert_double_eq_tol(sc_mask_limit_db(&mask, -150e3), 40, 1e-9);
  ck_assert_double_eq(sc_mask_limit_db(&mask, 1e9), 80);
}
END_TEST

Suite *mask_suite(void)
{
  Suite *suite = suite_create("mask");
  TCase *limits = tcase_create("limits");
  tcase_add_test(limits, the_shipped_mask_has_the_published_numbers);
  tcase_add_test(limits, lines_just_pass_and_just_fail);
  tcase_add_test(limits, what_cannot_be_judged_is_said);
  tcase_add_test(limits, nothing_is_judged_of_nothing);
  tcase_add_test(limits, another_resolution_than_the_masks_judges_nothing);
  tcase_add_test(limits, mistakes_are_named_with_their_line);
  tcase_add_test(limits, comments_lines_and_slopes_are_taken);
  suite_add_tcase(suite, limits);
  return suite;
}
