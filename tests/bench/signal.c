/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* How fast captures are made: seconds of capture per second of one core. The bar of the project
 * is 2 for IQ at 2.4 MS/s.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include <sidecomb/scenario.h>

#include "bench/bench.h"

enum { BLOCK = 16384 };

static const double wanted = 2;

/* A station with all that a busy one has, the way to it, and noise. */
static const char busy[] =
    "seed = 1; level_dbfs = -6;"
    "station = { preemphasis_us = 50; pilot = { khz = 6.75; }; residual = { khz = 0.1; };"
    "  programme = ( { kind = \"pink\"; to = \"left\"; khz = 8; },"
    "    { kind = \"pink\"; to = \"right\"; khz = 8; },"
    "    { kind = \"tone\"; to = \"both\"; hz = 1000; khz = 10; } );"
    "  rds = { khz = 2; pi = 0xC4A7; ps = \"KITEFLD\"; };"
    "  subcarriers = ( { hz = 67e3; khz = 5; limit_hz = 5e3;"
    "    programme = ( { kind = \"pink\"; khz = 2; } ); } );"
    "  tones = ( { hz = 61.3e3; khz = 0.3; } ); };"
    "receiver = { noise = { cnr_db = 40; }; carriers = ( { hz = 131.4e3; dbc = -50; } );"
    "  am = ( { hz = 100; percent = 0.5; } ); iq = { gain_db = 0.1; phase_deg = 1; };"
    "  dc = { i = 0.01; }; };";

static const char plain[] =
    "station = { pilot = { khz = 6.75; };"
    "  programme = ( { kind = \"tone\"; to = \"left\"; hz = 1000; khz = 30; } ); };"
    "receiver = { noise = { cnr_db = 40; }; };";

static const char next_door[] =
    "receiver = { neighbours = ( { offset_hz = 400e3; level_db = -10; pilot_khz = 6.75;"
    "  noise_khz = 10; } ); };";

/* Seconds of capture per second of the processor, over one second at least. */
static double speed(struct sc_generator *generator, double rate_hz)
{
  static double out[2 * BLOCK];
  double made = 0, start, taken;
  sc_generator_run(generator, out, BLOCK);
  start = bench_seconds();
  do {
    sc_generator_run(generator, out, BLOCK);
    made += BLOCK / rate_hz;
    taken = bench_seconds() - start;
  } while (taken < 1.5);
  return made / taken;
}

static void run(const char *name, const char *const *texts, enum sc_scenario_what what,
                double rate_hz, double reference)
{
  static struct sc_scenario scenario;
  struct sc_message message = {""};
  struct sc_generator *generator = NULL;
  sc_scenario_init(&scenario);
  enum sc_error error = SC_OK;
  for (; error == SC_OK && *texts != NULL; texts++)
    error = sc_scenario_parse(*texts, name, &scenario, &message);
  scenario.what = what;
  scenario.rate_hz = rate_hz;
  if (error == SC_OK)
    error = sc_generator_create(&scenario, &generator, &message);
  if (error != SC_OK) {
    fprintf(stderr, "%s\n", message.text);
    exit(EXIT_FAILURE);
  }
  bench_say(name, speed(generator, rate_hz), "x realtime", reference);
  sc_generator_destroy(generator);
}

int main(int argc, char **argv)
{
  const char *const plain_one[] = {plain, NULL}, *const busy_one[] = {busy, NULL};
  const char *const busy_two[] = {busy, next_door, NULL};
  if (!bench_start(argc, argv))
    return EXIT_FAILURE;
  run("compose_iq_2400k_tone", plain_one, SC_WHAT_IQ, 2.4e6, wanted);
  run("compose_iq_2400k_busy", busy_one, SC_WHAT_IQ, 2.4e6, wanted);
  run("compose_iq_2400k_neighbour", busy_two, SC_WHAT_IQ, 2.4e6, wanted);
  run("compose_iq_384k_busy", busy_one, SC_WHAT_IQ, 384e3, (double)NAN);
  run("compose_composite_192k_busy", busy_one, SC_WHAT_COMPOSITE, 192e3, (double)NAN);
  bench_say("compose_resident", bench_resident_mb(), "MB", (double)NAN);
  return bench_end();
}
