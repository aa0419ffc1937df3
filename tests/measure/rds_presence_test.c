/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Whether RDS is there: found at the stated limit, and nowhere else.
 *
 * Most records are composites made straight at 192 kS/s with the noise of 30 dB carrier to noise
 * in 200 kHz; of the long trials every twentieth comes as IQ through channel filter and
 * discriminator, with that noise beside the carrier. Programme and the like of the generator is
 * used four times there, each time in other noise. */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "measure/rds_presence.h"
#include "measure/rds_record.h"
#include "measure/suites.h"
#include "support/random.h"
#include "support/support.h"

enum { IQ_EVERY = 20, NOISES = 4 };

static struct rds_signal made;
static struct rds_record record;

static double usual_s(void)
{
  return support_long() ? 10.0 : 4.0;
}

/* Whether record k of long trials comes as IQ. */
static bool as_iq(unsigned k)
{
  return support_long() && k % IQ_EVERY == IQ_EVERY - 1;
}

static void silence(uint64_t seed)
{
  rds_signal_init(&made);
  made.noise_ratio = RDS_SIGNAL_30_DB;
  made.seed = seed;
}

/* ---- found */

static double stated_limit(uint64_t seed)
{
  double sum = 0.0;
  enum { RECORDS = 3 };
  for (unsigned k = 0; k < RECORDS; k++) {
    silence(seed + k);
    record = (struct rds_record){.seconds = usual_s()};
    rds_record_signal(&made, &record);
    ck_assert_ptr_null(record.rds.detection_limit_khz.why);
    sum += record.rds.detection_limit_khz.value / RECORDS;
  }
  return sum;
}

static void record_weak_iq(double khz, double pilot_hz, uint64_t seed)
{
  struct sc_scenario s = rds_scenario(SC_WHAT_IQ, "station.rds.ps = \"KITEFELL\"");
  s.station.rds.khz = khz;
  s.station.pilot_hz = pilot_hz;
  s.seed = seed;
  rds_record_scenario(&s, 0.0, &record);
}

START_TEST(found_at_the_stated_limit)
{
  const unsigned records = support_trials(support_long() ? 200 : 8);
  const uint64_t seed = support_seed("found_at_the_stated_limit", 66);
  const double limit = stated_limit(seed + 1000);
  unsigned found = 0, iq = 0;
  for (unsigned k = 0; k < records; k++) {
    const double pilot_hz = 19000.0 + 0.0137 * k;
    record = (struct rds_record){.seconds = usual_s()};
    silence(seed + k);
    rds_signal_station(&made);
    made.khz = limit;
    made.pilot_hz = pilot_hz;
    if (as_iq(k))
      record_weak_iq(limit, pilot_hz, seed + k);
    else
      rds_record_signal(&made, &record);
    iq += as_iq(k);
    found += record.rds.present == SC_YES;
  }
  printf("at %.4f kHz, the limit in %.0f s, %u of %u records found, %u of them IQ\n", limit,
         usual_s(), found, records, iq);
  ck_assert_uint_ge(100 * found, 98 * records);
}
END_TEST

/* The limit is of the noise: the same, whether data is there, read or only found. */
START_TEST(limit_does_not_hang_on_the_data)
{
  static const double injections[] = {0.2, 2.0, 7.0};
  const uint64_t seed = support_seed("limit_does_not_hang_on_the_data", 69);
  const double tolerance = 0.1; /* one record's noise: of 12 Hz of spectrum, 20 % in power at 4 s */
  const double limit = stated_limit(seed + 1000);
  for (size_t i = 0; i < sizeof injections / sizeof injections[0]; i++) {
    silence(seed + i);
    rds_signal_station(&made);
    made.khz = injections[i];
    record = (struct rds_record){.seconds = usual_s()};
    rds_record_signal(&made, &record);
    const struct sc_quantity stated = record.rds.detection_limit_khz;
    printf("%.1f kHz: limit %.4f kHz, without data %.4f kHz\n", injections[i], stated.value, limit);
    ck_assert_int_eq(record.rds.present, SC_YES);
    ck_assert_double_eq_tol(stated.value, limit, tolerance * limit);
  }
}
END_TEST

/* Returns what the search needs next, in seconds. */
static double look_on(struct measure_rds_band *band, struct measure_rds_presence *presence,
                      struct rds_signal *signal, double seconds)
{
  enum { BLOCK = 4096 };
  static float khz[BLOCK];
  double needed_s = 0.0;
  for (double done = 0.0; done < seconds * made.rate_hz; done += BLOCK) {
    memset(khz, 0, sizeof khz);
    if (signal != NULL)
      rds_signal_run(signal, khz, BLOCK);
    measure_rds_band_feed(band, khz, BLOCK);
    needed_s = measure_rds_presence_run(presence, band);
    measure_rds_band_forget(band, needed_s);
  }
  return needed_s;
}

/* Five records, then one of four: they take 12.93 s each (1024 slices of 15 bits). */
START_TEST(a_long_stream_has_one_record_of_four_looked_at)
{
  const double record_s = 1024 * 15 / 1187.5;
  struct measure_rds_band *band;
  struct measure_rds_presence *presence;
  silence(support_seed("a_long_stream_has_one_record_of_four_looked_at", 68));
  rds_signal_station(&made);
  made.khz = 0.5;
  rds_signal_start(&made);
  ck_assert_int_eq(measure_rds_band_create(made.rate_hz, &band), SC_OK);
  ck_assert_int_eq(measure_rds_presence_create(&presence), SC_OK);
  const double needed_s = look_on(band, presence, NULL, 5 * record_s + 1);
  ck_assert_double_eq_tol(needed_s, 8 * record_s, 0.1);
  look_on(band, presence, NULL, 3 * record_s - 2); /* to before the next one begins */
  ck_assert(!measure_rds_presence_result(presence).found);
  look_on(band, presence, &made, record_s + 2);
  ck_assert(measure_rds_presence_result(presence).found);
  measure_rds_presence_destroy(presence);
  measure_rds_band_destroy(band);
}
END_TEST

/* ---- not found */

struct absence {
  const char *what;
  const char *station; /* further assignments */
  double tone_hz;      /* of a composite made straight; NAN: not that way */
};

static const struct absence absences[] = {
    {"silence", "", 0.0},
    {"programme",
     "station = { programme = ( { kind = \"pink\"; to = \"left\"; khz = 15; },"
     " { kind = \"pink\"; to = \"right\"; khz = 12; } ); }",
     (double)NAN},
    {"noise about 57 kHz, no pilot",
     "station = { pilot = { khz = 0; }; bands = ( { hz = 57e3; width_hz = 5e3; rms_khz = 1; } ); }",
     (double)NAN},
    {"tone of 57 kHz", "station = { tones = ( { hz = 57000; khz = 2; } ); }", 57e3},
    {"FM subcarrier at 67 kHz",
     "station = { subcarriers = ( { hz = 67e3; khz = 6; limit_hz = 5e3;"
     " programme = ( { kind = \"pink\"; khz = 4; } ); } ); }",
     (double)NAN},
    {"two tones like the lobes of data",
     "station = { tones = ( { hz = 57931; khz = 1; }, { hz = 56069; khz = 1; } ); }", (double)NAN},
    {"tone in the left channel whose second harmonic is the bit rate",
     "station = { programme = ( { kind = \"tone\"; to = \"left\"; hz = 593.75; khz = 40; } ); }",
     (double)NAN},
};
enum { ABSENCES = sizeof absences / sizeof absences[0], NAMED = 5 };

/* A tone is data that never changes phase. */
static void record_straight(double tone_hz, uint64_t seed)
{
  silence(seed);
  if (tone_hz > 0.0) {
    made.pilot_khz = 2.0;
    made.pilot_hz = tone_hz;
  }
  rds_record_signal(&made, &record);
}

static void record_scenario(unsigned kind, unsigned round, bool iq, uint64_t seed)
{
  static float khz[ABSENCES][RDS_RECORD_FRAMES];
  static size_t frames[ABSENCES];
  struct sc_scenario s = rds_scenario(iq ? SC_WHAT_IQ : SC_WHAT_COMPOSITE, absences[kind].station);
  s.seed = seed;
  if (iq) {
    rds_record_scenario(&s, 0.0, &record);
    return;
  }
  if (frames[kind] == 0 || round % NOISES == 0)
    frames[kind] = rds_record_make(&s, record.seconds, khz[kind]);
  rds_record_made(khz[kind], frames[kind], RDS_SIGNAL_30_DB, seed, &record);
}

static void record_absence(unsigned kind, unsigned round, bool iq, uint64_t seed)
{
  if (iq || isnan(absences[kind].tone_hz))
    record_scenario(kind, round, iq, seed);
  else
    record_straight(absences[kind].tone_hz, seed);
}

/* Of a thousand long records two hundred of each kind that the first five are; the others stand
 * for what might look like data, some of each. */
START_TEST(nothing_is_found_where_nothing_is)
{
  const unsigned records = support_trials(support_long() ? 1000 : ABSENCES);
  const uint64_t seed = support_seed("nothing_is_found_where_nothing_is", 67);
  unsigned found = 0, spoken = 0, iq = 0, of_kind[ABSENCES] = {0};
  for (unsigned k = 0; k < records; k++) {
    const unsigned kind = k < NAMED || k >= ABSENCES ? k % NAMED : k;
    record = (struct rds_record){.seconds = support_long() ? 10.0 : 2.0};
    record_absence(kind, k / NAMED, as_iq(k / NAMED), seed + k);
    of_kind[kind]++;
    iq += as_iq(k / NAMED);
    found += record.rds.present != SC_NO;
    spoken += record.rds.data.pi[0] != '\0' || record.rds.data.groups > 0;
    if (record.rds.present != SC_NO)
      printf("%s: %s\n", absences[kind].what, record.rds.evidence);
  }
  for (unsigned i = 0; i < ABSENCES; i++)
    printf("%u of: %s\n", of_kind[i], absences[i].what);
  printf("of %u records of %.0f s without data, %u of them IQ, %u are called present, %u show a "
         "PI or a group\n",
         records, record.seconds, iq, found, spoken);
  ck_assert_uint_eq(found, 0);
  ck_assert_uint_eq(spoken, 0);
}
END_TEST

Suite *rds_presence_suite(void)
{
  Suite *suite = suite_create("rds presence");
  TCase *tests = tcase_create("rds presence");
  tcase_set_timeout(tests, 7200);
  tcase_add_test(tests, found_at_the_stated_limit);
  tcase_add_test(tests, limit_does_not_hang_on_the_data);
  tcase_add_test(tests, a_long_stream_has_one_record_of_four_looked_at);
  tcase_add_test(tests, nothing_is_found_where_nothing_is);
  suite_add_tcase(suite, tests);
  return suite;
}
