/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Bit errors of the RDS demodulator beside the theory of differentially decoded coherent biphase
 * in white noise, what that loses in Eb / N0, and what the whole meter costs. */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include <sidecomb/rds.h>

#include "bench/bench.h"
#include "measure/rds_errors.h"
#include "measure/rds_signal.h"

enum { BLOCK = 8192, BLOCKS = 600 };

static const double errors_wanted = 600, bits_least = 3e4, bits_most = 2e6;

static struct rds_signal signal_at(double db)
{
  struct rds_signal s;
  rds_signal_init(&s);
  s.noise_ratio = RDS_SIGNAL_30_DB;
  s.khz = rds_theory_khz(db, s.noise_ratio);
  s.seed = (uint64_t)(1000.0 * db);
  return s;
}

static void say_errors(double db)
{
  static struct rds_signal s;
  char name[64];
  s = signal_at(db);
  const double theory = rds_theory_bit(rds_theory_decision(s.khz, s.noise_ratio));
  const double bits = fmin(fmax(errors_wanted / theory, bits_least), bits_most);
  const struct rds_errors seen = rds_errors_count(&s, bits);
  const double rate = seen.wrong / seen.bits;
  snprintf(name, sizeof name, "rds, bit errors at %.1f dB Eb/N0", db);
  bench_say(name, rate, "", theory);
  snprintf(name, sizeof name, "rds, lost at %.1f dB Eb/N0", db);
  bench_say(name, db - rds_theory_db(rds_theory_bit, rate), "dB", (double)NAN);
}

static void say_speed(void)
{
  static struct rds_signal s;
  static float khz[BLOCK];
  struct sc_rds_meter *meter;
  struct sc_rds rds;
  const struct sc_rds_settings settings = {192e3, true, 0.0, SC_RDS_REGION_OPEN, 0};
  s = signal_at(17.0);
  s.seed = 1;
  rds_signal_start(&s);
  if (sc_rds_create(&settings, &meter) != SC_OK) {
    fprintf(stderr, "the RDS meter could not be made\n");
    exit(EXIT_FAILURE);
  }
  double spent = 0.0;
  for (int i = 0; i < BLOCKS; i++) {
    rds_signal_run(&s, khz, BLOCK);
    const double start = bench_seconds();
    sc_rds_feed(meter, khz, BLOCK, false);
    spent += bench_seconds() - start;
  }
  sc_rds_result(meter, &rds);
  sc_rds_destroy(meter);
  bench_say("rds, meter at 192 kS/s", (double)BLOCKS * BLOCK / s.rate_hz / spent, "x real",
            (double)NAN);
}

int main(int argc, char **argv)
{
  if (!bench_start(argc, argv))
    return EXIT_FAILURE;
  for (int db = 2; db <= 8; db++)
    say_errors(db);
  say_speed();
  return bench_end();
}
