/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Records through the RDS meter, from either source. */
#include "measure/rds_record.h"

#include <math.h>
#include <string.h>

#include <check.h>
#include <sidecomb/composite.h>

enum { BLOCK = 8192 };
static const double composite_scale_khz = 100.0; /* full scale of a composite, see scenario.h */
static const double gap_length_s = 0.5;

struct run {
  struct sc_rds_meter *meter;
  double rate_hz, now_s;
  bool gap;
};

static struct run begin(double rate_hz, const struct rds_record *record)
{
  const struct sc_rds_settings settings = {rate_hz, true, (double)NAN, record->region,
                                           RDS_RECORD_GROUPS};
  struct run run = {.rate_hz = rate_hz, .gap = true};
  ck_assert_int_eq(sc_rds_create(&settings, &run.meter), SC_OK);
  return run;
}

static void feed(struct run *run, const struct rds_record *record, const float *khz, size_t frames)
{
  const bool missing = record->gap_s > 0.0 && run->now_s >= record->gap_s &&
                       run->now_s < record->gap_s + gap_length_s;
  if (!missing)
    sc_rds_feed(run->meter, khz, frames, run->gap);
  run->gap = missing;
  run->now_s += (double)frames / run->rate_hz;
}

static void end(struct run *run, struct rds_record *record)
{
  uint64_t made;
  sc_rds_result(run->meter, &record->rds);
  record->group_count = sc_rds_groups(run->meter, record->groups, RDS_RECORD_GROUPS, &made);
  sc_rds_destroy(run->meter);
}

/* Frames of the block to come, so that the record has its length to a frame. */
static size_t next_block(const struct run *run, const struct rds_record *record)
{
  const double left = round((record->seconds - run->now_s) * run->rate_hz);
  return left < BLOCK ? (size_t)fmax(left, 0.0) : BLOCK;
}

void rds_record_signal(struct rds_signal *signal, struct rds_record *record)
{
  static float khz[BLOCK];
  struct run run = begin(192e3, record);
  rds_signal_start(signal);
  for (size_t count; (count = next_block(&run, record)) > 0;) {
    rds_signal_run(signal, khz, count);
    feed(&run, record, khz, count);
  }
  end(&run, record);
}

static struct sc_generator *generator_of(const struct sc_scenario *scenario)
{
  struct sc_message message = {""};
  struct sc_generator *generator;
  const enum sc_error error = sc_generator_create(scenario, &generator, &message);
  ck_assert_msg(error == SC_OK, "%s", message.text);
  return generator;
}

size_t rds_record_make(const struct sc_scenario *scenario, double seconds, float *khz)
{
  static double out[BLOCK];
  struct sc_generator *generator = generator_of(scenario);
  const size_t frames = (size_t)lround(seconds * scenario->rate_hz);
  ck_assert_uint_le(frames, RDS_RECORD_FRAMES);
  for (size_t done = 0; done < frames; done += BLOCK) {
    const size_t count = frames - done < BLOCK ? frames - done : BLOCK;
    sc_generator_run(generator, out, count);
    for (size_t i = 0; i < count; i++)
      khz[done + i] = (float)(composite_scale_khz * out[i]);
  }
  sc_generator_destroy(generator);
  return frames;
}

void rds_record_made(const float *khz, size_t frames, double noise_ratio, uint64_t seed,
                     struct rds_record *record)
{
  static struct rds_signal noise;
  static float noisy[BLOCK];
  struct run run = begin(192e3, record);
  rds_signal_init(&noise);
  noise.noise_ratio = noise_ratio;
  noise.seed = seed;
  for (size_t done = 0; done < frames; done += BLOCK) {
    const size_t count = frames - done < BLOCK ? frames - done : BLOCK;
    memcpy(noisy, khz + done, count * sizeof *noisy);
    rds_signal_add_noise(&noise, noisy, count);
    feed(&run, record, noisy, count);
  }
  end(&run, record);
}

static void record_iq(const struct sc_scenario *scenario, struct rds_record *record)
{
  static double out[2 * BLOCK];
  static float iq[2 * BLOCK];
  struct sc_demodulator *demodulator;
  const struct sc_demodulator_settings wanted = {scenario->rate_hz, 0.0};
  struct sc_generator *generator = generator_of(scenario);
  ck_assert_int_eq(sc_demodulator_create(&wanted, &demodulator), SC_OK);
  struct run run = begin(sc_demodulator_info(demodulator).rate_hz, record);
  bool first = true;
  for (double left = scenario->rate_hz * record->seconds; left > 0.0; left -= BLOCK) {
    const float *khz, *channel;
    sc_generator_run(generator, out, BLOCK);
    for (size_t i = 0; i < 2 * BLOCK; i++)
      iq[i] = (float)out[i];
    const size_t frames = sc_demodulator_feed(demodulator, iq, BLOCK, first, &khz, &channel);
    feed(&run, record, khz, frames);
    first = false;
  }
  end(&run, record);
  sc_demodulator_destroy(demodulator);
  sc_generator_destroy(generator);
}

void rds_record_scenario(const struct sc_scenario *scenario, double noise_ratio,
                         struct rds_record *record)
{
  static float khz[RDS_RECORD_FRAMES];
  if (scenario->what == SC_WHAT_IQ)
    record_iq(scenario, record);
  else
    rds_record_made(khz, rds_record_make(scenario, record->seconds, khz), noise_ratio,
                    scenario->seed + 1, record);
}

struct sc_scenario rds_scenario(enum sc_scenario_what what, const char *more)
{
  struct sc_scenario s;
  struct sc_message message = {""};
  sc_scenario_init(&s);
  s.what = what;
  s.rate_hz = what == SC_WHAT_IQ ? 384e3 : 192e3;
  s.level_dbfs = what == SC_WHAT_IQ ? -6.0 : 0.0;
  s.cnr_db = what == SC_WHAT_IQ ? 30.0 : (double)NAN;
  s.cnr_bandwidth_hz = 200e3;
  if (more[0] != '\0')
    ck_assert_msg(sc_scenario_assign(more, &s, &message) == SC_OK, "%s", message.text);
  return s;
}
