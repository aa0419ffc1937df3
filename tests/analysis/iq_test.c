/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* IQ captures: carrier, pilot and lines of signals whose every line is known in advance. The
 * levels are Bessel functions of the C library, which is not ours. */
#include <config.h>

#include <math.h>
#include <string.h>

#include "analysis/chain.h"
#include "analysis/suites.h"

/* A value may be this many of its own uncertainties off: one in 15 000 is beyond by chance, and
 * the seeds are fixed. */
static const double sigmas = 4;
/* Levels are right to this beside their uncertainty (filters, single precision). */
static const double level_slack_db = 0.01;
static const double apart_hz = 0.3; /* two lines closer than this are one line listed twice */

static void check_quantity(struct sc_quantity quantity, double expected, double slack)
{
  ck_assert_msg(quantity.why == NULL, "not measured: %s", quantity.why);
  ck_assert_msg(fabs(quantity.value - expected) <= sigmas * quantity.uncertainty + slack,
                "%.9g ± %.3g, expected %.9g", quantity.value, quantity.uncertainty, expected);
}

static const struct sc_line *check_line(const struct sc_line_list *list, double offset_hz)
{
  ck_assert_msg(list->why == NULL, "no lines: %s", list->why);
  const struct sc_line *line = chain_line(list, offset_hz);
  ck_assert_msg(line != NULL, "no line at %g Hz among %zu", offset_hz, list->count);
  return line;
}

static double dbc(double amplitude)
{
  return 20 * log10(fabs(amplitude));
}

START_TEST(carrier_and_pilot_are_measured)
{
  struct chain chain = chain_usual();
  chain_add_pilot(&chain);
  chain.centre_hz = 91.2e6;
  struct sc_result result = chain_measure(&chain);
  ck_assert_ptr_null(result.unmeasured);
  ck_assert_int_eq(result.carrier.present, SC_YES);
  check_quantity(result.carrier.offset_hz, 60e3, 0);
  check_quantity(result.carrier_frequency_hz, 91.26e6, 0);
  check_quantity(result.carrier.level_dbfs, dbc(0.5), level_slack_db);
  check_quantity(result.carrier.cnr_db,
                 60 + 10 * log10(200e3 / result.carrier.cnr_bandwidth_hz.value), 0.3);
  ck_assert_int_eq(result.pilot.present, SC_YES);
  check_quantity(result.pilot.frequency_hz, 19e3, 0);
  check_quantity(result.pilot.deviation_khz, 6.75, 0.005 * 6.75);
  ck_assert(result.composite_absolute);
  ck_assert(!result.composite_truncated);
  sc_result_clear(&result);
}
END_TEST

/* Levels of the pilot's own side lines: Jn(6.75 / 19), the same to both sides. */
START_TEST(side_lines_are_bessel_functions)
{
  struct chain chain = chain_usual();
  chain_add_pilot(&chain);
  struct sc_result result = chain_measure(&chain);
  for (int n = -2; n <= 2; n++) {
    const struct sc_line *line = check_line(&result.air_lines, 19e3 * n);
    check_quantity(line->offset_hz, 19e3 * n, 1e-3);
    check_quantity(line->level_dbc, dbc(jn(n < 0 ? -n : n, 6.75 / 19)), level_slack_db);
    if (n != 0) {
      ck_assert_int_ge(line->mirror, 0);
      check_quantity(line->mirror_level_dbc, line->level_dbc.value, 0.1);
    }
  }
  const struct sc_line *pilot = check_line(&result.composite_lines, 19e3);
  check_quantity(pilot->deviation_khz, 6.75, 0.001);
  check_quantity(pilot->level_db75, dbc(6.75 / 75), level_slack_db);
  check_quantity(pilot->level_db_pilot, 0, level_slack_db);
  sc_result_clear(&result);
}
END_TEST

/* Common practice, no source: a tone of 1 kHz in both channels is in the sum alone. */
START_TEST(one_kilohertz_on_both_channels)
{
  struct chain chain = chain_usual();
  chain_add_pilot(&chain);
  chain_add_audio(&chain, 1000, 0.5, 0.5);
  struct sc_result result = chain_measure(&chain);
  double expected = dbc(j1(0.5 / 1.0) * j0(6.75 / 19));
  check_quantity(check_line(&result.air_lines, 1000)->level_dbc, expected, level_slack_db);
  check_quantity(check_line(&result.air_lines, -1000)->level_dbc, expected, level_slack_db);
  check_quantity(check_line(&result.composite_lines, 1000)->deviation_khz, 0.5, 0.001);
  ck_assert_ptr_null(chain_line(&result.composite_lines, 37e3));
  ck_assert_ptr_null(chain_line(&result.composite_lines, 39e3));
  sc_result_clear(&result);
}
END_TEST

/* Common practice, no source: a tone of 2 kHz in the difference alone is 38 ± 2 kHz. */
START_TEST(two_kilohertz_on_the_difference)
{
  struct chain chain = chain_usual();
  chain_add_pilot(&chain);
  chain_add_audio(&chain, 2000, 10, -10);
  struct sc_result result = chain_measure(&chain);
  check_quantity(check_line(&result.composite_lines, 36e3)->deviation_khz, 5, 0.005);
  check_quantity(check_line(&result.composite_lines, 40e3)->deviation_khz, 5, 0.005);
  ck_assert_ptr_null(chain_line(&result.composite_lines, 2000));
  ck_assert_ptr_null(chain_line(&result.composite_lines, 38e3));
  sc_result_clear(&result);
}
END_TEST

static void check_no_pilot(const struct chain *chain)
{
  struct sc_result result = chain_measure(chain);
  ck_assert_msg(result.pilot.present != SC_YES, "a pilot was claimed: %s", result.pilot.why);
  ck_assert_ptr_nonnull(result.pilot.frequency_hz.why);
  ck_assert_ptr_nonnull(result.pilot.why);
  for (size_t i = 0; i < result.composite_lines.count; i++)
    ck_assert_ptr_null(strstr(result.composite_lines.lines[i].label, "pilot"));
  sc_result_clear(&result);
}

START_TEST(no_pilot_in_noise)
{
  struct chain chain = chain_usual();
  chain.signal.no_carrier = true;
  check_no_pilot(&chain);
}
END_TEST

START_TEST(no_pilot_on_a_bare_carrier)
{
  struct chain chain = chain_usual();
  check_no_pilot(&chain);
}
END_TEST

START_TEST(no_pilot_in_mono)
{
  struct chain chain = chain_usual();
  chain_add_audio(&chain, 1000, 40, 40);
  chain_add_audio(&chain, 3170, 10, 10);
  check_no_pilot(&chain);
}
END_TEST

START_TEST(a_tone_at_18900_hertz_is_no_pilot)
{
  struct chain chain = chain_usual();
  chain.signal.composite[chain.signal.composite_count++] =
      (struct sc_signal_tone){.frequency_hz = 18900, .amplitude = 6.75};
  check_no_pilot(&chain);
  struct sc_result result = chain_measure(&chain);
  check_line(&result.composite_lines, 18900);
  sc_result_clear(&result);
}
END_TEST

START_TEST(noise_alone_is_no_carrier)
{
  struct chain chain = chain_usual();
  chain.signal.no_carrier = true;
  struct sc_result result = chain_measure(&chain);
  ck_assert_int_ne(result.carrier.present, SC_YES);
  ck_assert_ptr_nonnull(result.unmeasured);
  ck_assert_ptr_nonnull(result.composite_why);
  ck_assert_ptr_nonnull(result.air_lines.why);
  sc_result_clear(&result);
}
END_TEST

START_TEST(below_the_threshold_there_is_no_composite)
{
  struct chain chain = chain_usual();
  chain_add_pilot(&chain);
  chain.signal.cnr_db = 4;
  struct sc_result result = chain_measure(&chain);
  ck_assert_ptr_nonnull(result.composite_why);
  ck_assert_ptr_nonnull(result.unmeasured);
  ck_assert_int_ne(result.pilot.present, SC_YES);
  sc_result_clear(&result);
}
END_TEST

/* A carrier far from the channel in a wide capture is one line, in its place and once. */
START_TEST(lines_outside_the_channel_are_listed_once)
{
  struct chain chain = chain_usual();
  chain.signal.rate_hz = 2.4e6;
  chain.signal.carrier_offset_hz = -300e3;
  chain_add_pilot(&chain);
  chain.signal.carriers[chain.signal.carrier_count++] =
      (struct sc_signal_tone){.frequency_hz = 500e3, .amplitude = 1e-3};
  struct sc_result result = chain_measure(&chain);
  const struct sc_line *line = check_line(&result.air_lines, 800e3);
  check_quantity(line->offset_hz, 800e3, 1e-2);
  check_quantity(line->level_dbc, -60, 0.02);
  for (size_t i = 1; i < result.air_lines.count; i++) {
    const struct sc_line *lines = result.air_lines.lines;
    ck_assert_double_gt(lines[i].offset_hz.value - lines[i - 1].offset_hz.value, apart_hz);
  }
  for (int n = -2; n <= 2; n++)
    check_line(&result.air_lines, 19e3 * n);
  sc_result_clear(&result);
}
END_TEST

START_TEST(the_wanted_channel_can_be_given)
{
  struct chain chain = chain_usual();
  chain.signal.rate_hz = 1.2e6;
  chain.signal.carriers[chain.signal.carrier_count++] =
      (struct sc_signal_tone){.frequency_hz = -320e3, .amplitude = 0.1};
  chain.analysis.channel_hz = -320e3;
  struct sc_result result = chain_measure(&chain);
  check_quantity(result.carrier.offset_hz, -320e3, 0);
  check_quantity(result.carrier.level_dbfs, dbc(0.05), level_slack_db);
  sc_result_clear(&result);
}
END_TEST

START_TEST(the_clock_enters_every_frequency)
{
  struct chain chain = chain_usual();
  chain_add_pilot(&chain);
  chain.centre_hz = 91.2e6;
  chain.clock_relative_uncertainty = 1e-6;
  struct sc_result result = chain_measure(&chain);
  ck_assert_double_ge(result.carrier_frequency_hz.uncertainty, 91.26);
  ck_assert_double_ge(result.carrier.offset_hz.uncertainty, 0.06);
  ck_assert_double_ge(result.pilot.frequency_hz.uncertainty, 0.019);
  ck_assert_double_ge(check_line(&result.air_lines, 38e3)->offset_hz.uncertainty, 0.038);
  ck_assert_double_ge(check_line(&result.composite_lines, 19e3)->offset_hz.uncertainty, 0.019);
  sc_result_clear(&result);
}
END_TEST

START_TEST(a_narrow_capture_says_what_it_lost)
{
  struct chain chain = chain_usual();
  chain.signal.rate_hz = 240e3;
  chain.signal.carrier_offset_hz = 1000;
  chain_add_pilot(&chain);
  struct sc_result result = chain_measure(&chain);
  ck_assert(result.composite_truncated);
  bool said = false;
  for (size_t i = 0; i < result.warnings.count; i++)
    said |= strstr(result.warnings.text[i], "side lines are lost") != NULL;
  ck_assert(said);
  sc_result_clear(&result);
}
END_TEST

START_TEST(rates_beyond_the_demodulator_are_a_finding)
{
  struct chain chain = chain_usual();
  chain.signal.rate_hz = 100e3;
  chain.signal.carrier_offset_hz = 1000;
  struct sc_result result = chain_measure(&chain);
  ck_assert_ptr_nonnull(result.unmeasured);
  ck_assert_ptr_nonnull(strstr(result.unmeasured, "sample rate"));
  sc_result_clear(&result);
}
END_TEST

Suite *iq_suite(void)
{
  Suite *suite = suite_create("iq");
  TCase *signals = tcase_create("signals");
  tcase_add_test(signals, carrier_and_pilot_are_measured);
  tcase_add_test(signals, side_lines_are_bessel_functions);
  tcase_add_test(signals, one_kilohertz_on_both_channels);
  tcase_add_test(signals, two_kilohertz_on_the_difference);
  tcase_add_test(signals, no_pilot_in_noise);
  tcase_add_test(signals, no_pilot_on_a_bare_carrier);
  tcase_add_test(signals, no_pilot_in_mono);
  tcase_add_test(signals, a_tone_at_18900_hertz_is_no_pilot);
  tcase_add_test(signals, noise_alone_is_no_carrier);
  tcase_add_test(signals, below_the_threshold_there_is_no_composite);
  tcase_add_test(signals, lines_outside_the_channel_are_listed_once);
  tcase_add_test(signals, the_wanted_channel_can_be_given);
  tcase_add_test(signals, the_clock_enters_every_frequency);
  tcase_add_test(signals, a_narrow_capture_says_what_it_lost);
  tcase_add_test(signals, rates_beyond_the_demodulator_are_a_finding);
  suite_add_tcase(suite, signals);
  return suite;
}
