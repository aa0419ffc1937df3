/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The composite sent again: the same spectrum as the air's where all is modulation, and what the
 * air has beside it stands out. */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include <sidecomb/composite.h>
#include <sidecomb/expected.h>
#include <sidecomb/scenario.h>

#include "analysis/suites.h"
#include "support/support.h"

enum { BLOCK = 1 << 14, POINTS_MAX = 1 << 14 };
static const double rate_hz = 500e3, carrier_hz = 60e3, cnr_db = 50;

struct pair {
  struct sc_spectrum *air;
  struct sc_expected *expected;
  struct sc_demodulator *demodulator;
  struct sc_trace of_air, of_expected;
  float difference_db[POINTS_MAX];
};

static void create(struct pair *pair)
{
  struct sc_expected_settings settings = {.spectrum = {.sample_rate_hz = rate_hz,
                                                       .complex_input = true,
                                                       .rbw_hz = 200,
                                                       .window = SC_WINDOW_BLACKMAN_HARRIS,
                                                       .overlap = 0.5},
                                          .channel_hz = carrier_hz};
  struct sc_demodulator_settings demodulator = {rate_hz, carrier_hz};
  ck_assert_int_eq(sc_demodulator_create(&demodulator, &pair->demodulator), SC_OK);
  settings.demodulator = sc_demodulator_info(pair->demodulator);
  ck_assert_int_eq(sc_spectrum_create(&settings.spectrum, &pair->air), SC_OK);
  ck_assert_int_eq(sc_expected_create(&settings, &pair->expected), SC_OK);
}

static void feed(struct pair *pair, const float *iq, size_t frames, bool first)
{
  const float *khz, *channel;
  sc_spectrum_feed(pair->air, iq, frames, first);
  size_t made = sc_demodulator_feed(pair->demodulator, iq, frames, first, &khz, &channel);
  sc_expected_feed(pair->expected, khz, channel, made, first);
}

static void destroy(struct pair *pair)
{
  sc_spectrum_destroy(pair->air);
  sc_expected_destroy(pair->expected);
  sc_demodulator_destroy(pair->demodulator);
}

/* One second of a station 60 kHz above the centre, 50 dB over the noise in 200 kHz; `changes` in
 * the scenarios' language. Carriers have the power of 1. */
static void measure(struct pair *pair, const char *changes)
{
  static double made[2 * BLOCK];
  static float iq[2 * BLOCK];
  struct sc_scenario scenario;
  struct sc_message message;
  struct sc_generator *generator;
  sc_scenario_init(&scenario);
  scenario.rate_hz = rate_hz;
  scenario.seconds = 1;
  scenario.station_hz = 91.2e6;
  scenario.centre_hz = 91.2e6 - carrier_hz;
  scenario.cnr_db = cnr_db;
  scenario.level_dbfs = 0;
  scenario.seed = 7;
  ck_assert_msg(sc_scenario_parse(changes, "test", &scenario, &message) == SC_OK, "%s",
                message.text);
  ck_assert_int_eq(sc_generator_create(&scenario, &generator, &message), SC_OK);
  create(pair);
  for (size_t done = 0; done + BLOCK <= (size_t)rate_hz; done += BLOCK) {
    sc_generator_run(generator, made, BLOCK);
    for (size_t i = 0; i < 2 * BLOCK; i++)
      iq[i] = (float)made[i];
    feed(pair, iq, BLOCK, done == 0);
  }
  sc_generator_destroy(generator);
  sc_spectrum_result(pair->air, &pair->of_air);
  sc_expected_result(pair->expected, -cnr_db - 10 * log10(200e3), &pair->of_expected);
  ck_assert_uint_le(pair->of_air.points, POINTS_MAX);
  sc_expected_difference(&pair->of_air, &pair->of_expected, pair->difference_db);
}

/* Largest size of the difference between two offsets from the carrier. */
static double most_between(const struct pair *pair, double low_hz, double high_hz)
{
  double most = 0;
  size_t seen = 0;
  for (size_t i = 0; i < pair->of_air.points; i++) {
    double hz = pair->of_air.start_hz + (double)i * pair->of_air.step_hz - carrier_hz;
    if (hz < low_hz || hz > high_hz)
      continue;
    ck_assert(!isnan(pair->difference_db[i]));
    most = fmax(most, fabs((double)pair->difference_db[i]));
    seen++;
  }
  ck_assert_uint_gt(seen, 2);
  return most;
}

/* Over a second 200 Hz hold 100 independent looks, and the comparison averages over six of them:
 * noise against other noise scatters by 0.25 dB. */
static const double alike_db = 1.2;

/* Programme, pilot and data at once; RDS and noise are no tones. */
START_TEST(modulation_is_expected)
{
  static struct pair pair;
  measure(&pair, "station = { pilot = { khz = 6.75; }; programme = ("
                 "{ kind = \"pink\"; to = \"left\"; khz = 12; },"
                 "{ kind = \"tone\"; to = \"right\"; hz = 3000; khz = 5; } );"
                 "rds = { khz = 2.5; pi = 0xC123; ps = \"BENCH\"; };"
                 "bands = ( { hz = 76000; width_hz = 16000; rms_khz = 3; } ); };");
  ck_assert_double_lt(most_between(&pair, -95e3, 95e3), alike_db);
  destroy(&pair);
}
END_TEST

/* The skirts of the composite's noise from 100 kHz on are known to half a decibel. */
START_TEST(so_is_the_receivers_noise)
{
  static struct pair pair;
  measure(&pair, "station = { pilot = { khz = 6.75; }; };");
  ck_assert_double_lt(most_between(&pair, -160e3, 160e3), alike_db + 0.5);
  destroy(&pair);
}
END_TEST

/* A carrier of its own 71.2 kHz above: the composite's share of it is half, on both sides, so that
 * above 6 dB stand out, and below 0.001 of it is missing from the air. AM is not expected at all.
 */
START_TEST(what_is_no_modulation_stands_out)
{
  static struct pair pair;
  measure(&pair, "station = { pilot = { khz = 6.75; }; };"
                 "receiver = { carriers = ( { hz = 71200; dbc = -40; } );"
                 "am = ( { hz = 30000; percent = 1; } ); };");
  ck_assert_double_gt(most_between(&pair, 71e3, 71.4e3), 5.5);
  ck_assert_double_gt(most_between(&pair, -71.4e3, -71e3), 20);
  ck_assert_double_gt(most_between(&pair, 29.8e3, 30.2e3), 20);
  ck_assert_double_lt(most_between(&pair, 17e3, 21e3), alike_db);
  destroy(&pair);
}
END_TEST

/* A span beside the channel has nothing of it. */
START_TEST(a_span_beside_the_channel_is_refused)
{
  struct sc_demodulator *demodulator;
  struct sc_demodulator_settings wanted = {2e6, 300e3};
  struct sc_expected *expected;
  ck_assert_int_eq(sc_demodulator_create(&wanted, &demodulator), SC_OK);
  struct sc_expected_settings settings = {.spectrum = {.sample_rate_hz = 2e6,
                                                       .complex_input = true,
                                                       .centre_hz = -800e3,
                                                       .span_hz = 50e3},
                                          .demodulator = sc_demodulator_info(demodulator),
                                          .channel_hz = 300e3};
  ck_assert_int_eq(sc_expected_create(&settings, &expected), SC_UNSUPPORTED);
  ck_assert_ptr_null(expected);
  sc_demodulator_destroy(demodulator);
}
END_TEST

Suite *expected_suite(void)
{
  Suite *suite = suite_create("expected");
  TCase *air = tcase_create("air");
  tcase_add_test(air, modulation_is_expected);
  tcase_add_test(air, so_is_the_receivers_noise);
  tcase_add_test(air, what_is_no_modulation_stands_out);
  tcase_add_test(air, a_span_beside_the_channel_is_refused);
  suite_add_tcase(suite, air);
  return suite;
}
