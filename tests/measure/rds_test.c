/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* RDS of generated signals: what is read, level, phase, frequencies, odd conditions. */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <sidecomb/rds.h>

#include "measure/rds_record.h"
#include "measure/rds_signal.h"
#include "measure/suites.h"
#include "support/allocation.h"
#include "support/support.h"

enum { BLOCK = 8192 };

static struct rds_signal made;
static struct rds_record record;
static const struct sc_rds *const rds = &record.rds;

static struct rds_signal *station_of(uint64_t seed)
{
  rds_signal_init(&made);
  rds_signal_station(&made);
  made.noise_ratio = RDS_SIGNAL_30_DB;
  made.khz = 2.0;
  made.seed = seed;
  return &made;
}

static void read_signal(struct rds_signal *signal, double seconds, double gap_s)
{
  record = (struct rds_record){.seconds = seconds, .gap_s = gap_s};
  rds_record_signal(signal, &record);
}

static struct sc_rds_meter *meter_of(double rate)
{
  const struct sc_rds_settings settings = {.rate_hz = rate, .absolute = true};
  struct sc_rds_meter *meter;
  ck_assert_int_eq(sc_rds_create(&settings, &meter), SC_OK);
  return meter;
}

/* ---- conditions */

struct condition {
  const char *what;
  const char *station; /* further assignments */
  double pilot_khz;    /* the same of the signal that is made straight */
  double pilot_hz, hz; /* hz 0: three times the pilot's */
  double data_deg, pilot_deg;
  double clock_ppm;
  bool inverted;
  /* what is to be measured */
  double expected_hz, phase_deg; /* NAN: not to be measured */
  enum sc_truth within;
};

static const struct condition conditions[] = {
    {"in phase", "", 6.75, 19e3, 0, 0, 0, 0, false, 57e3, 0.0, SC_YES},
    {"no pilot", "station.pilot.khz = 0", 0, 19e3, 0, 0, 0, 0, false, 57e3, (double)NAN,
     SC_UNKNOWN},
    {"pilot and data 2 and 6 Hz high", "station.pilot.hz = 19002", 6.75, 19002, 0, 0, 0, 0, false,
     57006, 0.0, SC_YES},
    {"pilot and data 2 and 6 Hz low", "station = { pilot = { hz = 18998; phase_deg = 77; }; }",
     6.75, 18998, 0, 0, 77, 0, false, 56994, 0.0, SC_YES},
    {"pilot 2 Hz high, data not",
     "station = { pilot = { khz = 0; }; tones = ( { hz = 19002; khz = 6.75; } ); }", 6.75, 19002,
     57e3, 0, 0, 0, false, 57e3, (double)NAN, SC_UNKNOWN},
    {"in quadrature", "station.rds.phase_deg = 90", 6.75, 19e3, 0, 90, 0, 0, false, 57e3, 90.0,
     SC_YES},
    {"between", "station.rds.phase_deg = 45", 6.75, 19e3, 0, 45, 0, 0, false, 57e3, 45.0, SC_NO},
    {"all bits inverted", "station.rds.phase_deg = 180", 6.75, 19e3, 0, 0, 0, 0, true, 57e3, 0.0,
     SC_YES},
    {"receiver's clock 50 ppm fast", "receiver.clock_ppm = 50", 6.75, 19e3, 0, 0, 0, 50, false,
     57e3 / (1 + 50e-6), 0.0, SC_YES},
    {"receiver's clock 50 ppm slow", "receiver.clock_ppm = -50", 6.75, 19e3, 0, 0, 0, -50, false,
     57e3 / (1 - 50e-6), 0.0, SC_YES},
    {"programme",
     "station = { programme = ( { kind = \"pink\"; to = \"left\"; khz = 15; },"
     " { kind = \"pink\"; to = \"right\"; khz = 15; } ); }",
     6.75, 19e3, 0, 0, 0, 0, false, 57e3, 0.0, SC_YES},
};

static void read_iq(const struct condition *c, double seconds, uint64_t seed)
{
  struct sc_scenario s = rds_scenario(SC_WHAT_IQ, c->station);
  s.station.rds.khz = 2.0;
  s.station.rds.pi = 0xc4a7;
  s.seed = seed;
  record = (struct rds_record){.seconds = seconds};
  rds_record_scenario(&s, 0.0, &record);
}

/* ---- clean and strong */

/* 10 s hold 114 whole groups; of the first one the decision before it is missing. The long run has
 * records of IQ beside those that are made straight. */
START_TEST(no_group_of_2_khz_is_lost)
{
  const unsigned records = support_trials(support_long() ? 20 : 1);
  const uint64_t seed = support_seed("no_group_of_2_khz_is_lost", 59);
  for (unsigned k = 0; k < records; k++) {
    read_signal(station_of(seed + k), 10.0, 0.0);
    ck_assert_uint_eq(rds->data.groups, 113);
    ck_assert_uint_eq(rds->corrected_blocks + rds->lost_blocks, 0);
  }
  const unsigned iq = support_long() ? records / 4 : 0;
  for (unsigned k = 0; k < iq; k++) {
    read_iq(&conditions[0], 10.0, seed + k);
    ck_assert_uint_ge(rds->data.groups, 112); /* the channel filter's beginning is missing too */
    ck_assert_uint_eq(rds->corrected_blocks + rds->lost_blocks, 0);
  }
  printf("%u records of 10 s without a wrong block\n", records + iq);
}
END_TEST

START_TEST(all_that_is_sent_is_read)
{
  struct sc_scenario s = rds_scenario(
      SC_WHAT_COMPOSITE,
      "station = { rds = { khz = 2; pi = 0xC4A7; ps = \"KITEFELL\"; pty = 10;"
      " text = \"Wind and weather from the ridge\"; tp = true; ta = true; music = true;"
      " stereo = true; ecc = 0xE1; af_mhz = ( 96.7, 101.3 ); ptyn = \"HILLS\"; }; }");
  s.seed = support_seed("all_that_is_sent_is_read", 60);
  record = (struct rds_record){.seconds = 4.5};
  rds_record_scenario(&s, RDS_SIGNAL_30_DB, &record);
  ck_assert_int_eq(rds->present, SC_YES);
  ck_assert_uint_eq(rds->data.groups, 50); /* 51 whole ones */
  ck_assert_uint_eq(rds->corrected_blocks + rds->lost_blocks, 0);
  ck_assert_str_eq(rds->data.pi, "C4A7");
  ck_assert_str_eq(rds->data.ps, "KITEFELL");
  ck_assert_str_eq(rds->data.rt, "Wind and weather from the ridge");
  ck_assert_str_eq(rds->data.ptyn, "HILLS");
  ck_assert_uint_eq(rds->data.af_count, 2); /* in the order of coming in */
  ck_assert_double_eq_tol(rds->data.af_mhz[0] + rds->data.af_mhz[1], 198.0, 1e-9);
  ck_assert_str_eq(rds->data.country, "United Kingdom");
  ck_assert_str_eq(rds->data.pty_name, "Pop music");
  ck_assert_int_eq(rds->data.tp, SC_YES);
  ck_assert_int_eq(rds->data.ta, SC_YES);
  ck_assert_int_eq(rds->data.music, SC_YES);
  ck_assert_str_eq(rds->data.di, "stereo");
  ck_assert_double_eq_tol(rds->injection_khz.value, 2.0, 4.0 * rds->injection_khz.uncertainty);
  ck_assert_double_eq_tol(rds->injection_khz.value, 2.0, 0.01);
  ck_assert_double_eq_tol(rds->subcarrier_hz.value, 57e3, 5.0 * rds->subcarrier_hz.uncertainty);
  ck_assert_double_eq_tol(rds->bit_rate_bps.value, 1187.5, 0.003);
  ck_assert_double_eq_tol(rds->phase_deg.value, 0.0, 0.3);
  ck_assert_int_eq(rds->phase_within, SC_YES);
}
END_TEST

/* Group k of the signal ends at (k + 1) 104 bits; the last three words are those that were sent. */
START_TEST(groups_are_handed_over)
{
  const double khz[] = {0.6, 2.0};
  const uint64_t seed = support_seed("groups_are_handed_over", 68);
  for (int i = 0; i < 2; i++) {
    struct rds_signal *s = station_of(seed);
    double square = 0.0;
    s->khz = khz[i];
    read_signal(s, 4.0, 0.0);
    ck_assert_uint_ge(record.group_count, 43); /* of 45 */
    for (size_t g = 0; g < record.group_count; g++) {
      const struct sc_rds_group *group = &record.groups[g];
      const double ends = group->time_s * 1187.5 / 104.0;
      const size_t index = (size_t)lround(ends) - 1;
      ck_assert_double_eq_tol(ends, (double)index + 1.0, 1e-3);
      square += pow((ends - (double)index - 1.0) * 104.0 / 1187.5 / group->time_uncertainty_s, 2.0);
      for (int b = 0; b < 4; b++)
        ck_assert(group->state[b] == SC_RDS_BLOCK_LOST ||
                  group->word[b] == s->groups[index % s->group_count][b]);
    }
    printf("%.1f kHz: %zu groups, their times off by %.2f of the uncertainty of %.2g s\n", khz[i],
           record.group_count, sqrt(square / (double)record.group_count),
           record.groups[0].time_uncertainty_s);
    ck_assert_double_lt(square / (double)record.group_count, 9.0); /* they share one error or two */
  }
}
END_TEST

/* Rms of the subcarrier against a sum over its samples: data that is all the same has the same
 * injection as data at random (what random data of this rms peaks at). */
START_TEST(injection_does_not_hang_on_the_data)
{
  static const uint16_t groups[][4] = {{0xc4a7, 0, 0, 0}, {0xffff, 0x07ff, 0xffff, 0xffff}};
  for (int i = 0; i < 3; i++) {
    struct rds_signal *s = station_of(63);
    if (i < 2) {
      memcpy(s->groups[0], groups[i], sizeof groups[i]);
      s->group_count = 1;
    }
    read_signal(s, 2.5, 0.0);
    printf("%d: %.4f +- %.4f kHz\n", i, rds->injection_khz.value, rds->injection_khz.uncertainty);
    ck_assert_double_eq_tol(rds->injection_khz.value, 2.0, 0.012);
  }
}
END_TEST

/* ---- odd conditions */

static void check_condition(const struct condition *c)
{
  printf("%s: %.4f +- %.4f Hz, %.2f +- %.2f degrees, %.4f +- %.4f bit/s, %llu of %llu wrong\n",
         c->what, rds->subcarrier_hz.value, rds->subcarrier_hz.uncertainty, rds->phase_deg.value,
         rds->phase_deg.uncertainty, rds->bit_rate_bps.value, rds->bit_rate_bps.uncertainty,
         (unsigned long long)rds->lost_blocks, (unsigned long long)rds->blocks);
  ck_assert_int_eq(rds->present, SC_YES);
  ck_assert_str_eq(rds->data.pi, "C4A7");
  ck_assert_uint_ge(rds->data.groups, (unsigned)(record.seconds * 11.4) - 3);
  ck_assert_uint_eq(rds->lost_blocks, 0);
  ck_assert_double_eq_tol(rds->subcarrier_hz.value, c->expected_hz, 0.01);
  ck_assert_double_eq_tol(rds->bit_rate_bps.value, c->expected_hz / 48.0, 0.01);
  ck_assert_int_eq(rds->phase_within, c->within);
  if (isnan(c->phase_deg))
    ck_assert_ptr_nonnull(rds->phase_deg.why);
  else
    ck_assert_double_eq_tol(remainder(rds->phase_deg.value - c->phase_deg, 180.0), 0.0, 0.5);
}

static void send_condition(const struct condition *c, struct rds_signal *s)
{
  const double degree = 3.1415926535897932 / 180.0;
  s->pilot_khz = c->pilot_khz;
  s->pilot_hz = c->pilot_hz;
  s->pilot_phase_rad = c->pilot_deg * degree;
  s->hz = c->hz;
  s->phase_rad = c->data_deg * degree;
  s->rate_hz *= 1.0 + c->clock_ppm * 1e-6;
  s->inverted = c->inverted;
}

enum { CONDITIONS = sizeof conditions / sizeof conditions[0] };

START_TEST(decoded_under_all_conditions)
{
  for (size_t i = 0; i + 1 < CONDITIONS; i++) { /* all but programme */
    struct rds_signal *s = station_of(64 + i);
    send_condition(&conditions[i], s);
    read_signal(s, 2.2, 0.0);
    check_condition(&conditions[i]);
  }
}
END_TEST

/* The same through channel filter and discriminator, at 30 dB carrier to noise in 200 kHz: all of
 * them in the long run, else the one that needs the generator and the one with the clock. */
START_TEST(decoded_from_iq)
{
  for (size_t i = 0; i < CONDITIONS; i++) {
    const bool usual = i + 1 == CONDITIONS || conditions[i].clock_ppm > 0.0;
    if (!usual && !support_long())
      continue;
    read_iq(&conditions[i], support_long() ? 5.0 : 2.2, 640 + i);
    check_condition(&conditions[i]);
  }
}
END_TEST

START_TEST(goes_on_after_a_gap)
{
  read_signal(station_of(80), 6.0, 2.6);
  ck_assert_uint_ge(rds->data.groups, 58); /* 62 in 5.5 s */
  ck_assert_uint_eq(rds->lost_blocks, 0);
  ck_assert_str_eq(rds->data.ps, "KITEFELL");
}
END_TEST

/* A result asked for in between changes nothing of what comes. */
START_TEST(results_do_not_disturb)
{
  static float khz[BLOCK];
  struct sc_rds results[2], between;
  for (int asked = 0; asked < 2; asked++) {
    struct rds_signal *s = station_of(81);
    struct sc_rds_meter *meter = meter_of(192e3);
    rds_signal_start(s);
    for (int i = 0; i < 60; i++) {
      rds_signal_run(s, khz, BLOCK);
      sc_rds_feed(meter, khz, BLOCK, false);
      if (asked)
        sc_rds_result(meter, &between);
    }
    sc_rds_result(meter, &results[asked]);
    sc_rds_destroy(meter);
  }
  ck_assert_uint_eq(results[1].data.groups, results[0].data.groups);
  ck_assert_uint_eq(results[1].blocks, results[0].blocks);
  ck_assert(results[1].subcarrier_hz.value == results[0].subcarrier_hz.value);
}
END_TEST

/* ---- what cannot be told */

START_TEST(says_why_not)
{
  struct sc_rds_meter *meter = meter_of(96e3);
  const float silence[64] = {0.0F};
  sc_rds_feed(meter, silence, 64, true);
  sc_rds_result(meter, &record.rds);
  ck_assert_int_eq(rds->present, SC_UNKNOWN);
  ck_assert_str_eq(rds->injection_khz.why, "the composite ends below 60 kHz");
  sc_rds_destroy(meter);
  meter = meter_of(192e3);
  sc_rds_feed(meter, silence, 64, true);
  sc_rds_result(meter, &record.rds);
  ck_assert_int_eq(rds->present, SC_UNKNOWN);
  ck_assert_ptr_nonnull(rds->detection_limit_khz.why);
  sc_rds_destroy(meter);
  sc_rds_destroy(NULL);
  const struct sc_rds_settings wrong = {.rate_hz = -1.0};
  ck_assert_int_eq(sc_rds_create(&wrong, &meter), SC_BAD_ARGUMENT);
}
END_TEST

static bool create_and_destroy(void *context)
{
  struct sc_rds_meter *meter;
  if (sc_rds_create(context, &meter) != SC_OK)
    return false;
  sc_rds_destroy(meter);
  return true;
}

START_TEST(memory_may_run_out)
{
  struct sc_rds_settings settings = {.rate_hz = 192e3};
  ck_assert_uint_gt(support_fail_each_allocation(create_and_destroy, &settings), 10);
}
END_TEST

/* Feeding allocates nothing. */
START_TEST(feeding_takes_no_memory)
{
  static float silence[BLOCK];
  struct sc_rds_meter *meter = meter_of(192e3);
  size_t asked;
  long held;
  support_watch_allocations(0);
  for (int i = 0; i < 40; i++)
    sc_rds_feed(meter, silence, BLOCK, i == 20);
  support_end_watch(&asked, &held);
  ck_assert_uint_eq(asked, 0);
  sc_rds_destroy(meter);
}
END_TEST

Suite *rds_suite(void)
{
  Suite *suite = suite_create("rds");
  TCase *tests = tcase_create("rds");
  tcase_set_timeout(tests, 7200);
  tcase_add_test(tests, no_group_of_2_khz_is_lost);
  tcase_add_test(tests, all_that_is_sent_is_read);
  tcase_add_test(tests, groups_are_handed_over);
  tcase_add_test(tests, injection_does_not_hang_on_the_data);
  tcase_add_test(tests, decoded_under_all_conditions);
  tcase_add_test(tests, decoded_from_iq);
  tcase_add_test(tests, goes_on_after_a_gap);
  tcase_add_test(tests, results_do_not_disturb);
  tcase_add_test(tests, says_why_not);
  tcase_add_test(tests, memory_may_run_out);
  tcase_add_test(tests, feeding_takes_no_memory);
  suite_add_tcase(suite, tests);
  return suite;
}
