/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What each stage from IQ at 2.4 MS/s to the measured composite costs: processor seconds for a
 * second of capture, all stages against the channel filter and discriminator alone. */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include <sidecomb/am.h>
#include <sidecomb/carrier.h>
#include <sidecomb/composite.h>
#include <sidecomb/deviation.h>
#include <sidecomb/injection.h>
#include <sidecomb/pilot.h>
#include <sidecomb/signal.h>
#include <sidecomb/stereo.h>

#include "bench/bench.h"

enum { BLOCK = 1 << 15, MADE = 8, BLOCKS = 600 };

static const double rate_hz = 2.4e6;

enum stage { DEMODULATOR, CARRIER, AM, PILOT, DEVIATION, STEREO, INJECTION, STAGES };
static const char *const names[STAGES] = {"demodulator", "carrier", "am",       "pilot",
                                          "deviation",   "stereo",  "injection"};

struct chain {
  struct sc_demodulator *demodulator;
  struct sc_carrier_meter *carrier;
  struct sc_am_meter *am;
  struct sc_pilot_meter *pilot;
  struct sc_deviation_meter *deviation;
  struct sc_stereo_meter *stereo;
  struct sc_injection_meter *injection;
  double seconds[STAGES], at;
};

static void must(enum sc_error error)
{
  if (error == SC_OK)
    return;
  fprintf(stderr, "%s\n", sc_error_text(error));
  exit(EXIT_FAILURE);
}

static void create(struct chain *c)
{
  must(sc_demodulator_create(&(struct sc_demodulator_settings){rate_hz, 3e5}, &c->demodulator));
  const struct sc_demodulator_info info = sc_demodulator_info(c->demodulator);
  must(sc_carrier_create(
      &(struct sc_carrier_settings){info.rate_hz, 3e5, info.half_width_hz, 0.0, (double)NAN},
      &c->carrier));
  must(sc_am_create(&(struct sc_am_settings){info.rate_hz, info.noise_bandwidth_hz}, &c->am));
  must(sc_pilot_create(&(struct sc_pilot_settings){info.rate_hz, true, 0.0}, &c->pilot));
  must(
      sc_deviation_create(&(struct sc_deviation_settings){info.rate_hz, true, 0.0}, &c->deviation));
  must(sc_stereo_create(&(struct sc_stereo_settings){info.rate_hz, true, 50.0}, &c->stereo));
  must(sc_injection_create(&(struct sc_injection_settings){info.rate_hz, true}, &c->injection));
}

static void charge(struct chain *c, enum stage stage)
{
  const double now = bench_seconds();
  c->seconds[stage] += now - c->at;
  c->at = now;
}

static void run(struct chain *c, const float *iq)
{
  const float *khz, *channel;
  c->at = bench_seconds();
  const size_t n = sc_demodulator_feed(c->demodulator, iq, BLOCK, false, &khz, &channel);
  charge(c, DEMODULATOR);
  sc_carrier_feed(c->carrier, channel, khz, n, false);
  charge(c, CARRIER);
  sc_am_feed(c->am, channel, n);
  charge(c, AM);
  sc_pilot_feed(c->pilot, khz, n, false);
  charge(c, PILOT);
  sc_deviation_feed(c->deviation, khz, n, false);
  charge(c, DEVIATION);
  sc_stereo_feed(c->stereo, khz, n, false);
  charge(c, STEREO);
  sc_injection_feed(c->injection, khz, n);
  charge(c, INJECTION);
}

static float *make(void)
{
  struct sc_signal_settings s;
  struct sc_signal *signal;
  float *iq = malloc((size_t)MADE * 2 * BLOCK * sizeof *iq);
  double *made = malloc((size_t)2 * BLOCK * sizeof *made);
  sc_signal_settings_init(&s);
  s.rate_hz = rate_hz;
  s.carrier_offset_hz = 3e5;
  s.pilot_khz = 6.75;
  s.left[s.left_count++] = (struct sc_signal_tone){1000.0, 40.0, 0.0};
  s.cnr_db = 50.0;
  must(iq == NULL || made == NULL ? SC_NO_MEMORY : sc_signal_create(&s, &signal));
  for (size_t b = 0; b < MADE; b++) {
    sc_signal_iq(signal, made, BLOCK);
    for (size_t i = 0; i < 2 * BLOCK; i++)
      iq[2 * b * BLOCK + i] = (float)made[i];
  }
  sc_signal_destroy(signal);
  free(made);
  return iq;
}

int main(int argc, char **argv)
{
  struct chain c = {0};
  if (!bench_start(argc, argv))
    return EXIT_FAILURE;
  float *iq = make();
  create(&c);
  for (size_t b = 0; b < BLOCKS; b++)
    run(&c, iq + 2 * (b % MADE) * BLOCK);
  double all = 0.0;
  for (int s = 0; s < STAGES; s++)
    all += c.seconds[s];
  const double captured = (double)BLOCKS * BLOCK / rate_hz;
  char name[64];
  for (int s = 0; s < STAGES; s++) {
    snprintf(name, sizeof name, "composite, %s", names[s]);
    bench_say(name, 100.0 * c.seconds[s] / all, "% of all", (double)NAN);
  }
  bench_say("composite, all at 2.4 MS/s", captured / all, "x real",
            captured / c.seconds[DEMODULATOR]);
  sc_demodulator_destroy(c.demodulator);
  sc_carrier_destroy(c.carrier);
  sc_am_destroy(c.am);
  sc_pilot_destroy(c.pilot);
  sc_deviation_destroy(c.deviation);
  sc_stereo_destroy(c.stereo);
  sc_injection_destroy(c.injection);
  free(iq);
  return bench_end();
}
