/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Deviation against closed forms, in noise, and from the air. */
#include <config.h>

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include <sidecomb/composite.h>
#include <sidecomb/deviation.h>
#include <sidecomb/signal.h>

#include "dsp/discriminator.h"
#include "dsp/resample.h"
#include "measure/received.h"
#include "measure/suites.h"
#include "signal/random.h"
#include "support/random.h"
#include "support/support.h"

#define TWO_PI 6.283185307179586476925286766559

enum { BLOCK = 4000, RATE = 480000, TONES_MAX = 64 };

struct tone {
  double khz, hz, phase_rad;
};

struct scene {
  double rate_hz, offset_khz;
  struct tone tones[TONES_MAX];
  double noise_khz; /* rms; of the discriminator's kind, up to 100 kHz */
  double data_khz;  /* peak, about 57 kHz */
  uint64_t seed;
};

static struct sc_deviation_meter *create(double rate_hz)
{
  struct sc_deviation_meter *meter;
  const struct sc_deviation_settings settings = {rate_hz, true, 0.0};
  ck_assert_int_eq(sc_deviation_create(&settings, &meter), SC_OK);
  return meter;
}

/* What a demodulator leaves of white noise: the phase's difference, equalised. */
struct noise {
  struct dsp_resampler *filter;
  double rms, per_hz; /* for white noise of rms 1; per_hz: the density is f^2 times this */
  struct signal_random random;
};

static struct noise create_noise(double rate_hz, uint64_t seed)
{
  struct noise n = {0};
  double *equaliser;
  size_t count;
  ck_assert_int_eq(dsp_equaliser_design(100e3, 140e3, 80.0, rate_hz, &equaliser, &count), SC_OK);
  double *taps = calloc(count + 1, sizeof *taps);
  for (size_t k = 0; k < count; k++) {
    taps[k] += equaliser[k];
    taps[k + 1] -= equaliser[k];
  }
  for (size_t k = 0; k <= count; k++)
    n.rms += taps[k] * taps[k];
  n.rms = sqrt(n.rms);
  n.per_hz = pow(TWO_PI / rate_hz, 2.0) * 2.0 / rate_hz;
  ck_assert_int_eq(dsp_resampler_create(1, 1, 1, taps, count + 1, BLOCK, &n.filter), SC_OK);
  signal_random_seed(&n.random, seed);
  free(equaliser);
  free(taps);
  return n;
}

static void add_noise(struct noise *n, double rms_khz, double *values)
{
  static float white[BLOCK], coloured[BLOCK];
  for (size_t k = 0; k < BLOCK; k++)
    white[k] = (float)(rms_khz / n->rms * signal_random_gauss(&n->random));
  dsp_resampler_run(n->filter, white, BLOCK, coloured);
  for (size_t k = 0; k < BLOCK; k++)
    values[k] += (double)coloured[k];
}

/* Two-phase data at 1187.5 bit/s on 57 kHz, for a band that is occupied; its edges are soft. */
static void add_data(const struct scene *s, size_t first, uint64_t *random, double *values)
{
  static double now, level;
  for (size_t k = 0; k < BLOCK; k++) {
    const double bits = (double)(first + k) / s->rate_hz * 2375.0;
    if (floor(bits) > floor(bits - 2375.0 / s->rate_hz))
      level = support_random(random) % 2 == 0 ? 1.0 : -1.0;
    now += 0.05 * (level - now);
    values[k] +=
        s->data_khz * now * sin(TWO_PI * fmod(57e3 * (double)(first + k) / s->rate_hz, 1.0));
  }
}

static void add_tones(const struct scene *s, size_t first, double *values)
{
  for (const struct tone *t = s->tones; t < s->tones + TONES_MAX && t->khz != 0.0; t++)
    for (size_t k = 0; k < BLOCK; k++)
      values[k] +=
          t->khz * sin(TWO_PI * fmod(t->hz * (double)(first + k) / s->rate_hz, 1.0) + t->phase_rad);
}

static void feed(struct sc_deviation_meter *meter, const struct scene *s, double seconds)
{
  static double values[BLOCK];
  static float out[BLOCK];
  struct noise noise = {0};
  if (s->noise_khz > 0.0)
    noise = create_noise(s->rate_hz, s->seed);
  uint64_t data = s->seed;
  for (size_t n = 0; n < (size_t)(seconds * s->rate_hz); n += BLOCK) {
    for (size_t k = 0; k < BLOCK; k++)
      values[k] = s->offset_khz;
    add_tones(s, n, values);
    if (s->data_khz > 0.0)
      add_data(s, n, &data, values);
    if (s->noise_khz > 0.0)
      add_noise(&noise, s->noise_khz, values);
    for (size_t k = 0; k < BLOCK; k++)
      out[k] = (float)values[k];
    sc_deviation_feed(meter, out, BLOCK, false);
  }
  dsp_resampler_destroy(noise.filter);
}

static const struct sc_composite_noise unknown = {(double)NAN, (double)NAN, (double)NAN};

static struct sc_composite_noise known(double rms_khz)
{
  struct noise n = create_noise(RATE, 0);
  const double per_hz = n.per_hz * pow(rms_khz * 1e3 / n.rms, 2.0);
  dsp_resampler_destroy(n.filter);
  return (struct sc_composite_noise){rms_khz, per_hz, 0.005};
}

static struct sc_deviation measure(const struct scene *s, double seconds, double noise_khz)
{
  struct sc_deviation d;
  struct sc_deviation_meter *meter = create(s->rate_hz);
  feed(meter, s, seconds);
  const struct sc_composite_noise noise = known(noise_khz);
  sc_deviation_result(meter, &noise, &d);
  sc_deviation_destroy(meter);
  return d;
}

/* 0 dBr is the power of a sine of 19 kHz peak deviation: Rec. ITU-R BS.412, 2.5.1. A sine of 75 kHz
 * is 20 log10(75 / 19) = 11.926 dBr, a pilot of 6.75 kHz -8.99 dBr. */
START_TEST(sines_have_their_power)
{
  static const struct {
    double khz, hz, dbr;
  } cases[] = {{75.0, 1000.0, 11.926}, {19.0, 400.0, 0.0}, {6.75, 19000.0, -8.989}};
  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
    for (int offset = 0; offset < 2; offset++) {
      struct scene s = {.rate_hz = RATE, .offset_khz = 5.0 * offset};
      s.tones[0] = (struct tone){cases[i].khz, cases[i].hz, 0.3};
      const struct sc_deviation d = measure(&s, 2.0, (double)NAN);
      ck_assert_double_eq_tol(d.power_dbr.value, cases[i].dbr, 1e-3);
      ck_assert_double_eq_tol(d.rms_khz.value, cases[i].khz / sqrt(2.0), 1e-4 * cases[i].khz);
      ck_assert_double_eq_tol(d.positive_khz.value, cases[i].khz, 1e-3 * cases[i].khz);
      ck_assert_double_eq_tol(d.negative_khz.value, cases[i].khz, 1e-3 * cases[i].khz);
      ck_assert_double_eq_tol(d.offset_khz.value, s.offset_khz, 1e-3);
      ck_assert_double_eq_tol(d.power_window_s.value, 2.0, 1e-9);
      ck_assert_int_eq(d.power_complete, SC_NO);
      ck_assert_double_eq_tol(d.power_at_least_dbr.value,
                              d.power_dbr.value + 10.0 * log10(d.power_window_s.value / 60.0),
                              1e-9);
      ck_assert_ptr_nonnull(d.corrected_khz.why);
    }
}
END_TEST

/* Unequal peaks: sin + half of its second harmonic in phase with the crests. The sum
 * a sin(w) - a/2 cos(2 w) has the maximum 1.5 a and the minimum -0.75 a. */
START_TEST(peaks_of_either_sign)
{
  struct scene s = {.rate_hz = RATE, .offset_khz = -2.0};
  s.tones[0] = (struct tone){40.0, 997.0, 0.0};
  s.tones[1] = (struct tone){20.0, 1994.0, -TWO_PI / 4.0};
  const struct sc_deviation d = measure(&s, 1.0, 0.0);
  ck_assert_double_eq_tol(d.positive_khz.value, 60.0, 0.06);
  ck_assert_double_eq_tol(d.negative_khz.value, 30.0, 0.06);
  ck_assert_double_eq(d.peak_khz.value, d.positive_khz.value);
  ck_assert_double_eq_tol(d.corrected_khz.value, 60.0, 0.3);
}
END_TEST

/* One second at 60 kHz, one at 80: of a sine of 80, 1 - 2/pi asin(75/80) is beyond 75. */
START_TEST(distribution_counts)
{
  struct sc_deviation d;
  struct sc_deviation_meter *meter = create(RATE);
  struct scene s = {.rate_hz = RATE, .offset_khz = 3.0};
  s.tones[0] = (struct tone){60.5, 1000.0, 0.0};
  feed(meter, &s, 1.0);
  s.tones[0].khz = 80.5;
  feed(meter, &s, 1.0);
  sc_deviation_result(meter, &unknown, &d);
  ck_assert_uint_ge(d.interval_count, 39);
  ck_assert_uint_le(d.interval_count, 40);
  ck_assert_uint_ge(d.intervals[60], 19);
  ck_assert_uint_ge(d.intervals[80], 19);
  ck_assert_uint_eq(d.intervals[60] + d.intervals[80], d.interval_count);
  ck_assert_double_eq_tol(d.intervals_exceeded_percent.value, 50.0, 1.5);
  ck_assert_double_eq(d.intervals_tenth_khz.value, 80.0);
  ck_assert_double_eq(d.intervals_hundredth_khz.value, 80.0);
  const double share = 1.0 - 4.0 / TWO_PI * asin(75.0 / 80.5);
  ck_assert_double_eq_tol(d.exceeded_percent.value, 50.0 * share, 0.3);
  sc_deviation_destroy(meter);
}
END_TEST

/* The last class has no upper end, so what half of the intervals reach is not known in it. */
START_TEST(the_distribution_does_not_end_in_a_number)
{
  struct sc_deviation d;
  struct sc_deviation_meter *meter = create(RATE);
  struct scene s = {.rate_hz = RATE};
  s.tones[0] = (struct tone){_i == 0 ? 148.5 : 170, 1000.0, 0.0};
  feed(meter, &s, 1.0);
  sc_deviation_result(meter, &unknown, &d);
  ck_assert_int_eq(d.intervals_half_khz.why == NULL, _i == 0);
  ck_assert_double_eq(_i == 0 ? d.intervals_half_khz.value : 148, 148);
  ck_assert_double_eq_tol(d.intervals_exceeded_percent.value, 100, 1e-9);
  sc_deviation_destroy(meter);
}
END_TEST

/* A sine is above x for 2/pi acos(x/A) of the time (arcsine distribution); its bins are 0.1 kHz
 * wide or finer. A moment is 50 ms until 512 of them are full, then 100 ms. */
START_TEST(moments_and_times_above)
{
  enum { SLOW = 40000, SECONDS = 40 };
  static float block[SLOW / 10];
  struct sc_deviation_meter *meter = create(SLOW);
  struct sc_deviation d;
  for (size_t tenth = 0; tenth < 10 * SECONDS; tenth++) {
    const double khz = tenth == 200 ? 70.0 : 10.0;
    for (size_t n = 0; n < SLOW / 10; n++)
      block[n] = (float)(1.5 + khz * sin(TWO_PI * 997.3 / SLOW * (double)(tenth * SLOW / 10 + n)));
    sc_deviation_feed(meter, block, SLOW / 10, false);
    if (tenth != 199)
      continue;
    sc_deviation_result(meter, &unknown, &d);
    ck_assert_uint_eq(d.moment_count, 400);
    ck_assert_double_eq_tol(d.moment_s, 0.05, 1e-9);
    for (size_t i = 0; i < 10; i++)
      ck_assert_double_eq_tol((double)d.time_above_percent[i],
                              200.0 / TWO_PI * 2.0 * acos((double)i / 10.0), 1.0);
    ck_assert(d.time_above_percent[11] == 0.0F); /* its bins are finer than 1 kHz */
  }
  sc_deviation_result(meter, &unknown, &d);
  ck_assert_uint_eq(d.moment_count, 400);
  ck_assert_double_eq_tol(d.moment_s, 0.1, 1e-9);
  for (size_t i = 0; i < d.moment_count; i++) {
    const double khz = i == 200 ? 70.0 : 10.0;
    if (i == 199 || i == 201)
      continue; /* they see the step beside them */
    ck_assert_double_eq_tol((double)d.moments[i].positive_khz, khz, 0.1);
    ck_assert_double_eq_tol((double)d.moments[i].negative_khz, khz, 0.1);
  }
  ck_assert_double_eq_tol((double)d.time_above_percent[60],
                          200.0 / TWO_PI * 2.0 * acos(60.0 / 70.0) / (10 * SECONDS), 0.01);
  sc_deviation_destroy(meter);
}
END_TEST

/* The highest 60 s of 110 s: 30 s of 20 kHz and 30 s of 10 kHz. */
START_TEST(power_moves_with_its_window)
{
  const double rate_hz = 40e3;
  struct sc_deviation d;
  struct sc_deviation_meter *meter = create(rate_hz);
  struct scene s = {.rate_hz = rate_hz};
  s.tones[0] = (struct tone){10.0, 1000.0, 0.0};
  feed(meter, &s, 40.0);
  s.tones[0].khz = 20.0;
  feed(meter, &s, 30.0);
  s.tones[0].khz = 10.0;
  feed(meter, &s, 40.0);
  sc_deviation_result(meter, &unknown, &d);
  ck_assert_int_eq(d.power_complete, SC_YES);
  ck_assert_double_eq(d.power_window_s.value, 60.0);
  ck_assert_ptr_nonnull(d.power_at_least_dbr.why);
  ck_assert_double_eq_tol(d.power_dbr.value, 10.0 * log10(250.0 / 361.0), 2e-3);
  ck_assert_uint_ge(d.interval_count, 2195); /* more than are kept: some went into classes */
  ck_assert_uint_eq(d.intervals[9] + d.intervals[10] + d.intervals[19] + d.intervals[20],
                    d.interval_count);
  sc_deviation_destroy(meter);
}
END_TEST

/* ---- in noise */

enum what { PILOT_ALONE, MONO, STEREO, STEREO_AND_DATA, WHATS };
static const char *const names[WHATS] = {"pilot", "mono", "stereo", "stereo, data"};

/* One tone of `khz` in a channel: sum and difference, by BS.450 (pilot sin, subcarrier sin of
 * twice its phase). */
static size_t add_stereo(struct tone *t, double hz, double sum_khz, double difference_khz,
                         double phase_rad)
{
  t[0] = (struct tone){sum_khz, hz, phase_rad};
  t[1] = (struct tone){difference_khz / 2.0, 38e3 - hz, TWO_PI / 4.0 - phase_rad};
  t[2] = (struct tone){-difference_khz / 2.0, 38e3 + hz, TWO_PI / 4.0 + phase_rad};
  return 3;
}

static struct scene random_scene(uint64_t *random, enum what what)
{
  struct scene s = {.rate_hz = RATE, .seed = support_random(random)};
  struct tone *to = s.tones;
  const unsigned tones =
      what == PILOT_ALONE ? 0 : 1 + (unsigned)(support_random(random) % (what == MONO ? 20 : 16));
  const double peak_khz = 50.0 + 30.0 * fabs(support_uniform(random));
  double khz[20], sum = 0.0;
  for (unsigned i = 0; i < tones; i++)
    sum += khz[i] = 0.2 + fabs(support_uniform(random));
  *to++ = (struct tone){6.75, 19000.0, 0.0};
  for (unsigned i = 0; i < tones; i++) {
    const double hz = 50.0 + 14950.0 * fabs(support_uniform(random));
    const double level = khz[i] * peak_khz / sum * (tones > 4 ? 2.0 : 1.0);
    const double side = what == MONO ? 0.0 : 0.9 * support_uniform(random);
    if (side == 0.0)
      *to++ = (struct tone){level, hz, 3.14 * support_uniform(random)};
    else
      to += add_stereo(to, hz, level, side * level, 3.14 * support_uniform(random));
  }
  s.data_khz = what == STEREO_AND_DATA ? 2.0 : 0.0;
  return s;
}

/* At 30 dB in 200 kHz the composite's noise is about 1.6 kHz rms. The truth is the peak of the
 * same scene without noise. */
START_TEST(noise_is_taken_off_the_peak)
{
  const unsigned trials = support_trials(support_long() ? 300 : 2);
  const enum what what = (enum what)_i;
  uint64_t random = support_seed("noise_is_taken_off_the_peak", 75 + (uint64_t)what);
  double worst_raw = 0.0, worst = 0.0, bias = 0.0;
  unsigned within_one = 0, beyond_three = 0;
  for (unsigned t = 0; t < trials; t++) {
    struct scene s = random_scene(&random, what);
    const double truth = measure(&s, 1.0, (double)NAN).peak_khz.value;
    s.noise_khz = 1.6;
    const struct sc_deviation d = measure(&s, 1.0, 1.6);
    const double error = d.corrected_khz.value - truth;
    worst_raw = fmax(worst_raw, d.peak_khz.value / truth - 1.0);
    worst = fmax(worst, fabs(error) / truth);
    bias += error / d.corrected_khz.uncertainty / trials;
    within_one += fabs(error) <= d.corrected_khz.uncertainty;
    beyond_three += fabs(error) > 3.0 * d.corrected_khz.uncertainty;
  }
  printf("peaks in noise, %s: raw at most %.1f %% high, corrected within %.2f %%, on the average "
         "%+.2f sigma off, %u of %u within one, %u beyond three\n",
         names[what], 100.0 * worst_raw, 100.0 * worst, bias, within_one, trials, beyond_three);
  fflush(stdout);
  ck_assert_double_le(worst, 0.03);
  ck_assert_uint_ge(within_one, trials / 2);
  ck_assert_uint_le(beyond_three, (trials + 99) / 100);
}
END_TEST

/* A moment's difference signal of many partials, each too weak to stand out of the noise that a
 * discriminator has there at 25 dB, adds to the highest peak. The truth is that of the same without
 * noise. */
START_TEST(a_peak_of_weak_partials_is_within_its_uncertainty)
{
  static float out[BLOCK];
  enum { BLOCKS = 240, PARTIALS = 40 };
  const double noise_khz = 2.89;
  unsigned beyond = 0;
  uint64_t random = support_seed("a_peak_of_weak_partials_is_within_its_uncertainty", 79);
  for (unsigned trial = 0; trial < 4; trial++) {
    double hz[PARTIALS], phase[PARTIALS], truth = 0.0;
    for (size_t i = 0; i < PARTIALS; i++) {
      hz[i] = 38e3 + 13e3 * support_uniform(&random);
      phase[i] = 3.14 * support_uniform(&random);
    }
    struct noise noise = create_noise(RATE, support_random(&random));
    struct sc_deviation_meter *meter = create(RATE);
    for (size_t b = 0; b < BLOCKS; b++) {
      double values[BLOCK];
      for (size_t k = 0; k < BLOCK; k++) {
        const double t = (double)(b * BLOCK + k) / RATE, from = (t - 1.0) / 3e-3;
        const double swell = exp(-from * from);
        values[k] = 6.75 * sin(TWO_PI * 19e3 * t) + 40.0 * swell * sin(TWO_PI * 300.0 * t);
        for (size_t i = 0; swell > 1e-9 && i < PARTIALS; i++)
          values[k] += 0.4 * swell * sin(TWO_PI * hz[i] * t + phase[i]);
        truth = fmax(truth, fabs(values[k]));
      }
      add_noise(&noise, noise_khz, values);
      for (size_t k = 0; k < BLOCK; k++)
        out[k] = (float)values[k];
      sc_deviation_feed(meter, out, BLOCK, false);
    }
    struct sc_deviation d;
    const struct sc_composite_noise of_discriminator = known(noise_khz);
    sc_deviation_result(meter, &of_discriminator, &d);
    printf("weak partials: %.2f kHz, %.2f +- %.2f\n", truth, d.corrected_khz.value,
           d.corrected_khz.uncertainty);
    beyond += fabs(d.corrected_khz.value - truth) > 2.5 * d.corrected_khz.uncertainty;
    sc_deviation_destroy(meter);
    dsp_resampler_destroy(noise.filter);
  }
  fflush(stdout);
  ck_assert_uint_eq(beyond, 0);
}
END_TEST

static double peaked(double t, double at_s)
{
  const double from = (t - at_s) / 0.5e-3;
  return 6.75 * sin(TWO_PI * 19e3 * t) + 20.0 * sin(TWO_PI * 1e3 * t) + 30.0 * exp(-from * from);
}

/* Of blocks with a gap before one of them, what is highest for a millisecond. */
static void check_held(double at_s, size_t blocks, size_t gap, uint64_t seed)
{
  static float out[BLOCK];
  struct noise noise = create_noise(RATE, seed);
  struct sc_deviation_meter *meter = create(RATE);
  for (size_t b = 0; b < blocks; b++) {
    double values[BLOCK];
    for (size_t k = 0; k < BLOCK; k++)
      values[k] = peaked((double)(b * BLOCK + k) / RATE, at_s);
    add_noise(&noise, 1.6, values);
    for (size_t k = 0; k < BLOCK; k++)
      out[k] = (float)values[k];
    sc_deviation_feed(meter, out, BLOCK, b == gap);
  }
  double truth = 0.0;
  for (double from = -3.0; from < 3.0; from += 1e-4)
    truth = fmax(truth, peaked(at_s + from * 0.5e-3, at_s));
  struct sc_deviation d;
  const struct sc_composite_noise of_discriminator = known(1.6);
  sc_deviation_result(meter, &of_discriminator, &d);
  printf("%.2f kHz at %.3f s: %.2f +- %.2f\n", truth, at_s, d.corrected_khz.value,
         d.corrected_khz.uncertainty);
  ck_assert_double_eq_tol(d.corrected_khz.value, truth, 3.0 * d.corrected_khz.uncertainty);
  ck_assert_double_lt(d.corrected_khz.uncertainty, 0.6);
  sc_deviation_destroy(meter);
  dsp_resampler_destroy(noise.filter);
}

/* At the very start, before a gap, behind it, or at the end. */
START_TEST(a_peak_at_an_end_is_held)
{
  enum { BLOCKS = 120, GAP = 70 };
  const double gap_s = GAP * BLOCK / 480e3, end_s = BLOCKS * BLOCK / 480e3;
  const double at_s[] = {0.002, gap_s - 0.002, gap_s + 0.002, end_s - 0.002};
  check_held(at_s[_i], BLOCKS, GAP, 78 + (uint64_t)_i);
}
END_TEST

/* After ten seconds a quarter is looked at, from 11.6 s on in this case: what goes beyond all of
 * that is held as well, in whatever part of a block it comes. */
START_TEST(a_peak_in_a_pause_is_held)
{
  const double at_s[] = {10.3, 10.3 + 8192 / 480e3, 10.9, 11.8};
  check_held(at_s[_i], 1480, SIZE_MAX, 98 + (uint64_t)_i);
}
END_TEST

/* ---- from the air */

/* Of whatever a reference signal demodulates to. */
static struct sc_deviation receive(const struct sc_signal_settings *s, double seconds,
                                   struct sc_demodulator_info *info)
{
  struct received r;
  struct sc_deviation d;
  received_start(&r, s, 0.0, seconds);
  *info = r.info;
  struct sc_deviation_meter *meter = create(r.info.rate_hz);
  while (received_next(&r))
    sc_deviation_feed(meter, r.khz, r.frames, r.first);
  sc_deviation_result(meter, &unknown, &d);
  sc_deviation_destroy(meter);
  return d;
}

START_TEST(from_the_air)
{
  static const double rates_hz[] = {384e3, 480e3, 1.024e6, 2.4e6};
  for (size_t r = 0; r < sizeof rates_hz / sizeof *rates_hz; r++) {
    struct sc_signal_settings s;
    struct sc_demodulator_info info;
    sc_signal_settings_init(&s);
    s.rate_hz = rates_hz[r];
    s.pilot_khz = 6.75;
    s.carrier_offset_hz = -2500.0;
    /* left only: sum and difference in step give 61 (1 + 1) / 2 kHz and the pilot's 6.75 */
    s.left[0] = (struct sc_signal_tone){397.0, 61.0, 0.0};
    s.left_count = 1;
    const struct sc_deviation d = receive(&s, 1.0, &info);
    /* max over the pilot's phase of 30.5 (1 + sin 2p) + 6.75 sin p, found by a fine search */
    double truth = 0.0;
    for (double p = 0.0; p < TWO_PI; p += 1e-4)
      truth = fmax(truth, 30.5 * (1.0 + sin(2.0 * p)) + 6.75 * sin(p));
    ck_assert_double_eq_tol(d.peak_khz.value, truth, 0.01 * truth);
    ck_assert_double_eq_tol(d.offset_khz.value, -2.5, 1e-3);
  }
}
END_TEST

/* What sqrt(noise_integral_hz3 N0 / C) says is what an unmodulated carrier shows. */
START_TEST(noise_is_foretold)
{
  static const double rates_hz[] = {240e3, 384e3, 480e3, 2.4e6};
  for (size_t r = 0; r < sizeof rates_hz / sizeof *rates_hz; r++) {
    struct sc_signal_settings s;
    struct sc_demodulator_info info;
    sc_signal_settings_init(&s);
    s.rate_hz = rates_hz[r];
    s.cnr_db = 30.0;
    s.seed = r;
    const struct sc_deviation d = receive(&s, 0.5, &info);
    const double noise_khz = sqrt(info.noise_integral_hz3 / (1e3 * 200e3)) / 1e3;
    ck_assert_double_eq_tol(d.rms_khz.value / noise_khz, 1.0, 0.02);
  }
}
END_TEST

START_TEST(says_why_not)
{
  struct sc_deviation d;
  struct sc_deviation_meter *meter = create(RATE);
  const float few[3] = {1.0F, 2.0F, 3.0F};
  sc_deviation_feed(meter, few, 3, false);
  sc_deviation_result(meter, &unknown, &d);
  ck_assert_ptr_nonnull(d.peak_khz.why);
  ck_assert_ptr_nonnull(d.power_dbr.why);
  sc_deviation_destroy(meter);
  const struct sc_deviation_settings settings = {RATE, false, 0.0};
  ck_assert_int_eq(sc_deviation_create(&settings, &meter), SC_OK);
  const struct scene s = {.rate_hz = RATE, .tones = {{0.5, 1000.0, 0.0}}};
  feed(meter, &s, 1.0);
  sc_deviation_result(meter, &unknown, &d);
  ck_assert_ptr_nonnull(d.peak_khz.why);
  sc_deviation_destroy(meter);
  const struct sc_deviation_settings slow = {30e3, true, 0.0};
  ck_assert_int_eq(sc_deviation_create(&slow, &meter), SC_BAD_ARGUMENT);
  sc_deviation_destroy(NULL);
}
END_TEST

Suite *deviation_suite(void)
{
  Suite *suite = suite_create("measure/deviation");
  TCase *tests = tcase_create("deviation");
  tcase_set_timeout(tests, 3600);
  tcase_add_test(tests, sines_have_their_power);
  tcase_add_test(tests, peaks_of_either_sign);
  tcase_add_test(tests, distribution_counts);
  tcase_add_loop_test(tests, the_distribution_does_not_end_in_a_number, 0, 2);
  tcase_add_test(tests, moments_and_times_above);
  tcase_add_test(tests, power_moves_with_its_window);
  tcase_add_test(tests, from_the_air);
  tcase_add_test(tests, noise_is_foretold);
  tcase_add_test(tests, says_why_not);
  suite_add_tcase(suite, tests);
  TCase *noise = tcase_create("deviation-noise");
  tcase_set_timeout(noise, 3600);
  tcase_add_loop_test(noise, noise_is_taken_off_the_peak, 0, WHATS);
  tcase_add_test(noise, a_peak_of_weak_partials_is_within_its_uncertainty);
  tcase_add_loop_test(noise, a_peak_at_an_end_is_held, 0, 4);
  tcase_add_loop_test(noise, a_peak_in_a_pause_is_held, 0, 4);
  suite_add_tcase(suite, noise);
  return suite;
}
