/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Programme sources: noise powers and slopes, combs, sweeps, bursts, sound files. */
#include <complex.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <check.h>
#include <sndfile.h>

#include "signal/pink.h"
#include "signal/programme.h"
#include "signal/suites.h"
#include "signal/tools.h"

static const double rate = 96e3;
static const uint64_t seed = 77;

static struct signal_shape *open_shape(double limit_hz)
{
  struct signal_shape *shape;
  ck_assert_int_eq(signal_shape_create(limit_hz, limit_hz + 2000, 0, rate, &shape), SC_OK);
  return shape;
}

/* Left and right of one part, interleaved as complex numbers. */
static double complex *sound_of(const struct sc_programme *part, double limit_hz, size_t count)
{
  struct sc_message message = {""};
  struct signal_programme *programme;
  struct signal_shape *shape = open_shape(limit_hz);
  double *left = malloc(2 * count * sizeof *left), *right = left + count;
  double complex *both = malloc(count * sizeof *both);
  const enum sc_error error =
      signal_programme_create(part, 1, true, shape, limit_hz, seed, &programme, &message);
  ck_assert_msg(error == SC_OK, "%s", message.text);
  signal_programme_start(programme, 0);
  signal_programme_run(programme, left, right, count / 3);
  signal_programme_run(programme, left + count / 3, right + count / 3, count - count / 3);
  for (size_t i = 0; i < count; i++)
    both[i] = left[i] + I * right[i];
  signal_programme_destroy(programme);
  signal_shape_destroy(shape);
  free(left);
  return both;
}

static double left_power(const double complex *x, size_t count)
{
  double sum = 0;
  for (size_t i = 0; i < count; i++)
    sum += creal(x[i]) * creal(x[i]);
  return sum / (double)count;
}

START_TEST(noise_has_its_rms_below_the_limit)
{
  enum { N = 400000 };
  static const enum sc_programme_kind kinds[] = {SC_PROGRAMME_WHITE, SC_PROGRAMME_PINK};
  /* white: five standard deviations of the power of 2 * 15 kHz * 4.2 s values, and half the
   * filter's edge; pink: the lowest octaves are few values */
  static const double tolerances[] = {0.08, 0.15};
  for (size_t k = 0; k < 2; k++) {
    const struct sc_programme part = {.kind = kinds[k], .to = SC_TO_LEFT, .khz = 3};
    double complex *x = sound_of(&part, 15e3, N);
    CHECK_CLOSE(left_power(x, N) / 9, 1, tolerances[k]);
    for (size_t i = 0; i < N; i++)
      CHECK_CLOSE(cimag(x[i]), 0, 0);
    free(x);
  }
}
END_TEST

START_TEST(pink_falls_by_ten_decibels_a_decade)
{
  static const double rates[] = {96e3, 48e3, 44.1e3};
  for (size_t r = 0; r < 3; r++) {
    struct signal_pink pink;
    signal_pink_init(&pink, rates[r], 15e3);
    const double reference = signal_pink_power(&pink, 1000, rates[r]);
    for (double hz = 45; hz <= rates[r] / 3; hz *= 1.1)
      CHECK_CLOSE(10 * log10(signal_pink_power(&pink, hz, rates[r]) / reference),
                  -10 * log10(hz / 1000), hz < rates[r] / 5 ? 0.1 : 0.25);
  }
}
END_TEST

/* The noise ends as a Butterworth high-pass of third order at 22.4 Hz does (IEC 60268-1, from
 * memory): |H|^2 = 1 / (1 + (22.4 Hz / f)^6). First as designed, against the law of pink noise,
 * then as it sounds. The
 * law itself begins at 3 Hz, softly. */
START_TEST(pink_ends_where_programme_does)
{
  static const double rates[] = {96e3, 44.1e3};
  for (size_t r = 0; r < 2; r++) {
    struct signal_pink pink;
    signal_pink_init(&pink, rates[r], 15e3);
    const double reference = signal_pink_power(&pink, 1000, rates[r]);
    for (double hz = 8; hz <= 45; hz *= 1.1)
      CHECK_CLOSE(10 * log10(signal_pink_power(&pink, hz, rates[r]) / reference),
                  -10 * log10(hz / 1000) - 10 * log10(1 + pow(22.4 / hz, 6)), hz < 15 ? 0.2 : 0.1);
  }
}
END_TEST

/* Power of x within a band, by its discrete Fourier transform at the band's frequencies. */
static double power_within(const double complex *x, size_t count, double rate_hz, double from_hz,
                           double to_hz)
{
  double sum = 0;
  for (size_t k = (size_t)ceil(from_hz * (double)count / rate_hz);
       k <= (size_t)(to_hz * (double)count / rate_hz); k++) {
    const double complex step = cexp(-I * 2 * M_PI * (double)k / (double)count);
    double complex turn = 1, bin = 0;
    for (size_t i = 0; i < count; i++, turn *= step) {
      const double window = 0.5 - 0.5 * cos(2 * M_PI * ((double)i + 0.5) / (double)count);
      bin += window * creal(x[i]) * turn;
    }
    sum += cabs(bin) * cabs(bin);
  }
  return sum;
}

/* An octave of pink noise holds as much as any other; behind the high-pass 30 to 60 Hz hold 0.96 of
 * it and 5 to 10 Hz 0.0019 (the law above, integrated: ln((b^6 + c^6) / (a^6 + c^6)) / 6 / ln 2 of
 * a to b, c = 22.4 Hz). Four seconds hold 100 values of the one, 20 of the other. */
START_TEST(pink_noise_has_no_subsonic_octaves)
{
  enum { N = 400000 };
  const struct sc_programme part = {.kind = SC_PROGRAMME_PINK, .to = SC_TO_LEFT, .khz = 3};
  double complex *x = sound_of(&part, 15e3, N);
  const double octave = power_within(x, N, 96e3, 200, 400);
  CHECK_BELOW(power_within(x, N, 96e3, 5, 10), 0.01 * octave);
  CHECK_BELOW(power_within(x, N, 96e3, 0.5, 5), 0.001 * octave);
  ck_assert_double_gt(power_within(x, N, 96e3, 30, 60), 0.6 * octave);
  ck_assert_double_lt(power_within(x, N, 96e3, 30, 60), 1.5 * octave);
  free(x);
}
END_TEST

START_TEST(a_comb_is_even_in_logarithm_and_low_in_crest)
{
  enum { COUNT = 31, N = 96000 };
  const struct sc_programme part = {.kind = SC_PROGRAMME_COMB,
                                    .to = SC_TO_BOTH,
                                    .hz = 40,
                                    .to_hz = 15000,
                                    .khz = 1,
                                    .count = COUNT};
  ck_assert_uint_eq(signal_programme_tones(&part), COUNT);
  const double ratio = signal_programme_tone(&part, 1).frequency_hz / 40;
  for (size_t i = 0; i < COUNT; i++)
    CHECK_CLOSE(signal_programme_tone(&part, i).frequency_hz, 40 * pow(ratio, (double)i), 1e-6);
  CHECK_CLOSE(signal_programme_tone(&part, COUNT - 1).frequency_hz, 15000, 1e-6);
  double complex *x = sound_of(&part, 15e3, N);
  double peak = 0;
  for (size_t i = 0; i < N; i++) {
    peak = fmax(peak, fabs(creal(x[i])));
    CHECK_CLOSE(creal(x[i]), cimag(x[i]), 1e-12);
  }
  CHECK_CLOSE(left_power(x, N), COUNT / 2.0, 0.5);
  CHECK_BELOW(peak, 0.8 * COUNT); /* all in phase would reach COUNT */
  free(x);
}
END_TEST

START_TEST(sides_are_what_they_are_called)
{
  static const double gains[4][2] = {{1, 0}, {0, 1}, {1, 1}, {1, -1}};
  for (int to = SC_TO_LEFT; to <= SC_TO_APART; to++) {
    double left, right;
    signal_programme_gains((enum sc_programme_to)to, &left, &right);
    ck_assert(left == gains[to][0] && right == gains[to][1]);
  }
}
END_TEST

START_TEST(a_sweep_glides_from_end_to_end)
{
  enum { N = 96000 };
  const struct sc_programme part = {.kind = SC_PROGRAMME_SWEEP,
                                    .to = SC_TO_LEFT,
                                    .hz = 100,
                                    .to_hz = 10000,
                                    .khz = 2,
                                    .period_s = 1};
  double complex *x = sound_of(&part, 20e3, N);
  /* zero crossings around three moments against 100 * 100^t */
  for (double t = 0.25; t < 0.9; t += 0.25) {
    const double span = 0.02;
    int crossings = 0;
    for (size_t i = (size_t)((t - span) * rate); i < (size_t)((t + span) * rate); i++)
      crossings += (creal(x[i]) > 0) != (creal(x[i + 1]) > 0);
    const double mean_hz = 100 / log(100) * (pow(100, t + span) - pow(100, t - span)) / (2 * span);
    CHECK_CLOSE(crossings / (4 * span), mean_hz, 1 / (2 * span));
  }
  CHECK_CLOSE(left_power(x, N), 2, 0.06);
  free(x);
}
END_TEST

START_TEST(bursts_come_and_go)
{
  enum { N = 48000 };
  const struct sc_programme part = {.kind = SC_PROGRAMME_BURSTS,
                                    .to = SC_TO_LEFT,
                                    .hz = 5000,
                                    .khz = 1,
                                    .period_s = 0.1,
                                    .on_s = 0.01};
  double complex *x = sound_of(&part, 15e3, N);
  for (size_t i = 0; i < N; i++) {
    const double in = fmod((double)i / rate, 0.1);
    if (in > 0.002 && in < 0.008)
      CHECK_CLOSE(creal(x[i]), sin(TWO_PI * 5000 * in), 2e-3);
    if (in > 0.02 && in < 0.09)
      CHECK_CLOSE(creal(x[i]), 0, 1e-3);
  }
  free(x);
}
END_TEST

/* ---- sound files */

enum { FILE_RATE = 44100, FILE_FRAMES = 4410 }; /* whole cycles of 100 Hz and 10 kHz */

static void write_sound(char *path, int channels)
{
  SF_INFO info = {
      .samplerate = FILE_RATE, .channels = channels, .format = SF_FORMAT_WAV | SF_FORMAT_DOUBLE};
  static double frames[2 * FILE_FRAMES];
  const int handle = mkstemps(path, 4);
  ck_assert_int_ge(handle, 0);
  close(handle);
  for (size_t i = 0; i < FILE_FRAMES; i++)
    for (int c = 0; c < channels; c++)
      frames[i * (size_t)channels + (size_t)c] =
          0.5 * sin(TWO_PI * (c == 0 ? 1000 : 10000) * (double)i / FILE_RATE);
  SNDFILE *file = sf_open(path, SFM_WRITE, &info);
  ck_assert_ptr_nonnull(file);
  ck_assert_int_eq(sf_writef_double(file, frames, FILE_FRAMES), FILE_FRAMES);
  sf_close(file);
}

static void check_sound(int channels, enum sc_programme_to to, double l1, double l10, double r1,
                        double r10)
{
  enum { N = 30000 }; /* three rounds of the file */
  struct sc_programme part = {.kind = SC_PROGRAMME_SOUND, .to = to, .khz = 20};
  char path[] = "/tmp/sidecomb-sound-XXXXXX.wav";
  write_sound(path, channels);
  strcpy(part.path, path);
  double complex *x = sound_of(&part, 15e3, N);
  for (size_t i = 1000; i < N; i++) {
    const double t = (double)i / rate;
    const double one = sin(TWO_PI * 1000 * t), ten = sin(TWO_PI * 10000 * t);
    /* -110 dB of full scale, the bar of sound.h */
    CHECK_CLOSE(creal(x[i]), 10 * (l1 * one + l10 * ten), 6e-5);
    CHECK_CLOSE(cimag(x[i]), 10 * (r1 * one + r10 * ten), 6e-5);
  }
  free(x);
  unlink(path);
}

START_TEST(sound_files_come_at_any_rate_and_repeat)
{
  check_sound(1, SC_TO_LEFT, 1, 0, 0, 0);
  check_sound(1, SC_TO_BOTH, 1, 0, 1, 0);
  check_sound(2, SC_TO_BOTH, 1, 0, 0, 1);
  check_sound(2, SC_TO_APART, 0.5, 0.5, -0.5, -0.5);
}
END_TEST

static void check_refused(const char *path, enum sc_error expected, const char *says)
{
  struct sc_message message = {""};
  struct signal_programme *programme;
  struct signal_shape *shape = open_shape(15e3);
  struct sc_programme part = {.kind = SC_PROGRAMME_SOUND, .khz = 1};
  snprintf(part.path, sizeof part.path, "%s", path);
  ck_assert_int_eq(signal_programme_create(&part, 1, true, shape, 15e3, 1, &programme, &message),
                   expected);
  ck_assert_ptr_nonnull(strstr(message.text, says));
  signal_shape_destroy(shape);
}

START_TEST(files_that_are_no_sound_are_refused)
{
  check_refused("/nowhere/at/all.wav", SC_CANNOT_OPEN, "/nowhere/at/all.wav");
  check_refused("/dev/null", SC_CANNOT_OPEN, "/dev/null");
}
END_TEST

Suite *programme_suite(void)
{
  Suite *suite = suite_create("programme");
  TCase *tests = tcase_create("programme");
  tcase_add_test(tests, noise_has_its_rms_below_the_limit);
  tcase_add_test(tests, pink_falls_by_ten_decibels_a_decade);
  tcase_add_test(tests, pink_ends_where_programme_does);
  tcase_add_test(tests, pink_noise_has_no_subsonic_octaves);
  tcase_add_test(tests, a_comb_is_even_in_logarithm_and_low_in_crest);
  tcase_add_test(tests, sides_are_what_they_are_called);
  tcase_add_test(tests, a_sweep_glides_from_end_to_end);
  tcase_add_test(tests, bursts_come_and_go);
  tcase_add_test(tests, sound_files_come_at_any_rate_and_repeat);
  tcase_add_test(tests, files_that_are_no_sound_are_refused);
  suite_add_tcase(suite, tests);
  return suite;
}
