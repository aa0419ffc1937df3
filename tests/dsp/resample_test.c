/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Low-pass design and rate changes against their definitions, summed slowly in double. */
#include <config.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "dsp/resample.h"
#include "dsp/suites.h"
#include "support/support.h"

#define TWO_PI 6.283185307179586476925286766559

/* ---- low-pass design */

static double response(const double *taps, size_t count, double cycles)
{
  const double middle = (double)(count - 1) / 2.0;
  double sum = 0.0;
  for (size_t k = 0; k < count; k++)
    sum += taps[k] * cos(TWO_PI * cycles * ((double)k - middle));
  return sum;
}

static void check_design(double pass_hz, double stop_hz, double attenuation_db, double rate_hz)
{
  double *taps;
  size_t count;
  const double ripple = pow(10.0, -attenuation_db / 20.0);
  ck_assert_int_eq(dsp_lowpass_design(pass_hz, stop_hz, attenuation_db, rate_hz, &taps, &count),
                   SC_OK);
  ck_assert_uint_eq(count, dsp_lowpass_length(pass_hz, stop_hz, attenuation_db, rate_hz));
  ck_assert_uint_eq(count % 2, 1);
  for (size_t k = 0; k < count; k++)
    ck_assert_double_eq_tol(taps[k], taps[count - 1 - k], 1e-15);
  ck_assert_double_eq_tol(response(taps, count, 0.0), 1.0, 1e-12);
  for (int i = 0; i <= 1000; i++) {
    const double in_pass = pass_hz * i / 1000.0;
    const double in_stop = stop_hz + (rate_hz / 2.0 - stop_hz) * i / 1000.0;
    ck_assert_double_le(fabs(response(taps, count, in_pass / rate_hz) - 1.0), 2.0 * ripple);
    ck_assert_double_le(fabs(response(taps, count, in_stop / rate_hz)), ripple);
  }
  free(taps);
}

START_TEST(design_keeps_its_promise)
{
  check_design(175e3, 305e3, 80.0, 2.4e6);
  check_design(175e3, 305e3, 95.0, 2.4e6);
  check_design(100.0, 110.0, 60.0, 4800.0);
  check_design(0.0, 0.2, 40.0, 1.0);
  check_design(0.05, 0.45, 120.0, 1.0);
  check_design(0.1, 0.3, 25.0, 1.0);
}
END_TEST

START_TEST(design_refuses_nonsense)
{
  double *taps;
  size_t count;
  ck_assert_int_eq(dsp_lowpass_design(2.0, 1.0, 80.0, 10.0, &taps, &count), SC_BAD_ARGUMENT);
  ck_assert_int_eq(dsp_lowpass_design(1.0, 2.0, 0.0, 10.0, &taps, &count), SC_BAD_ARGUMENT);
  ck_assert_int_eq(dsp_lowpass_design(1.0, 2.0, 80.0, (double)NAN, &taps, &count), SC_BAD_ARGUMENT);
}
END_TEST

/* ---- resampler */

/* Zeros between the samples, the filter, every M-th output: the definition. */
static double slow_output(const float *in, size_t frames, unsigned components, unsigned c,
                          unsigned interpolation, const double *taps, size_t tap_count, size_t at)
{
  double sum = 0.0;
  for (size_t k = 0; k < tap_count && k <= at; k++) {
    const size_t place = at - k;
    if (place % interpolation == 0 && place / interpolation < frames)
      sum += taps[k] * in[place / interpolation * components + c];
  }
  return sum * interpolation;
}

/* But for one near the middle; as of a filter that is down by half at half the rate it makes. */
static void clear_every(unsigned nth, double *taps, size_t count)
{
  for (size_t k = 0; k < count; k++)
    if (k % nth == count / 2 % nth && k != count / 2)
      taps[k] = 0;
}

static void check_resampler(unsigned components, unsigned interpolation, unsigned decimation,
                            size_t tap_count, size_t block)
{
  const size_t frames = 3 * block;
  /* sums of up to 300 products of floats below 1 with taps that add up to about 1 */
  const double tolerance = 2e-6;
  float *in = malloc(frames * components * sizeof *in);
  float *out = malloc((frames * interpolation / decimation + 8) * components * sizeof *out);
  double *taps = malloc(tap_count * sizeof *taps);
  for (size_t i = 0; i < frames * components; i++)
    in[i] = (float)rand() / (float)RAND_MAX - 0.5F;
  for (size_t k = 0; k < tap_count; k++)
    taps[k] = ((double)rand() / RAND_MAX - 0.3) / (double)tap_count;
  if (decimation > 1 && rand() % 2 == 0)
    clear_every(decimation, taps, tap_count);
  struct dsp_resampler *resampler;
  ck_assert_int_eq(dsp_resampler_create(components, interpolation, decimation, taps, tap_count,
                                        block, &resampler),
                   SC_OK);
  for (int run = 0; run < 2; run++) {
    size_t fed = 0;
    size_t got = 0;
    while (fed < frames) {
      size_t n = (size_t)rand() % (block + 1);
      n = n < frames - fed ? n : frames - fed;
      const size_t made =
          dsp_resampler_run(resampler, in + fed * components, n, out + got * components);
      ck_assert_uint_le(made, n * interpolation / decimation + 1);
      fed += n;
      got += made;
    }
    ck_assert_uint_eq(got, (frames * interpolation + decimation - 1) / decimation);
    size_t off = 0; /* one assertion: each of them is written down */
    for (size_t m = 0; m < got; m++)
      for (unsigned c = 0; c < components; c++) {
        const double slow =
            slow_output(in, frames, components, c, interpolation, taps, tap_count, m * decimation);
        off += !(fabs((double)out[m * components + c] - slow) <= tolerance);
      }
    ck_assert_uint_eq(off, 0);
    dsp_resampler_reset(resampler);
  }
  dsp_resampler_destroy(resampler);
  free(taps);
  free(out);
  free(in);
}

START_TEST(resampler_is_its_definition)
{
  srand((unsigned)support_seed("resampler_is_its_definition", 20260301));
  static const unsigned ratios[][2] = {{1, 1}, {1, 5}, {2, 1}, {3, 7}, {4, 6}, {1, 50}, {5, 2}};
  static const size_t lengths[] = {1, 2, 15, 64, 93, 300};
  for (unsigned components = 1; components <= 2; components++)
    for (size_t r = 0; r < sizeof ratios / sizeof *ratios; r++)
      for (size_t l = 0; l < sizeof lengths / sizeof *lengths; l++)
        check_resampler(components, ratios[r][0], ratios[r][1], lengths[l], 1100);
}
END_TEST

/* A filter of nothing gives nothing, whatever was in the output before. */
static void check_zeros(void)
{
  enum { FRAMES = 4100 };
  const double taps[64] = {0.0};
  static float in[FRAMES], out[FRAMES];
  struct dsp_resampler *resampler;
  size_t off = 0;
  for (size_t i = 0; i < FRAMES; i++)
    in[i] = out[i] = 1.0F;
  ck_assert_int_eq(dsp_resampler_create(1, 1, 1, taps, 64, FRAMES, &resampler), SC_OK);
  ck_assert_uint_eq(dsp_resampler_run(resampler, in, FRAMES, out), FRAMES);
  for (size_t i = 0; i < FRAMES; i++)
    off += out[i] != 0.0F;
  ck_assert_uint_eq(off, 0);
  dsp_resampler_destroy(resampler);
}

/* Long ones at an unchanged rate, or at one that is so many times lower, are filtered in another
 * way; lengths from one vector of taps to several groups of vectors. */
START_TEST(long_blocks_are_their_definition)
{
  srand((unsigned)support_seed("long_blocks_are_their_definition", 20261127));
  for (unsigned components = 1; components <= 2; components++)
    for (size_t length = 1; length < 260; length += 1 + length / 5)
      check_resampler(components, 1, 1, length, 4100);
  for (unsigned components = 1; components <= 2; components++)
    for (unsigned decimation = 2; decimation <= 7; decimation++)
      for (size_t length = 8 * decimation; length < 400; length *= 3 + (size_t)rand() % 2)
        check_resampler(components, 1, decimation, length, 1950 * decimation);
  check_zeros();
}
END_TEST

/* To the last bit, so that a result is the same for a file and for a pipe. */
static void check_cuts(unsigned components, unsigned interpolation, unsigned decimation)
{
  enum { FRAMES = 20000, TAPS = 77 };
  double taps[TAPS];
  float *in = malloc(FRAMES * components * sizeof *in);
  float *whole = malloc((FRAMES * interpolation + 1) * components * sizeof *whole);
  float *cut = malloc((FRAMES * interpolation + 1) * components * sizeof *cut);
  struct dsp_resampler *resampler;
  for (size_t k = 0; k < TAPS; k++)
    taps[k] = (double)rand() / RAND_MAX - 0.5;
  for (size_t i = 0; i < FRAMES * components; i++)
    in[i] = (float)rand() / (float)RAND_MAX - 0.5F;
  ck_assert_int_eq(
      dsp_resampler_create(components, interpolation, decimation, taps, TAPS, FRAMES, &resampler),
      SC_OK);
  const size_t made = dsp_resampler_run(resampler, in, FRAMES, whole);
  dsp_resampler_reset(resampler);
  size_t got = 0;
  for (size_t fed = 0; fed < FRAMES;) {
    const size_t n = (size_t)rand() % 500 + 1, left = FRAMES - fed, run = n < left ? n : left;
    got += dsp_resampler_run(resampler, in + fed * components, run, cut + got * components);
    fed += run;
  }
  ck_assert_uint_eq(got, made);
  ck_assert_mem_eq(cut, whole, made * components * sizeof *cut);
  dsp_resampler_destroy(resampler);
  free(in);
  free(whole);
  free(cut);
}

START_TEST(resampler_does_not_care_for_cuts)
{
  srand((unsigned)support_seed("resampler_does_not_care_for_cuts", 20260304));
  static const unsigned ratios[][2] = {{1, 1}, {1, 2}, {1, 3}, {1, 5},
                                       {2, 1}, {3, 7}, {1, 8}, {1, 120}};
  for (unsigned components = 1; components <= 2; components++)
    for (size_t r = 0; r < sizeof ratios / sizeof *ratios; r++)
      check_cuts(components, ratios[r][0], ratios[r][1]);
}
END_TEST

START_TEST(resampler_transient_is_over_when_it_says)
{
  enum { FRAMES = 2000 };
  static const unsigned ratios[][2] = {{1, 1}, {1, 5}, {2, 1}, {3, 7}};
  float in[FRAMES];
  float out[2 * FRAMES + 1];
  for (size_t i = 0; i < FRAMES; i++)
    in[i] = 1.0F;
  for (size_t r = 0; r < sizeof ratios / sizeof *ratios; r++) {
    double *taps;
    size_t count;
    const double edge = 0.5 / fmax(ratios[r][0], ratios[r][1]);
    ck_assert_int_eq(dsp_lowpass_design(0.5 * edge, edge, 90.0, 1.0, &taps, &count), SC_OK);
    struct dsp_resampler *resampler;
    ck_assert_int_eq(
        dsp_resampler_create(1, ratios[r][0], ratios[r][1], taps, count, FRAMES, &resampler),
        SC_OK);
    const size_t got = dsp_resampler_run(resampler, in, FRAMES, out);
    for (size_t m = dsp_resampler_transient(resampler); m < got; m++)
      ck_assert_double_eq_tol(out[m], 1.0, 1e-4);
    dsp_resampler_destroy(resampler);
    free(taps);
  }
}
END_TEST

START_TEST(resampler_refuses_nonsense)
{
  const double tap = 1.0;
  struct dsp_resampler *resampler;
  ck_assert_int_eq(dsp_resampler_create(1, 0, 1, &tap, 1, 1, &resampler), SC_BAD_ARGUMENT);
  ck_assert_int_eq(dsp_resampler_create(1, 1, 0, &tap, 1, 1, &resampler), SC_BAD_ARGUMENT);
  ck_assert_int_eq(dsp_resampler_create(1, 1, 1, &tap, 0, 1, &resampler), SC_BAD_ARGUMENT);
  dsp_resampler_destroy(NULL);
}
END_TEST

/* ---- decimator */

enum { DECIMATED = 600 };

/* Gain for a complex tone: amplitude and phase after the transient, delay taken out. */
static double tone_gain(struct dsp_decimator *decimator, unsigned decimation, double cycles,
                        double *phase_rad)
{
  const size_t frames = (size_t)decimation * DECIMATED;
  float *in = malloc(2 * frames * sizeof *in);
  float *out = malloc(2 * (DECIMATED + 1) * sizeof *out);
  for (size_t i = 0; i < frames; i++) {
    const double turns = cycles * (double)i;
    in[2 * i] = (float)cos(TWO_PI * (turns - floor(turns)));
    in[2 * i + 1] = (float)sin(TWO_PI * (turns - floor(turns)));
  }
  dsp_decimator_reset(decimator);
  const size_t got = dsp_decimator_run(decimator, in, frames, out);
  ck_assert_uint_eq(got, DECIMATED);
  double re = 0.0;
  double im = 0.0;
  for (size_t m = got - 64; m < got; m++) {
    const double angle =
        -TWO_PI * cycles * ((double)m * decimation - dsp_decimator_delay(decimator));
    re += (out[2 * m] * cos(angle) - out[2 * m + 1] * sin(angle)) / 64.0;
    im += (out[2 * m] * sin(angle) + out[2 * m + 1] * cos(angle)) / 64.0;
  }
  *phase_rad = atan2(im, re);
  free(out);
  free(in);
  return hypot(re, im);
}

static void check_decimator(unsigned decimation, double pass, double attenuation_db)
{
  const double limit = pow(10.0, -attenuation_db / 20.0);
  struct dsp_decimator *decimator;
  ck_assert_int_eq(dsp_decimator_create(2, decimation, pass, attenuation_db, decimation,
                                        (size_t)decimation * DECIMATED, &decimator),
                   SC_OK);
  ck_assert_uint_lt(dsp_decimator_transient(decimator), DECIMATED - 64);
  double phase;
  for (int i = -4; i <= 4; i++) {
    const double gain = tone_gain(decimator, decimation, pass * i / 4.0 / decimation, &phase);
    ck_assert_double_eq_tol(gain, 1.0, 3.0 * limit); /* up to three stages that shape the edge */
    ck_assert_double_eq_tol(phase, 0.0, 3.0 * limit);
  }
  /* everything that would fold into the pass band: around each multiple of the final rate */
  for (unsigned k = 1; k < decimation; k += decimation / 20 + 1)
    for (int i = -2; i <= 2; i++) {
      const double cycles = (k + pass * i / 2.0) / decimation;
      ck_assert_double_le(tone_gain(decimator, decimation, cycles, &phase), 1.2 * limit);
    }
  dsp_decimator_destroy(decimator);
}

START_TEST(decimator_passes_and_stops)
{
  check_decimator(5, 0.365, 80.0); /* 2.4 MS/s to 480 kS/s, +/-175 kHz */
  check_decimator(2, 0.4, 90.0);
  check_decimator(7, 0.3, 80.0);
  check_decimator(60, 0.4, 80.0);
  check_decimator(256, 0.45, 100.0);
}
END_TEST

START_TEST(decimator_of_one_copies)
{
  struct dsp_decimator *decimator;
  const float in[4] = {1.0F, 2.0F, 3.0F, 4.0F};
  float out[4] = {0};
  ck_assert_int_eq(dsp_decimator_create(2, 1, 0.4, 80.0, 1.0, 2, &decimator), SC_OK);
  ck_assert_uint_eq(dsp_decimator_transient(decimator), 0);
  ck_assert_uint_eq(dsp_decimator_run(decimator, in, 2, out), 2);
  ck_assert_mem_eq(in, out, sizeof in);
  dsp_decimator_destroy(decimator);
}
END_TEST

START_TEST(decimator_real_equals_complex)
{
  enum { FRAMES = 24000 };
  struct dsp_decimator *real, *both;
  float *in = malloc(FRAMES * sizeof *in);
  float *pair = malloc(2 * FRAMES * sizeof *pair);
  float *out = malloc(FRAMES * sizeof *out);
  float *out_pair = malloc(2 * FRAMES * sizeof *out_pair);
  for (size_t i = 0; i < FRAMES; i++) {
    in[i] = (float)rand() / (float)RAND_MAX - 0.5F;
    pair[2 * i] = in[i];
    pair[2 * i + 1] = -in[i];
  }
  ck_assert_int_eq(dsp_decimator_create(1, 24, 0.4, 80.0, 24.0, FRAMES, &real), SC_OK);
  ck_assert_int_eq(dsp_decimator_create(2, 24, 0.4, 80.0, 24.0, FRAMES, &both), SC_OK);
  const size_t got = dsp_decimator_run(real, in, FRAMES, out);
  ck_assert_uint_eq(got, dsp_decimator_run(both, pair, FRAMES, out_pair));
  for (size_t m = 0; m < got; m++) {
    ck_assert_float_eq_tol(out[m], out_pair[2 * m], 1e-6F);
    ck_assert_float_eq_tol(out[m], -out_pair[2 * m + 1], 1e-6F);
  }
  dsp_decimator_destroy(real);
  dsp_decimator_destroy(both);
  free(in);
  free(pair);
  free(out);
  free(out_pair);
}
END_TEST

START_TEST(decimator_refuses_nonsense)
{
  struct dsp_decimator *decimator;
  ck_assert_int_eq(dsp_decimator_create(2, 4, 0.6, 80.0, 4.0, 64, &decimator), SC_BAD_ARGUMENT);
  ck_assert_int_eq(dsp_decimator_create(3, 4, 0.4, 80.0, 4.0, 64, &decimator), SC_BAD_ARGUMENT);
  ck_assert_int_eq(dsp_decimator_create(2, 0, 0.4, 80.0, 4.0, 64, &decimator), SC_BAD_ARGUMENT);
  dsp_decimator_destroy(NULL);
}
END_TEST

Suite *resample_suite(void)
{
  Suite *suite = suite_create("dsp/resample");
  TCase *tests = tcase_create("resample");
  tcase_add_test(tests, design_keeps_its_promise);
  tcase_add_test(tests, design_refuses_nonsense);
  tcase_add_test(tests, resampler_is_its_definition);
  tcase_add_test(tests, long_blocks_are_their_definition);
  tcase_add_test(tests, resampler_does_not_care_for_cuts);
  tcase_add_test(tests, resampler_transient_is_over_when_it_says);
  tcase_add_test(tests, resampler_refuses_nonsense);
  tcase_add_test(tests, decimator_passes_and_stops);
  tcase_add_test(tests, decimator_of_one_copies);
  tcase_add_test(tests, decimator_real_equals_complex);
  tcase_add_test(tests, decimator_refuses_nonsense);
  suite_add_tcase(suite, tests);
  return suite;
}
