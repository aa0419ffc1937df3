/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The mixer against its definition by libm. */
#include <config.h>

#include <math.h>
#include <stdlib.h>

#include <fftw3.h>

#include "dsp/resample.h"
#include "dsp/suites.h"
#include "support/support.h"

#define TWO_PI 6.283185307179586476925286766559

/* The step of 1/3 is not exact in binary; the reference phase is computed from the step that the
 * mixer really makes, exactly, with integers. */
START_TEST(mixer_phase_does_not_drift)
{
  enum { BLOCK = 65521, BLOCKS = 4000 };
  struct dsp_mixer mixer;
  float *samples = calloc(2 * BLOCK, sizeof *samples);
  dsp_mixer_set(&mixer, 811e3 / 3.0, 2.4e6);
  const uint64_t step = (uint64_t)ldexp(mixer.step_cycles, 63);
  ck_assert_double_eq(ldexp((double)step, -63), mixer.step_cycles);
  uint64_t phase = 0; /* in units of 2^-63 cycles, wraps at twice a cycle */
  for (int b = 0; b < BLOCKS; b++) {
    dsp_mixer_run(&mixer, samples, samples, BLOCK);
    phase += step * BLOCK;
  }
  const double expected = ldexp((double)(phase & (UINT64_MAX >> 1)), -63);
  const double next = mixer.phase_cycles + (double)mixer.into * mixer.step_cycles;
  const double error = next - expected;
  ck_assert_double_eq_tol(error - nearbyint(error), 0.0, 1e-11);
  free(samples);
}
END_TEST

/* A rotation by whole cycles in a block, whatever the stream is cut to, is that by libm. */
START_TEST(mixer_repeats_whole_cycles)
{
  enum { N = 5000 };
  static const struct {
    double hz, rate_hz;
  } ways[] = {{19e3, 400e3}, {-57e3, 400e3}, {300e3, 2.4e6}, {0.0, 48e3}, {1.0, 3.0}};
  static float real[N], complex[2 * N], of_real[2 * N], of_complex[2 * N];
  for (size_t i = 0; i < N; i++) {
    real[i] = complex[2 * i] = (float)(i % 7) - 2.5F;
    complex[2 * i + 1] = (float)(i % 5);
  }
  for (size_t w = 0; w < sizeof ways / sizeof *ways; w++) {
    static struct dsp_mixer mixer, other;
    dsp_mixer_set(&mixer, ways[w].hz, ways[w].rate_hz);
    other = mixer;
    ck_assert(mixer.repeats);
    for (size_t done = 0, run = 1; done < N; done += run, run = run * 3 % 611) {
      const size_t frames = run < N - done ? run : N - done;
      dsp_mixer_run_real(&mixer, real + done, of_real + 2 * done, frames);
      dsp_mixer_run(&other, complex + 2 * done, of_complex + 2 * done, frames);
    }
    for (size_t i = 0; i < N; i++) {
      const double turns = fmod((double)i * ways[w].hz, ways[w].rate_hz) / ways[w].rate_hz;
      const double c = cos(TWO_PI * turns), s = sin(TWO_PI * turns);
      const double re = (double)complex[2 * i], im = (double)complex[2 * i + 1];
      ck_assert_double_eq_tol((double)of_real[2 * i], re * c, 1e-6);
      ck_assert_double_eq_tol((double)of_real[2 * i + 1], re * s, 1e-6);
      ck_assert_double_eq_tol((double)of_complex[2 * i], re * c - im * s, 1e-6);
      ck_assert_double_eq_tol((double)of_complex[2 * i + 1], re * s + im * c, 1e-6);
    }
  }
}
END_TEST

/* Neighbours of fractions with small denominators have no fraction with one up to 512 nearby: of
 * two that follow each other in the Farey sequence, k / n and l / m, the distance is 1 / (n m) (G.
 * H. Hardy and E. M. Wright, An Introduction to the Theory of Numbers, theorem 28). */
START_TEST(mixer_finds_a_near_frequency_that_repeats)
{
  const double near = dsp_mixer_near(333777.0, 10.0, 2.4e6);
  struct dsp_mixer mixer;
  ck_assert_double_le(fabs(near - 333777.0), 10.0);
  dsp_mixer_set(&mixer, near, 2.4e6);
  ck_assert(mixer.repeats);
  ck_assert_double_eq(dsp_mixer_near(2e3, 10.0, 2.4e6), 2e3);
  ck_assert_double_eq(dsp_mixer_near(2e3, 2001.0, 2.4e6), 0.0);
  ck_assert_double_eq(dsp_mixer_near(-6e5 + 5.0, 10.0, 2.4e6), -6e5);
  ck_assert_double_eq(dsp_mixer_near(-6e5 + 500.0, 10.0, 2.4e6), -6e5 + 500.0);
}
END_TEST

START_TEST(mixer_has_no_spurs)
{
  enum { N = 1 << 16 };
  static const double frequencies[] = {0.1, 1.0 / 3.0, -0.237518, 12345.0 / N, 0.25, 1e-5};
  fftw_complex *error = fftw_alloc_complex(N);
  float *out = malloc(2 * N * sizeof *out);
  float *ones = malloc(2 * N * sizeof *ones);
  fftw_plan plan = fftw_plan_dft_1d(N, error, error, FFTW_FORWARD, FFTW_ESTIMATE);
  for (size_t i = 0; i < N; i++) {
    ones[2 * i] = 1.0F;
    ones[2 * i + 1] = 0.0F;
  }
  for (size_t f = 0; f < sizeof frequencies / sizeof *frequencies; f++) {
    struct dsp_mixer mixer;
    dsp_mixer_set(&mixer, frequencies[f], 1.0);
    dsp_mixer_run(&mixer, ones, out, N);
    for (size_t i = 0; i < N; i++) {
      const double turns = fmod((double)i * frequencies[f], 1.0);
      error[i][0] = out[2 * i] - cos(TWO_PI * turns);
      error[i][1] = out[2 * i + 1] - sin(TWO_PI * turns);
    }
    fftw_execute(plan);
    for (size_t k = 0; k < N; k++)
      ck_assert_double_le(20.0 * log10(hypot(error[k][0], error[k][1]) / N + 1e-30), -130.0);
  }
  fftw_destroy_plan(plan);
  fftw_free(error);
  free(out);
  free(ones);
}
END_TEST

START_TEST(mixer_real_complex_and_in_place_agree)
{
  enum { FRAMES = 1000 };
  float in[FRAMES], pair[2 * FRAMES], out[2 * FRAMES];
  for (size_t i = 0; i < FRAMES; i++) {
    in[i] = pair[2 * i] = (float)rand() / (float)RAND_MAX - 0.5F;
    pair[2 * i + 1] = 0.0F;
  }
  struct dsp_mixer real, both;
  dsp_mixer_set(&real, -12.3, 100.0);
  dsp_mixer_set(&both, -12.3, 100.0);
  dsp_mixer_run_real(&real, in, out, 333);
  dsp_mixer_run_real(&real, in + 333, out + 666, FRAMES - 333);
  dsp_mixer_run(&both, pair, pair, FRAMES);
  for (size_t i = 0; i < FRAMES; i++) {
    const double angle = -TWO_PI * 0.123 * (double)i;
    ck_assert_double_eq_tol(out[2 * i], in[i] * cos(angle), 2e-7);
    ck_assert_double_eq_tol(out[2 * i + 1], in[i] * sin(angle), 2e-7);
    ck_assert_double_eq_tol(pair[2 * i], out[2 * i], 2e-7);
    ck_assert_double_eq_tol(pair[2 * i + 1], out[2 * i + 1], 2e-7);
  }
}
END_TEST

Suite *mixer_suite(void)
{
  Suite *suite = suite_create("dsp/mixer");
  TCase *tests = tcase_create("mixer");
  tcase_add_test(tests, mixer_phase_does_not_drift);
  tcase_add_test(tests, mixer_repeats_whole_cycles);
  tcase_add_test(tests, mixer_finds_a_near_frequency_that_repeats);
  tcase_add_test(tests, mixer_has_no_spurs);
  tcase_add_test(tests, mixer_real_complex_and_in_place_agree);
  suite_add_tcase(suite, tests);
  return suite;
}
