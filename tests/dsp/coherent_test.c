/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Narrow band and coherent tone: exactness without noise, and the Cramer-Rao bound with it
 * (Rife and Boorstyn, IEEE Trans. Inf. Theory IT-20, 1974: var w = 6 / (eta N (N^2 - 1)),
 * var A = s^2 / (2 N) for A exp(j w n) in complex noise of variance s^2, eta = A^2 / s^2). */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "dsp/coherent.h"
#include "dsp/narrowband.h"
#include "dsp/suites.h"
#include "support/random.h"
#include "support/support.h"

#define TWO_PI 6.283185307179586476925286766559

/* ---- one tone in white noise */

struct trial {
  double frequency_hz, amplitude, phase_rad, noise; /* noise: variance of a complex sample */
};

static const double rate_hz = 200.0;

static struct dsp_coherent_fit run_trial(struct dsp_coherent *coherent, const struct trial *trial,
                                         size_t frames, uint64_t *random)
{
  enum { BLOCK = 100 };
  struct dsp_coherent_fit fit;
  float in[2 * BLOCK];
  dsp_coherent_reset(coherent);
  for (size_t n = 0; n < frames; n += BLOCK) {
    const size_t count = frames - n < BLOCK ? frames - n : BLOCK;
    for (size_t k = 0; k < count; k++) {
      const double angle =
          TWO_PI * trial->frequency_hz * (double)(n + k) / rate_hz + trial->phase_rad;
      const double scatter = sqrt(trial->noise / 2.0);
      in[2 * k] = (float)(trial->amplitude * cos(angle) + scatter * support_normal(random));
      in[2 * k + 1] = (float)(trial->amplitude * sin(angle) + scatter * support_normal(random));
    }
    dsp_coherent_feed(coherent, in, count);
  }
  ck_assert_int_eq(dsp_coherent_result(coherent, &fit), SC_OK);
  return fit;
}

/* Lengths below and above the memory, where samples have been merged none to three times. */
static const size_t lengths[] = {100, 400, 4000, 4096, 9000, 30000};
enum { LENGTHS = sizeof lengths / sizeof *lengths };

START_TEST(exact_without_noise)
{
  uint64_t random = 1;
  struct dsp_coherent *coherent;
  ck_assert_int_eq(dsp_coherent_create(rate_hz, 20.0, 20.0, &coherent), SC_OK);
  for (size_t l = 0; l < LENGTHS; l++)
    for (int k = -3; k <= 3; k++) {
      const struct trial trial = {6.5713 * k, 6.75, 0.9 * k, 0.0};
      const struct dsp_coherent_fit fit = run_trial(coherent, &trial, lengths[l], &random);
      const double tolerance_hz = 1e-7 * 20.0 / fit.record_s;
      ck_assert_double_eq_tol(fit.frequency_hz, trial.frequency_hz, tolerance_hz);
      ck_assert_double_eq_tol(fit.amplitude, 6.75, 1e-5);
      ck_assert_double_eq_tol(remainder(fit.phase_rad - trial.phase_rad, TWO_PI), 0.0, 1e-5);
    }
  dsp_coherent_destroy(coherent);
}
END_TEST

START_TEST(noise_reaches_the_bound)
{
  const size_t frames = lengths[_i];
  const unsigned trials = support_trials(support_long() ? 2000 : frames > 9000 ? 60 : 200);
  uint64_t random = support_seed("noise_reaches_the_bound", 4001 + (uint64_t)_i);
  struct dsp_coherent *coherent;
  double errors[2] = {0.0, 0.0};
  unsigned inside[2] = {0, 0};
  double density = 0.0;
  ck_assert_int_eq(dsp_coherent_create(rate_hz, 20.0, 20.0, &coherent), SC_OK);
  const double n = (double)frames;
  const double eta = 400.0 / n * 10.0; /* E of 36 dB */
  for (unsigned t = 0; t < trials; t++) {
    const struct trial trial = {19.0 * support_uniform(&random), 2.0,
                                3.14 * support_uniform(&random), 4.0 / eta};
    const struct dsp_coherent_fit fit = run_trial(coherent, &trial, frames, &random);
    /* merged samples beyond the last whole one are not in the record: below 1 % */
    const double bound_hz = rate_hz * sqrt(6.0 / (eta * n * (n * n - 1.0))) / TWO_PI;
    const double bound_amplitude = sqrt(trial.noise / (2.0 * n));
    const double error_hz = fit.frequency_hz - trial.frequency_hz;
    const double error_amplitude = fit.amplitude - trial.amplitude;
    errors[0] += error_hz * error_hz / (bound_hz * bound_hz);
    errors[1] += error_amplitude * error_amplitude / (bound_amplitude * bound_amplitude);
    inside[0] += fabs(error_hz) <= fit.frequency_uncertainty_hz;
    inside[1] += fabs(error_amplitude) <= fit.amplitude_uncertainty;
    density += fit.noise_density * rate_hz / trial.noise;
  }
  dsp_coherent_destroy(coherent);
  const double limit = 1.05 * support_mean_square_limit(trials);
  /* three standard deviations of a share of 0.683 */
  const double share = 3.0 * sqrt(0.683 * 0.317 / trials);
  for (int i = 0; i < 2; i++) {
    printf("%zu frames, %s: scatter / bound %.3f, within one sigma %.1f %%\n", frames,
           i == 0 ? "frequency" : "amplitude", sqrt(errors[i] / trials),
           100.0 * inside[i] / trials);
    ck_assert_double_le(errors[i] / trials, limit);
    ck_assert_double_eq_tol((double)inside[i] / trials, 0.683, 0.02 + share);
  }
  printf("%zu frames: noise density / true %.3f\n", frames, density / trials);
  ck_assert_double_eq_tol(density / trials, 1.0, 0.05);
}
END_TEST

/* A line that wanders must not boast of the bound. */
START_TEST(wandering_widens_the_uncertainty)
{
  enum { FRAMES = 4000 };
  static float in[2 * FRAMES];
  struct dsp_coherent *coherent;
  struct dsp_coherent_fit fit;
  for (size_t n = 0; n < FRAMES; n++) {
    const double t = (double)n / rate_hz;
    const double angle = TWO_PI * (1.5 * t + 0.5 * 2e-3 * t * t); /* 2 mHz a second */
    in[2 * n] = (float)cos(angle);
    in[2 * n + 1] = (float)sin(angle);
  }
  ck_assert_int_eq(dsp_coherent_create(rate_hz, 20.0, 20.0, &coherent), SC_OK);
  dsp_coherent_feed(coherent, in, FRAMES);
  ck_assert_int_eq(dsp_coherent_result(coherent, &fit), SC_OK);
  ck_assert_double_eq_tol(fit.frequency_hz, 1.52, 1e-4);
  ck_assert_double_ge(fit.frequency_uncertainty_hz, 5e-5);
  dsp_coherent_destroy(coherent);
}
END_TEST

START_TEST(coherent_refuses_nonsense)
{
  const float in[8] = {0};
  struct dsp_coherent *coherent;
  struct dsp_coherent_fit fit;
  ck_assert_int_eq(dsp_coherent_create(0.0, 20.0, 20.0, &coherent), SC_BAD_ARGUMENT);
  ck_assert_int_eq(dsp_coherent_create(200.0, 20.0, (double)NAN, &coherent), SC_BAD_ARGUMENT);
  ck_assert_int_eq(dsp_coherent_create(200.0, 20.0, 20.0, &coherent), SC_OK);
  dsp_coherent_feed(coherent, in, 4);
  ck_assert_int_eq(dsp_coherent_result(coherent, &fit), SC_UNSUPPORTED);
  dsp_coherent_destroy(coherent);
  dsp_coherent_destroy(NULL);
}
END_TEST

/* ---- the band around one frequency */

/* Amplitude and phase at time zero of the series' tone, from its last frames. */
static double series_gain(struct dsp_narrowband *narrowband, double input_rate_hz, double hz,
                          double centre_hz, double *phase_rad)
{
  enum { BLOCK = 10007 };
  static float in[BLOCK], out[2 * BLOCK];
  const double series_rate_hz = dsp_narrowband_rate(narrowband);
  double re = 0.0;
  double im = 0.0;
  size_t got = 0;
  size_t counted = 0;
  dsp_narrowband_reset(narrowband);
  for (size_t fed = 0; fed < (size_t)input_rate_hz; fed += BLOCK) {
    for (size_t k = 0; k < BLOCK; k++)
      in[k] = (float)sin(TWO_PI * fmod(hz * (double)(fed + k) / input_rate_hz, 1.0) + 0.4);
    const size_t made = dsp_narrowband_run(narrowband, in, BLOCK, out);
    ck_assert_uint_le(made, dsp_narrowband_room(narrowband, BLOCK));
    for (size_t k = 0; k < made; k++) {
      const double t = dsp_narrowband_start(narrowband) + (double)(got + k) / series_rate_hz;
      const double angle = -TWO_PI * fmod((hz - centre_hz) * t, 1.0);
      re += out[2 * k] * cos(angle) - out[2 * k + 1] * sin(angle);
      im += out[2 * k] * sin(angle) + out[2 * k + 1] * cos(angle);
    }
    counted += made;
    got += made;
  }
  *phase_rad = atan2(im, re);
  return hypot(re, im) / (double)counted;
}

START_TEST(narrowband_passes_and_stops)
{
  static const double rates_hz[] = {96e3, 192e3, 454545.4545, 480e3, 800e3};
  for (size_t r = 0; r < sizeof rates_hz / sizeof *rates_hz; r++) {
    struct dsp_narrowband *narrowband;
    double phase;
    ck_assert_int_eq(dsp_narrowband_create(19e3, rates_hz[r], &narrowband), SC_OK);
    ck_assert_double_ge(dsp_narrowband_rate(narrowband), 199.9);
    ck_assert_double_le(dsp_narrowband_rate(narrowband), 240.0);
    for (int k = -2; k <= 2; k++) {
      const double hz = 19e3 + 19.9 * k;
      const double gain = series_gain(narrowband, rates_hz[r], hz, 19e3, &phase);
      ck_assert_double_eq_tol(gain, 1.0, 3e-4);
      ck_assert_double_eq_tol(remainder(phase - 0.4 + TWO_PI / 4.0, TWO_PI), 0.0, 3e-4);
    }
    static const double others_hz[] = {18.9e3, 19.1e3, 15e3, 23e3, 38e3, 1e3};
    for (size_t k = 0; k < sizeof others_hz / sizeof *others_hz; k++)
      ck_assert_double_le(series_gain(narrowband, rates_hz[r], others_hz[k], 19e3, &phase), 1e-4);
    dsp_narrowband_destroy(narrowband);
  }
}
END_TEST

START_TEST(narrowband_refuses_nonsense)
{
  struct dsp_narrowband *narrowband;
  ck_assert_int_eq(dsp_narrowband_create(19e3, 3e3, &narrowband), SC_BAD_ARGUMENT);
  ck_assert_int_eq(dsp_narrowband_create(19e3, 32e3, &narrowband), SC_BAD_ARGUMENT);
  ck_assert_int_eq(dsp_narrowband_create(19e3, (double)NAN, &narrowband), SC_BAD_ARGUMENT);
  dsp_narrowband_destroy(NULL);
}
END_TEST

Suite *coherent_suite(void)
{
  Suite *suite = suite_create("dsp/coherent");
  TCase *tests = tcase_create("coherent");
  tcase_add_test(tests, exact_without_noise);
  tcase_add_loop_test(tests, noise_reaches_the_bound, 0, LENGTHS);
  tcase_add_test(tests, wandering_widens_the_uncertainty);
  tcase_add_test(tests, coherent_refuses_nonsense);
  tcase_add_test(tests, narrowband_passes_and_stops);
  tcase_add_test(tests, narrowband_refuses_nonsense);
  suite_add_tcase(suite, tests);
  return suite;
}
