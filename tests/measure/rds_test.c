/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* RDS from generated composites in the noise of a discriminator: presence, level, phase, errors.
 *
 * The noise is white noise differentiated and scaled to f^2 N0 / C at 57 kHz, as 30 dB of carrier
 * to noise in 200 kHz give it after a discriminator above the threshold. */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <sidecomb/composite.h>
#include <sidecomb/rds.h>
#include <sidecomb/scenario.h>

#include "measure/suites.h"
#include "support/allocation.h"
#include "support/random.h"
#include "support/support.h"

#define PI 3.1415926535897932384626433832795

enum { BLOCK = 8192 };
static const double rate_hz = 192e3;
static const double scale_khz = 100.0;          /* composite of full scale, see scenario.h */
static const double noise_ratio = 1e-3 / 200e3; /* N0 / C of 30 dB in 200 kHz */

static struct sc_rds rds;

static struct sc_scenario station(const char *more)
{
  struct sc_scenario s;
  struct sc_message message = {""};
  sc_scenario_init(&s);
  s.what = SC_WHAT_COMPOSITE;
  s.rate_hz = rate_hz;
  s.level_dbfs = 0.0;
  static const char data[] = "station = { rds = { pi = 0xC4A7; ps = \"KITEFELL\"; pty = 10;"
                             " text = \"Wind and weather from the ridge\"; }; };";
  ck_assert_msg(sc_scenario_parse(data, "data", &s, &message) == SC_OK, "%s", message.text);
  if (more[0] != '\0')
    ck_assert_msg(sc_scenario_assign(more, &s, &message) == SC_OK, "%s", message.text);
  return s;
}

struct noise {
  uint64_t random;
  double gain_khz, last;
};

static struct noise noise_of(double ratio, uint64_t seed)
{
  const double f = 57e3;
  const double density = f * f * ratio * 1e-6; /* kHz^2/Hz */
  const double white = 2.0 / rate_hz * 4.0 * pow(sin(PI * f / rate_hz), 2.0);
  return (struct noise){seed, sqrt(density / white), 0.0};
}

static void add_noise(struct noise *noise, float *khz, size_t count)
{
  if (noise->gain_khz == 0.0)
    return;
  for (size_t i = 0; i < count; i++) {
    const double now = support_normal(&noise->random);
    khz[i] += (float)(noise->gain_khz * (now - noise->last));
    noise->last = now;
  }
}

static struct sc_rds_meter *meter_of(double rate)
{
  const struct sc_rds_settings settings = {rate, true, (double)NAN, SC_RDS_REGION_OPEN};
  struct sc_rds_meter *meter;
  ck_assert_int_eq(sc_rds_create(&settings, &meter), SC_OK);
  return meter;
}

/* `gap_s` > 0: half a second is missing there. */
static void record(const struct sc_scenario *s, struct noise noise, double seconds, double gap_s)
{
  static double out[BLOCK];
  static float khz[BLOCK];
  struct sc_message message = {""};
  struct sc_generator *generator;
  struct sc_rds_meter *meter = meter_of(s->rate_hz);
  const enum sc_error error = sc_generator_create(s, &generator, &message);
  ck_assert_msg(error == SC_OK, "%s", message.text);
  bool gap = true;
  double now = 0.0;
  for (; now < seconds; now += BLOCK / s->rate_hz) {
    sc_generator_run(generator, out, BLOCK);
    for (size_t i = 0; i < BLOCK; i++)
      khz[i] = (float)(scale_khz * out[i]);
    add_noise(&noise, khz, BLOCK);
    const bool missing = gap_s > 0.0 && now >= gap_s && now < gap_s + 0.5;
    if (!missing)
      sc_rds_feed(meter, khz, BLOCK, gap);
    gap = missing;
  }
  sc_rds_result(meter, &rds);
  sc_generator_destroy(generator);
  sc_rds_destroy(meter);
}

/* ---- clean and strong */

START_TEST(all_that_is_sent_is_read)
{
  struct sc_scenario s =
      station("station = { rds = { khz = 2; tp = true; ta = true; music = true; stereo = true;"
              " ecc = 0xE1; af_mhz = ( 96.7, 101.3 ); ptyn = \"HILLS\"; }; }");
  record(&s, noise_of(noise_ratio, support_seed("all_that_is_sent_is_read", 60)), 10.0, 0.0);
  ck_assert_int_eq(rds.present, SC_YES);
  ck_assert_uint_ge(rds.data.groups, 109); /* 114 in 10 s, less the filters and the last window */
  ck_assert_uint_eq(rds.corrected_blocks + rds.lost_blocks, 0);
  ck_assert_str_eq(rds.data.pi, "C4A7");
  ck_assert_str_eq(rds.data.ps, "KITEFELL");
  ck_assert_str_eq(rds.data.rt, "Wind and weather from the ridge");
  ck_assert_str_eq(rds.data.ptyn, "HILLS");
  ck_assert_uint_eq(rds.data.af_count, 2); /* in the order of coming in */
  ck_assert_double_eq_tol(rds.data.af_mhz[0] + rds.data.af_mhz[1], 198.0, 1e-9);
  ck_assert_str_eq(rds.data.country, "United Kingdom");
  ck_assert_str_eq(rds.data.pty_name, "Pop music");
  ck_assert_int_eq(rds.data.tp, SC_YES);
  ck_assert_int_eq(rds.data.ta, SC_YES);
  ck_assert_int_eq(rds.data.music, SC_YES);
  ck_assert_str_eq(rds.data.di, "stereo");
  ck_assert_double_eq_tol(rds.injection_khz.value, 2.0, 4.0 * rds.injection_khz.uncertainty);
  ck_assert_double_eq_tol(rds.injection_khz.value, 2.0, 0.01);
  ck_assert_double_eq_tol(rds.subcarrier_hz.value, 57e3, 5.0 * rds.subcarrier_hz.uncertainty);
  ck_assert_double_eq_tol(rds.bit_rate_bps.value, 1187.5, 0.002);
  ck_assert_double_eq_tol(rds.phase_deg.value, 0.0, 0.3);
  ck_assert_int_eq(rds.phase_within, SC_YES);
}
END_TEST

/* Rms of the subcarrier against a sum over its samples: data that is all the same has the same
 * injection as data at random (what random data of this rms peaks at). */
START_TEST(injection_does_not_hang_on_the_data)
{
  static const char *const groups[] = {
      "station = { rds = { khz = 2; groups_only = true; groups = ( ( 0xC4A7, 0, 0, 0 ) ); }; }",
      ("station = { rds = { khz = 2; groups_only = true;"
       " groups = ( ( 0xFFFF, 0x07FF, 0xFFFF, 0xFFFF ) ); }; }"),
      "station = { rds = { khz = 2; }; }"};
  double value[3];
  for (int i = 0; i < 3; i++) {
    struct sc_scenario s = station(groups[i]);
    record(&s, noise_of(noise_ratio, 63), 2.5, 0.0);
    value[i] = rds.injection_khz.value;
    printf("%d: %.4f +- %.4f kHz\n", i, value[i], rds.injection_khz.uncertainty);
    ck_assert_double_eq_tol(value[i], 2.0, 0.012);
  }
}
END_TEST

/* ---- odd conditions */

START_TEST(decoded_under_all_conditions)
{
  static const struct {
    const char *what;
    double hz, phase_deg; /* NAN: not to be measured */
    enum sc_truth within;
  } cases[] = {
      {"station = { pilot = { khz = 0; }; }", 57e3, (double)NAN, SC_UNKNOWN},
      {"station = { pilot = { hz = 19002; }; }", 57006, 0.0, SC_YES},
      {"station = { pilot = { hz = 18998; phase_deg = 77; }; }", 56994, 0.0, SC_YES},
      {"station = { rds = { phase_deg = 90; }; }", 57e3, 90.0, SC_YES},
      {"station = { rds = { phase_deg = 45; }; }", 57e3, 45.0, SC_NO},
      {"station = { rds = { phase_deg = 180; }; }", 57e3, 0.0, SC_YES}, /* all bits inverted */
      {"receiver = { clock_ppm = 50; }", 57e3 / (1 + 50e-6), 0.0, SC_YES},
      {"receiver = { clock_ppm = -50; }", 57e3 / (1 - 50e-6), 0.0, SC_YES},
      /* a wrong pilot: the station's own is missing, another stands 1.3 Hz off */
      {"station = { pilot = { khz = 0; }; tones = ( { hz = 19001.3; khz = 6.75; } ); }", 57e3,
       (double)NAN, SC_UNKNOWN},
      {"station = { programme = ( { kind = \"pink\"; to = \"left\"; khz = 15; },"
       " { kind = \"pink\"; to = \"right\"; khz = 15; } ); }",
       57e3, 0.0, SC_YES},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct sc_scenario s = station(cases[i].what);
    s.station.rds.khz = 2.0;
    record(&s, noise_of(noise_ratio, 64 + i), 2.2, 0.0);
    printf("%s: %.4f +- %.4f Hz, %.2f +- %.2f degrees, %.4f +- %.4f bit/s, %llu of %llu wrong\n",
           cases[i].what, rds.subcarrier_hz.value, rds.subcarrier_hz.uncertainty,
           rds.phase_deg.value, rds.phase_deg.uncertainty, rds.bit_rate_bps.value,
           rds.bit_rate_bps.uncertainty, (unsigned long long)rds.lost_blocks,
           (unsigned long long)rds.blocks);
    ck_assert_int_eq(rds.present, SC_YES);
    ck_assert_str_eq(rds.data.pi, "C4A7");
    ck_assert_uint_ge(rds.data.groups, 18);
    ck_assert_uint_eq(rds.lost_blocks, 0);
    ck_assert_double_eq_tol(rds.subcarrier_hz.value, cases[i].hz, 0.01);
    ck_assert_double_eq_tol(rds.bit_rate_bps.value, cases[i].hz / 48.0, 0.01);
    ck_assert_int_eq(rds.phase_within, cases[i].within);
    if (isnan(cases[i].phase_deg))
      ck_assert_ptr_nonnull(rds.phase_deg.why);
    else
      ck_assert_double_eq_tol(remainder(rds.phase_deg.value - cases[i].phase_deg, 180.0), 0.0, 0.5);
  }
}
END_TEST

START_TEST(goes_on_after_a_gap)
{
  struct sc_scenario s = station("station = { rds = { khz = 2; }; }");
  record(&s, noise_of(noise_ratio, 80), 6.0, 2.6);
  ck_assert_uint_ge(rds.data.groups, 48);
  ck_assert_uint_eq(rds.lost_blocks, 0);
  ck_assert_str_eq(rds.data.ps, "KITEFELL");
}
END_TEST

/* ---- at the limit */

static double q_of(double x)
{
  return 0.5 * erfc(x / sqrt(2.0));
}

/* Share of wrong blocks: 27 decisions must be right (differential decoding), each wrong with
 * Q(sqrt(2 Eb / N0)); Proakis, Digital Communications, coherent antipodal signals. Eb from the
 * rms, 1 / 2.0403 of the peak (computed). */
static double wrong_blocks(double injection_khz)
{
  const double rms_hz = injection_khz * 1e3 / 2.0403;
  const double energy = rms_hz * rms_hz / 1187.5, density = 57e3 * 57e3 * noise_ratio;
  return 1.0 - pow(1.0 - q_of(sqrt(2.0 * energy / density)), 27.0);
}

static double injection_for(double share)
{
  double low = 0.01, high = 5.0;
  while (high - low > 1e-6) {
    const double middle = (low + high) / 2.0;
    if (wrong_blocks(middle) > share)
      low = middle;
    else
      high = middle;
  }
  return low;
}

START_TEST(block_errors_as_theory_has_them)
{
  static const double shares[] = {0.5, 0.1};
  const double loss_db = 1.0;
  const unsigned records = support_trials(support_long() ? 20 : 1);
  const uint64_t seed = support_seed("block_errors_as_theory_has_them", 65);
  for (int i = 0; i < 2; i++) {
    struct sc_scenario s = station("");
    s.station.rds.khz = injection_for(shares[i]);
    double wrong = 0.0, blocks = 0.0;
    for (unsigned k = 0; k < records; k++) {
      s.seed = seed + k;
      record(&s, noise_of(noise_ratio, seed + 100 * (unsigned)i + k), 10.0, 0.0);
      wrong += rds.block_error_rate.value * (double)rds.blocks;
      blocks += (double)rds.blocks;
      ck_assert_str_eq(rds.data.pi, "C4A7");
      ck_assert_str_eq(rds.data.ps, "KITEFELL");
    }
    const double lost_db = 20.0 * log10(s.station.rds.khz / injection_for(wrong / blocks));
    printf("%.3f kHz: %.1f %% of blocks wrong, theory %.0f %%: %.2f dB lost; corrected %.1f %%\n",
           s.station.rds.khz, 100.0 * wrong / blocks, 100.0 * shares[i], lost_db,
           100.0 * (double)rds.corrected_blocks / (double)rds.blocks);
    ck_assert_double_lt(lost_db, loss_db);
  }
  ck_assert_double_eq_tol(injection_for(0.5), 0.39, 0.01);
}
END_TEST

/* ---- presence */

static double usual_s(void)
{
  return support_long() ? 10.0 : 4.0;
}

static double stated_limit(uint64_t seed)
{
  double sum = 0.0;
  for (unsigned k = 0; k < 3; k++) {
    struct sc_scenario s = station("");
    record(&s, noise_of(noise_ratio, seed + k), usual_s(), 0.0);
    ck_assert_ptr_null(rds.detection_limit_khz.why);
    sum += rds.detection_limit_khz.value;
  }
  return sum / 3.0;
}

START_TEST(found_at_the_stated_limit)
{
  const unsigned records = support_trials(support_long() ? 200 : 3);
  const uint64_t seed = support_seed("found_at_the_stated_limit", 66);
  const double limit = stated_limit(seed + 1000);
  unsigned found = 0;
  for (unsigned k = 0; k < records; k++) {
    struct sc_scenario s = station("");
    s.station.rds.khz = limit;
    s.station.pilot_hz = 19000.0 + 0.013 * k;
    record(&s, noise_of(noise_ratio, seed + k), usual_s(), 0.0);
    found += rds.present == SC_YES;
  }
  printf("at %.4f kHz %u of %u records found\n", limit, found, records);
  ck_assert_uint_ge(100 * found, 98 * records);
}
END_TEST

START_TEST(nothing_is_found_where_nothing_is)
{
  static const char *const cases[] = {
      "station = { pilot = { khz = 6.75; }; }",
      "station = { programme = ( { kind = \"pink\"; to = \"left\"; khz = 15; },"
      " { kind = \"pink\"; to = \"right\"; khz = 12; } ); }",
      "station = { pilot = { khz = 0; }; bands = ( { hz = 57e3; width_hz = 5e3; rms_khz = 1; } ); "
      "}",
      "station = { tones = ( { hz = 57000; khz = 2; } ); }",
      "station = { tones = ( { hz = 57931; khz = 1; }, { hz = 56069; khz = 1; } ); }",
      "station = { subcarriers = ( { hz = 67e3; khz = 6; limit_hz = 5e3;"
      " programme = ( { kind = \"pink\"; khz = 4; } ); } ); }",
      "station = { programme = ( { kind = \"tone\"; to = \"left\"; hz = 593.75; khz = 40; } ); }",
  };
  enum { CASES = sizeof cases / sizeof cases[0] };
  const unsigned records = support_trials(support_long() ? 1000 : CASES);
  const uint64_t seed = support_seed("nothing_is_found_where_nothing_is", 67);
  unsigned found = 0, spoken = 0;
  for (unsigned k = 0; k < records; k++) {
    struct sc_scenario s = station(cases[k % CASES]);
    s.seed = seed + k;
    record(&s, noise_of(noise_ratio, seed + k), support_long() ? 10.0 : 2.0, 0.0);
    found += rds.present != SC_NO;
    spoken += rds.data.pi[0] != '\0';
    if (rds.present != SC_NO)
      printf("%s: %s\n", cases[k % CASES], rds.evidence);
  }
  printf("of %u records without data %u are called present, %u show a PI\n", records, found,
         spoken);
  ck_assert_uint_eq(found, 0);
  ck_assert_uint_eq(spoken, 0);
}
END_TEST

START_TEST(says_why_not)
{
  struct sc_rds_meter *meter = meter_of(96e3);
  const float silence[64] = {0.0F};
  sc_rds_feed(meter, silence, 64, true);
  sc_rds_result(meter, &rds);
  ck_assert_int_eq(rds.present, SC_UNKNOWN);
  ck_assert_str_eq(rds.injection_khz.why, "the composite ends below 60 kHz");
  sc_rds_destroy(meter);
  meter = meter_of(192e3);
  sc_rds_feed(meter, silence, 64, true);
  sc_rds_result(meter, &rds);
  ck_assert_int_eq(rds.present, SC_UNKNOWN);
  ck_assert_ptr_nonnull(rds.detection_limit_khz.why);
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
  tcase_add_test(tests, all_that_is_sent_is_read);
  tcase_add_test(tests, injection_does_not_hang_on_the_data);
  tcase_add_test(tests, decoded_under_all_conditions);
  tcase_add_test(tests, goes_on_after_a_gap);
  tcase_add_test(tests, block_errors_as_theory_has_them);
  tcase_add_test(tests, found_at_the_stated_limit);
  tcase_add_test(tests, nothing_is_found_where_nothing_is);
  tcase_add_test(tests, says_why_not);
  tcase_add_test(tests, memory_may_run_out);
  tcase_add_test(tests, feeding_takes_no_memory);
  suite_add_tcase(suite, tests);
  return suite;
}
