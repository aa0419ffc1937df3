/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The test audio: its schedule, what sounds in each part, and the file. */
#include <complex.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include <sidecomb/capture.h>
#include <sidecomb/sequence.h>

#include "signal/suites.h"
#include "signal/tools.h"
#include "support/files.h"

#define RATE 48000.0
static const struct sc_sequence_settings usual = {.level_dbfs = -6, .preemphasis_us = 75};
static struct sc_message message;

static const struct sc_sequence_part *part_of(int name)
{
  return &sc_sequence_parts()[name];
}

/* Complex amplitudes of a tone in the two channels over `seconds` whole seconds from 0.5 s of the
 * part on, full scale 1, re its sine phase there. */
static void amplitudes(int name, double hz, double seconds, double complex out[2])
{
  out[0] = out[1] = 0;
  const size_t frames = (size_t)(seconds * RATE);
  for (size_t i = 0; i < frames; i++) {
    const double part_s = 0.5 + (double)i / RATE;
    double left, right;
    sc_sequence_sample(&usual, part_of(name)->start_s + part_s, &left, &right);
    const double complex turn = 2 * I * cexp(-I * TWO_PI * hz * part_s) / (double)frames;
    out[0] += left * turn;
    out[1] += right * turn;
  }
}

START_TEST(parts_follow_each_other)
{
  double at_s = 0;
  for (int i = 0; i < SC_PARTS; i++) {
    ck_assert_double_eq_tol(part_of(i)->start_s, at_s, 1e-9);
    ck_assert_double_gt(part_of(i)->seconds, 0);
    ck_assert_double_le(part_of(i)->level_db, 0);
    ck_assert_int_gt((int)strlen(part_of(i)->what), 0);
    at_s += part_of(i)->seconds;
  }
  ck_assert_double_eq_tol(sc_sequence_seconds(), at_s, 1e-9);
}
END_TEST

/* Nothing is louder than the line-up tone, also where 75 us lift the combs: each of their tones
 * then has 20 dB less than it. */
START_TEST(the_line_up_tone_is_the_peak)
{
  double peak = 0, lifted = 0;
  for (size_t i = 0; (double)i < sc_sequence_seconds() * RATE; i++) {
    double left, right;
    sc_sequence_sample(&usual, (double)i / RATE, &left, &right);
    peak = fmax(peak, fmax(fabs(left), fabs(right)));
  }
  ck_assert_double_eq_tol(db(peak), -6, 0.001);
  for (int channel = 0; channel < 2; channel++)
    for (double t = 0; t < 2; t += 1 / 96e3) {
      double sum = 0;
      for (int i = 0; i < SC_COMB_TONES; i++)
        sum += 0.1 * sin(TWO_PI * sc_sequence_comb_hz(channel)[i] * t +
                         TWO_PI * i * i / (2 * SC_COMB_TONES));
      lifted = fmax(lifted, fabs(sum));
    }
  ck_assert_double_le(lifted, 1);
}
END_TEST

START_TEST(channels_carry_their_tones)
{
  static const struct {
    int name, left, right;
  } cases[] = {{SC_PART_LINE_UP, 1, 1},   {SC_PART_LINE_UP_LOWER, 1, 1},
               {SC_PART_LEFT, 1, 0},      {SC_PART_RIGHT, 0, 1},
               {SC_PART_BOTH, 1, 1},      {SC_PART_NULL_SECOND, 1, 1},
               {SC_PART_NULL_THIRD, 1, 1}};
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    const struct sc_sequence_part *part = part_of(cases[i].name);
    double complex left[2], right[2];
    amplitudes(cases[i].name, part->left_hz, 1, left);
    amplitudes(cases[i].name, part->right_hz, 1, right);
    const int is_null = cases[i].name >= SC_PART_NULL_SECOND;
    const double level =
        -6 + part->level_db + (is_null ? sc_sequence_null_db(part->left_hz, 75) : 0);
    if (cases[i].left)
      ck_assert_double_eq_tol(db(cabs(left[0])), level, 0.002);
    if (cases[i].right)
      ck_assert_double_eq_tol(db(cabs(right[1])), level, 0.002);
    if (!cases[i].left)
      ck_assert_double_eq_tol(cabs(right[0]), 0, 1e-12);
    if (!cases[i].right)
      ck_assert_double_eq_tol(cabs(left[1]), 0, 1e-12);
  }
  for (double t = 19; t < 25; t += 1e-3) {
    double left, right;
    sc_sequence_sample(&usual, t, &left, &right);
    ck_assert(left == 0 && right == 0);
  }
}
END_TEST

/* 20 dB below the line-up tone and along the inverse of 75 us: gains worked by hand from
 * 10 lg (1 + (2 pi f 75 us)^2) for the ends and the middle. */
START_TEST(combs_follow_the_inverse_curve)
{
  static const struct {
    int name, channel, tone;
    double gain_db;
  } cases[] = {{SC_PART_COMB_LEFT, 0, 0, 0.0009},
               {SC_PART_COMB_LEFT, 0, 7, 1.7233},
               {SC_PART_COMB_LEFT, 0, 12, 16.9279},
               {SC_PART_COMB_RIGHT, 1, 6, 1.1200},
               {SC_PART_COMB_RIGHT, 1, 12, 17.0426}};
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    double complex full[2], lower[2];
    const double hz = sc_sequence_comb_hz(cases[i].channel)[cases[i].tone];
    amplitudes(cases[i].name, hz, 4, full);
    amplitudes(cases[i].name + 2, hz, 4, lower);
    ck_assert_double_eq_tol(db(cabs(full[cases[i].channel])), -26 - cases[i].gain_db, 0.002);
    ck_assert_double_eq_tol(db(cabs(full[cases[i].channel]) / cabs(lower[cases[i].channel])), 6,
                            0.002);
    ck_assert_double_eq_tol(cabs(full[!cases[i].channel]), 0, 1e-12);
  }
}
END_TEST

/* Abramowitz and Stegun, table 9.5: J0 is zero at 5.5200781103 and 8.6537279129. */
START_TEST(null_tones_stand_where_the_carrier_vanishes)
{
  static const double zeros[2] = {5.5200781103, 8.6537279129};
  static const int names[2] = {SC_PART_NULL_SECOND, SC_PART_NULL_THIRD};
  for (int i = 0; i < 2; i++) {
    const double hz = part_of(names[i])->left_hz;
    ck_assert_double_eq_tol(hz, 75e3 / zeros[i], 0.05);
    ck_assert_double_le(fabs(j0(75e3 / hz)), 1e-5);
  }
  /* 10 lg of (1 + (2 pi 997 Hz 75 us)^2) = 0.8662, the same at the two tones 16.2318 and 12.4749 */
  ck_assert_double_eq_tol(sc_sequence_null_db(13586.8, 75), 0.8662 - 16.2318, 0.001);
  ck_assert_double_eq_tol(sc_sequence_null_db(8666.8, 75), 0.8662 - 12.4749, 0.001);
  ck_assert_double_eq_tol(sc_sequence_null_db(8666.8, 0), 0, 1e-12);
}
END_TEST

/* The identity M = cos(phi/2), S = sin(phi/2): both channels stay level, half their sum falls from
 * 1 over 1/sqrt 2 at 90 degrees to nothing at 180. */
START_TEST(the_walk_nulls_the_sum)
{
  static const double stops[][3] = {/* s into the part, degrees, sum */
                                    {0.5, 0, 1}, {3.5, 90, 0.7071},     {4.3333333, 120, 0.5},
                                    {6, 180, 0}, {7.6666667, 240, 0.5}, {11.5, 360, 1}};
  const struct sc_sequence_part *part = part_of(SC_PART_WALK);
  for (size_t i = 0; i < sizeof stops / sizeof stops[0]; i++) {
    ck_assert_double_eq_tol(sc_sequence_walk_rad(stops[i][0]) * 360 / TWO_PI, stops[i][1], 1e-3);
    double left_peak = 0, sum_peak = 0;
    for (double t = stops[i][0] - 0.002; t < stops[i][0] + 0.002; t += 2e-6) {
      double left, right;
      sc_sequence_sample(&usual, part->start_s + t, &left, &right);
      left_peak = fmax(left_peak, fabs(left));
      sum_peak = fmax(sum_peak, fabs(left + right) / 2);
    }
    ck_assert_double_eq_tol(db(left_peak), -6, 0.002);
    ck_assert_double_eq_tol(sum_peak / left_peak, stops[i][2], 1.5e-3);
  }
}
END_TEST

static float *read_file(const char *path, size_t *frames)
{
  const struct sc_source_options options = {.path = path, .as = SC_KIND_AUDIO};
  struct sc_source *source;
  struct sc_block block;
  ck_assert_msg(sc_source_open(&options, &source, &message) == SC_OK, "%s", message.text);
  const struct sc_source_info *info = sc_source_info(source);
  ck_assert_double_eq(info->sample_rate_hz, RATE);
  ck_assert_uint_eq(info->channels, 2);
  float *all = malloc(2 * 70 * 48000 * sizeof *all);
  for (*frames = 0;; *frames += block.frames) {
    ck_assert_int_eq(sc_source_read(source, 65536, &block, &message), SC_OK);
    if (block.frames == 0)
      break;
    memcpy(all + 2 * *frames, block.samples, 2 * block.frames * sizeof *all);
  }
  sc_source_close(source);
  return all;
}

/* Rounding and triangular dither: at most 1.5 steps. */
START_TEST(files_hold_the_sequence)
{
  static const struct {
    const char *name;
    unsigned bits;
  } cases[] = {{"a.wav", 0}, {"b.flac", 0}, {"c.wav", 16}};
  const char *path = support_file(cases[_i].name);
  const struct sc_sequence_file file = {path, cases[_i].bits, true, NULL, NULL};
  ck_assert_msg(sc_sequence_write(&usual, &file, &message) == SC_OK, "%s", message.text);
  ck_assert_int_eq(sc_sequence_write(&usual, &file, &message), SC_WRITE_FAILED);
  size_t frames;
  float *samples = read_file(path, &frames);
  ck_assert_uint_eq(frames, (size_t)lround(sc_sequence_seconds() * RATE));
  const double step = ldexp(1, cases[_i].bits == 16 ? -15 : -23);
  for (size_t i = 0; i < frames; i += 7) {
    double wanted[2];
    sc_sequence_sample(&usual, (double)i / RATE, &wanted[0], &wanted[1]);
    CHECK_CLOSE((double)samples[2 * i], wanted[0], 1.51 * step + 6e-8);
    CHECK_CLOSE((double)samples[2 * i + 1], wanted[1], 1.51 * step + 6e-8);
  }
  free(samples);
  ck_assert_uint_eq(support_file_count(), 1);
}
END_TEST

static bool up_to_half(void *context, double share)
{
  double *last = context;
  ck_assert_double_gt(share, *last);
  *last = share;
  return share < 0.5;
}

START_TEST(what_is_given_up_leaves_nothing)
{
  double last = 0;
  const char *path = support_file("a.wav");
  const struct sc_sequence_file file = {path, 0, true, up_to_half, &last};
  message.text[0] = 0;
  ck_assert_int_eq(sc_sequence_write(&usual, &file, &message), SC_UNSUPPORTED);
  ck_assert_int_gt((int)strlen(message.text), 0);
  ck_assert_double_ge(last, 0.5);
  ck_assert_double_le(last, 0.51);
  ck_assert_uint_eq(support_file_count(), 0);
}
END_TEST

START_TEST(what_cannot_be_written_leaves_nothing)
{
  static const struct {
    double level, preemphasis;
    unsigned bits;
    const char *name;
    enum sc_error error;
  } cases[] = {{0.1, 0, 0, "a.wav", SC_BAD_ARGUMENT},   {-41, 0, 0, "a.wav", SC_BAD_ARGUMENT},
               {NAN, 0, 0, "a.wav", SC_BAD_ARGUMENT},   {-6, -1, 0, "a.wav", SC_BAD_ARGUMENT},
               {-6, 101, 0, "a.wav", SC_BAD_ARGUMENT},  {-6, 0, 8, "a.wav", SC_BAD_ARGUMENT},
               {-6, 0, 0, "a.mp3", SC_BAD_ARGUMENT},    {-6, 0, 0, ".wav", SC_BAD_ARGUMENT},
               {-6, 0, 0, "no/a.wav", SC_WRITE_FAILED}, {-6, 0, 0, "a", SC_BAD_ARGUMENT}};
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    const struct sc_sequence_settings settings = {cases[i].level, cases[i].preemphasis};
    const char *path = cases[i].name[0] == '.' ? cases[i].name : support_file(cases[i].name);
    const struct sc_sequence_file file = {path, cases[i].bits, false, NULL, NULL};
    message.text[0] = 0;
    ck_assert_int_eq(sc_sequence_write(&settings, &file, &message), cases[i].error);
    ck_assert_int_gt((int)strlen(message.text), 0);
    ck_assert_ptr_null(strchr(message.text, '\n'));
  }
  ck_assert_uint_eq(support_file_count(), 0);
}
END_TEST

Suite *sequence_suite(void)
{
  Suite *suite = suite_create("signal/sequence");
  TCase *tests = tcase_create("sequence");
  tcase_add_checked_fixture(tests, support_files_setup, support_files_teardown);
  tcase_set_timeout(tests, 60);
  tcase_add_test(tests, parts_follow_each_other);
  tcase_add_test(tests, the_line_up_tone_is_the_peak);
  tcase_add_test(tests, channels_carry_their_tones);
  tcase_add_test(tests, combs_follow_the_inverse_curve);
  tcase_add_test(tests, null_tones_stand_where_the_carrier_vanishes);
  tcase_add_test(tests, the_walk_nulls_the_sum);
  tcase_add_loop_test(tests, files_hold_the_sequence, 0, 3);
  tcase_add_test(tests, what_is_given_up_leaves_nothing);
  tcase_add_test(tests, what_cannot_be_written_leaves_nothing);
  suite_add_tcase(suite, tests);
  return suite;
}
