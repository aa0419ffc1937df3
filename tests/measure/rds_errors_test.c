/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Errors of the RDS demodulator against theory: bits, and blocks. */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "measure/rds_errors.h"
#include "measure/rds_record.h"
#include "measure/rds_signal.h"
#include "measure/suites.h"
#include "support/support.h"

static struct rds_signal made;
static struct rds_record record;

static struct rds_signal *signal_of(double db, uint64_t seed)
{
  rds_signal_init(&made);
  made.noise_ratio = RDS_SIGNAL_30_DB;
  made.khz = rds_theory_khz(db, made.noise_ratio);
  made.seed = seed;
  return &made;
}

static struct rds_signal *station_of(double db, uint64_t seed)
{
  rds_signal_station(signal_of(db, seed));
  return &made;
}

/* At error rates of 1e-2 and 1e-3 within 0.5 dB. Errors come in pairs, so that n of them have a
 * standard deviation of sqrt(2 n): of 40 000 bits 22 % at 1e-3, which is 0.2 dB. */
START_TEST(bit_errors_as_theory_has_them)
{
  static const double rates[] = {1e-2, 1e-3};
  const double tolerance_db = 0.5;
  const double bits[] = {support_long() ? 1e6 : 1e4, support_long() ? 3e6 : 4e4};
  const uint64_t seed = support_seed("bit_errors_as_theory_has_them", 71);
  for (int i = 0; i < 2; i++) {
    const double db = rds_theory_db(rds_theory_bit, rates[i]);
    const struct rds_errors seen = rds_errors_count(signal_of(db, seed + (uint64_t)i), bits[i]);
    const double rate = seen.wrong / seen.bits;
    const double lost_db = db - rds_theory_db(rds_theory_bit, rate);
    printf("Eb/N0 %.3f dB: %.0f of %.0f bits wrong, %.4g +- %.2g, theory %.4g: %.3f dB lost\n", db,
           seen.wrong, seen.bits, rate, sqrt(2.0 * seen.wrong) / seen.bits, rates[i], lost_db);
    ck_assert_double_ge(seen.bits, 0.95 * bits[i]);
    ck_assert_double_eq_tol(lost_db, 0.0, tolerance_db);
  }
}
END_TEST

/* Half and a tenth of the blocks wrong: at most 1 dB above the injection that theory gives. PI and
 * PS are right there in each record. */
START_TEST(block_errors_as_theory_has_them)
{
  static const double shares[] = {0.5, 0.1};
  const double loss_db = 1.0;
  const unsigned records = support_trials(support_long() ? 40 : 1);
  const uint64_t seed = support_seed("block_errors_as_theory_has_them", 65);
  for (int i = 0; i < 2; i++) {
    const double db = rds_theory_db(rds_theory_block, shares[i]);
    double wrong = 0.0, blocks = 0.0, corrected = 0.0;
    for (unsigned k = 0; k < records; k++) {
      struct rds_signal *s = station_of(db, seed + 1000 * (unsigned)i + k);
      record = (struct rds_record){.seconds = 10.0};
      rds_record_signal(s, &record);
      wrong += record.rds.block_error_rate.value * (double)record.rds.blocks;
      blocks += (double)record.rds.blocks;
      corrected += (double)record.rds.corrected_blocks;
      ck_assert_str_eq(record.rds.data.pi, "C4A7");
      ck_assert_str_eq(record.rds.data.ps, "KITEFELL");
    }
    const double lost_db = db - rds_theory_db(rds_theory_block, wrong / blocks);
    printf(
        "%.4f kHz: %.2f %% of %.0f blocks wrong, theory %.0f %%: %.3f dB lost; corrected %.1f %%\n",
        rds_theory_khz(db, RDS_SIGNAL_30_DB), 100.0 * wrong / blocks, blocks, 100.0 * shares[i],
        lost_db, 100.0 * corrected / blocks);
    ck_assert_double_lt(lost_db, loss_db);
  }
  const double half_khz = rds_theory_khz(rds_theory_db(rds_theory_block, 0.5), RDS_SIGNAL_30_DB);
  ck_assert_double_eq_tol(half_khz, 0.39, 0.01);
}
END_TEST

/* The same through the discriminator, from IQ whose noise is 30 dB below the carrier in 200 kHz. */
START_TEST(block_errors_of_iq)
{
  const double loss_db = 1.0;
  const unsigned records = support_trials(support_long() ? 10 : 1);
  const uint64_t seed = support_seed("block_errors_of_iq", 72);
  const double db = rds_theory_db(rds_theory_block, 0.1);
  double wrong = 0.0, blocks = 0.0;
  for (unsigned k = 0; k < records; k++) {
    struct sc_scenario s =
        rds_scenario(SC_WHAT_IQ, "station = { rds = { pi = 0xC4A7; ps = \"KITEFELL\"; }; }");
    s.station.rds.khz = rds_theory_khz(db, RDS_SIGNAL_30_DB);
    s.seed = seed + k;
    record = (struct rds_record){.seconds = support_long() ? 10.0 : 3.0};
    rds_record_scenario(&s, 0.0, &record);
    wrong += record.rds.block_error_rate.value * (double)record.rds.blocks;
    blocks += (double)record.rds.blocks;
    ck_assert_str_eq(record.rds.data.pi, "C4A7");
    ck_assert_str_eq(record.rds.data.ps, "KITEFELL");
  }
  const double lost_db = db - rds_theory_db(rds_theory_block, wrong / blocks);
  printf("%.2f %% of %.0f blocks wrong, theory 10 %%: %.3f dB lost\n", 100.0 * wrong / blocks,
         blocks, lost_db);
  ck_assert_double_lt(lost_db, loss_db);
}
END_TEST

Suite *rds_errors_suite(void)
{
  Suite *suite = suite_create("rds errors");
  TCase *tests = tcase_create("rds errors");
  tcase_set_timeout(tests, 7200);
  tcase_add_test(tests, bit_errors_as_theory_has_them);
  tcase_add_test(tests, block_errors_as_theory_has_them);
  tcase_add_test(tests, block_errors_of_iq);
  suite_add_tcase(suite, tests);
  return suite;
}
