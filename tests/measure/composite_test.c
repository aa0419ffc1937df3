/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Demodulator against exact FM: response at every rate, alignment, neighbours, gaps. */
#include <config.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <sidecomb/composite.h>
#include <sidecomb/signal.h>

#include "measure/received.h"
#include "measure/suites.h"
#include "support/support.h"

#define TWO_PI 6.283185307179586476925286766559

static const double rates_hz[] = {192e3,   228e3,   240e3, 250e3,  256e3, 384e3,  480e3, 790e3,
                                  1.024e6, 2.048e6, 2.4e6, 2.56e6, 3.2e6, 5.12e6, 10e6};
enum { RATES = sizeof rates_hz / sizeof *rates_hz };

/* What a whole record demodulates to. */
struct record {
  struct sc_demodulator_info info;
  float *khz, *channel;
  size_t frames;
};

static struct record demodulate(const struct sc_signal_settings *settings, double channel_hz,
                                double seconds)
{
  struct record r = {0};
  struct received from;
  received_start(&from, settings, channel_hz, seconds);
  r.info = from.info;
  const size_t room = (size_t)(seconds * r.info.rate_hz) + from.info.out_frames_max;
  r.khz = malloc(room * sizeof *r.khz);
  r.channel = malloc(2 * room * sizeof *r.channel);
  while (received_next(&from)) {
    memcpy(r.khz + r.frames, from.khz, from.frames * sizeof *r.khz);
    memcpy(r.channel + 2 * r.frames, from.channel, 2 * from.frames * sizeof *r.channel);
    r.frames += from.frames;
  }
  return r;
}

static void discard(struct record *r)
{
  free(r->khz);
  free(r->channel);
}

/* Least squares of constant, cosine and sine; amplitude and sine phase at the capture's t = 0. */
struct fit {
  double constant, amplitude, phase_rad, rest_rms;
};

static void solve3(double m[3][4])
{
  for (int i = 0; i < 3; i++)
    for (int j = 0; j < 3; j++) {
      if (i == j)
        continue;
      const double share = m[j][i] / m[i][i];
      for (int k = 0; k < 4; k++)
        m[j][k] -= share * m[i][k];
    }
}

static struct fit fit_tone(const struct record *r, double frequency_hz)
{
  double m[3][4] = {{0}};
  double energy = 0.0;
  for (size_t n = 0; n < r->frames; n++) {
    const double t = r->info.delay_s + (double)n / r->info.rate_hz;
    const double angle = TWO_PI * frequency_hz * t;
    const double row[4] = {1.0, cos(angle), sin(angle), r->khz[n]};
    energy += row[3] * row[3];
    for (int i = 0; i < 3; i++)
      for (int j = 0; j < 4; j++)
        m[i][j] += row[i] * row[j];
  }
  const double right[3] = {m[0][3], m[1][3], m[2][3]};
  solve3(m);
  const double c = m[1][3] / m[1][1];
  const double s = m[2][3] / m[2][2];
  struct fit fit = {m[0][3] / m[0][0], hypot(c, s), atan2(c, s), 0.0};
  energy -= fit.constant * right[0] + c * right[1] + s * right[2];
  fit.rest_rms = sqrt(fmax(0.0, energy) / (double)r->frames);
  return fit;
}

static struct sc_signal_settings tone_settings(double rate_hz, double frequency_hz,
                                               double deviation_khz, double phase_rad)
{
  struct sc_signal_settings s;
  sc_signal_settings_init(&s);
  s.rate_hz = rate_hz;
  s.composite[0] = (struct sc_signal_tone){frequency_hz, deviation_khz, phase_rad};
  s.composite_count = 1;
  return s;
}

/* The deviation is small enough that the second-order lines, which a narrow capture loses, do not
 * matter: their share of the composite is about index^2 / 8. Without noise two periods and a half
 * fit a tone, or thousands of samples. */
START_TEST(response_is_flat)
{
  const double amplitude_tolerance = 1e-4;
  const double phase_tolerance_rad = 0.01 * TWO_PI / 360.0;
  const double index = 0.01;
  static const double share[] = {0.0005, 0.03, 0.15, 0.19, 0.38, 0.57, 0.8, 0.92, 0.999};
  const double rate_hz = rates_hz[_i];
  for (size_t i = 0; i < sizeof share / sizeof *share; i++) {
    const double top_hz = fmin(100e3, 0.475 * rate_hz);
    const double frequency_hz = share[i] * top_hz;
    const double deviation_khz = index * fmax(frequency_hz, 1e3) / 1000.0;
    const struct sc_signal_settings s = tone_settings(rate_hz, frequency_hz, deviation_khz, 0.7);
    struct record r = demodulate(&s, 0.0, fmax(0.01, 2.5 / frequency_hz));
    ck_assert_double_ge(r.info.rate_hz, 384e3);
    ck_assert_double_le(r.info.rate_hz, 800e3);
    ck_assert_double_ge(r.info.top_hz, top_hz * 0.9999);
    const struct fit fit = fit_tone(&r, frequency_hz);
    ck_assert_double_eq_tol(fit.amplitude / deviation_khz, 1.0, amplitude_tolerance);
    ck_assert_double_eq_tol(fit.phase_rad, 0.7, phase_tolerance_rad);
    ck_assert_double_eq_tol(fit.constant, 0.0, 1e-5);
    discard(&r);
  }
}
END_TEST

/* A full tone: nothing but the tone comes out. 75 kHz at 15 kHz spreads its lines of 1 % and more
 * to +/-120 kHz (Bessel functions of index 5, Abramowitz & Stegun table 9.2). */
START_TEST(full_deviation_is_clean)
{
  static const double wide_hz[] = {384e3, 480e3, 800e3, 1.024e6, 1.2e6, 2.4e6, 3.2e6, 10e6};
  for (size_t i = 0; i < sizeof wide_hz / sizeof *wide_hz; i++)
    for (int f = 1; f <= 15; f += 7) {
      const struct sc_signal_settings s = tone_settings(wide_hz[i], 1e3 * f, 75.0, 0.3);
      struct record r = demodulate(&s, 0.0, 0.05);
      const struct fit fit = fit_tone(&r, 1e3 * f);
      ck_assert_double_eq_tol(fit.amplitude, 75.0, 75.0 * 1e-4);
      ck_assert_double_le(fit.rest_rms, 75.0 * 1e-4);
      ck_assert_int_eq(r.info.truncated, false);
      ck_assert_double_eq(r.info.half_width_hz, 175e3);
      discard(&r);
    }
}
END_TEST

START_TEST(offset_and_channel_add_up)
{
  struct sc_signal_settings s = tone_settings(2.4e6, 1e3, 20.0, 0.0);
  s.carrier_offset_hz = 403217.0;
  struct record r = demodulate(&s, 400e3, 0.1);
  const struct fit fit = fit_tone(&r, 1e3);
  ck_assert_double_eq_tol(fit.constant, 3.217, 1e-5);
  ck_assert_double_eq_tol(fit.amplitude, 20.0, 2e-3);
  discard(&r);
}
END_TEST

/* The channel turned back by the integral of the composite must stand still. */
START_TEST(channel_is_aligned_with_the_composite)
{
  const struct sc_signal_settings s = tone_settings(_i == 0 ? 2.4e6 : 240e3, 10e3, 5.0, 0.0);
  struct record r = demodulate(&s, 0.0, 0.05);
  const double index = 5.0 / 10.0;
  double first = 0.0;
  for (size_t n = 0; n < r.frames; n++) {
    const double t = r.info.delay_s + (double)n / r.info.rate_hz;
    const double phase = -index * cos(TWO_PI * 10e3 * t);
    ck_assert_double_eq_tol(r.khz[n], 5.0 * sin(TWO_PI * 10e3 * t), 1e-3);
    const double re = r.channel[2 * n] * cos(phase) + r.channel[2 * n + 1] * sin(phase);
    const double im = r.channel[2 * n + 1] * cos(phase) - r.channel[2 * n] * sin(phase);
    const double turned = atan2(im, re); /* what the generator began with */
    if (n == 0)
      first = turned;
    ck_assert_double_eq_tol(hypot(re, im), 0.5, 1e-4);
    ck_assert_double_eq_tol(remainder(turned - first, TWO_PI), 0.0, 2e-4);
  }
  discard(&r);
}
END_TEST

/* Unmodulated neighbours 20 dB stronger, two of which the rate changes fold to the channel's edges,
 * must not be seen. */
START_TEST(neighbours_are_cut)
{
  struct sc_signal_settings s = tone_settings(2.4e6, 19e3, 6.75, 0.0);
  s.carriers[0] = (struct sc_signal_tone){300e3, 10.0, 0.0};
  s.carriers[1] = (struct sc_signal_tone){-625e3, 10.0, 0.0}; /* folds to 175 kHz at 800 kS/s */
  s.carriers[2] = (struct sc_signal_tone){225e3, 10.0, 0.0};  /* folds to -175 kHz at 400 kS/s */
  s.carrier_count = 3;
  s.level = 0.05;
  struct record r = demodulate(&s, 0.0, 0.05);
  const struct fit fit = fit_tone(&r, 19e3);
  ck_assert_double_eq_tol(fit.amplitude, 6.75, 6.75e-4);
  /* 100 dB below 20 dB: a beat of 1e-4 times its offset, of which the equaliser leaves little */
  ck_assert_double_le(fit.rest_rms, 175.0 * 1e-4);
  discard(&r);
}
END_TEST

/* After a gap the output goes on as clean as it began, and its time is known. */
START_TEST(gap_leaves_no_transient)
{
  enum { BLOCK = 20000, LOST = 7777 };
  const struct sc_signal_settings s = tone_settings(2.4e6, 19e3, 6.75, 0.0);
  const struct sc_demodulator_settings settings = {2.4e6, 0.0};
  struct sc_demodulator *demodulator;
  struct sc_signal *signal;
  ck_assert_int_eq(sc_demodulator_create(&settings, &demodulator), SC_OK);
  ck_assert_int_eq(sc_signal_create(&s, &signal), SC_OK);
  const struct sc_demodulator_info info = sc_demodulator_info(demodulator);
  static double iq[2 * BLOCK];
  static float in[2 * BLOCK];
  double start = 0.0;
  for (int block = 0; block < 3; block++) {
    sc_signal_iq(signal, iq, BLOCK);
    for (size_t i = 0; i < 2 * BLOCK; i++)
      in[i] = (float)iq[i];
    const float *khz;
    const size_t n = sc_demodulator_feed(demodulator, in, BLOCK, block > 0, &khz, NULL);
    ck_assert_uint_gt(n, BLOCK / info.decimation - 300);
    for (size_t k = 0; k < n; k++) {
      const double t = start + info.delay_s + (double)k / info.rate_hz;
      ck_assert_double_eq_tol(khz[k], 6.75 * sin(TWO_PI * 19e3 * t), 1e-3);
    }
    sc_signal_iq(signal, iq, LOST);
    start += (double)(BLOCK + LOST) / 2.4e6;
  }
  sc_signal_destroy(signal);
  sc_demodulator_destroy(demodulator);
}
END_TEST

START_TEST(truncation_is_said)
{
  struct sc_demodulator *demodulator;
  struct sc_demodulator_settings s = {192e3, 0.0};
  ck_assert_int_eq(sc_demodulator_create(&s, &demodulator), SC_OK);
  struct sc_demodulator_info info = sc_demodulator_info(demodulator);
  ck_assert_int_eq(info.truncated, true);
  ck_assert_double_eq_tol(info.half_width_hz, 91.2e3, 1.0);
  ck_assert_double_eq(info.rate_hz, 384e3);
  sc_demodulator_destroy(demodulator);
  s = (struct sc_demodulator_settings){2.4e6, 1.1e6}; /* 100 kHz from the edge */
  ck_assert_int_eq(sc_demodulator_create(&s, &demodulator), SC_OK);
  info = sc_demodulator_info(demodulator);
  ck_assert_int_eq(info.truncated, true);
  ck_assert_double_le(info.half_width_hz, 100e3);
  sc_demodulator_destroy(demodulator);
}
END_TEST

START_TEST(refuses_what_it_cannot)
{
  struct sc_demodulator *demodulator;
  struct sc_demodulator_settings s = {191e3, 0.0};
  ck_assert_int_eq(sc_demodulator_create(&s, &demodulator), SC_BAD_ARGUMENT);
  s.sample_rate_hz = 11e6;
  ck_assert_int_eq(sc_demodulator_create(&s, &demodulator), SC_BAD_ARGUMENT);
  s = (struct sc_demodulator_settings){2.4e6, 1.17e6};
  ck_assert_int_eq(sc_demodulator_create(&s, &demodulator), SC_UNSUPPORTED);
  s.channel_hz = (double)NAN;
  ck_assert_int_eq(sc_demodulator_create(&s, &demodulator), SC_UNSUPPORTED);
  sc_demodulator_destroy(NULL);
}
END_TEST

Suite *composite_suite(void)
{
  Suite *suite = suite_create("measure/composite");
  TCase *tests = tcase_create("composite");
  tcase_add_loop_test(tests, response_is_flat, 0, RATES);
  tcase_add_test(tests, full_deviation_is_clean);
  tcase_add_test(tests, offset_and_channel_add_up);
  tcase_add_loop_test(tests, channel_is_aligned_with_the_composite, 0, 2);
  tcase_add_test(tests, neighbours_are_cut);
  tcase_add_test(tests, gap_leaves_no_transient);
  tcase_add_test(tests, truncation_is_said);
  tcase_add_test(tests, refuses_what_it_cannot);
  suite_add_tcase(suite, tests);
  return suite;
}
