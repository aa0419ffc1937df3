/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Decoded audio in files: channels, level, length, and what is there already. Read back by
 * libsndfile. */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>
#include <sndfile.h>

#include <sidecomb/compose.h>

#include "analysis/scene.h"
#include "analysis/suites.h"
#include "support/files.h"

#define TWO_PI 6.283185307179586476925286766559

static const double left_hz = 1000, left_khz = 40, right_hz = 3000, right_khz = 20;

/* A tone in each channel, as sent without pre-emphasis. */
static struct sc_scenario two_tones(void)
{
  struct sc_scenario s = scene_silent(384e3, 60);
  scene_add_tone(&s, SC_TO_LEFT, left_hz, left_khz);
  scene_add_tone(&s, SC_TO_RIGHT, right_hz, right_khz);
  return s;
}

static enum sc_error play_to(const struct sc_scenario *scene, const char *path, bool keep,
                             double full_scale_khz, struct sc_message *message)
{
  struct sc_analysis_settings settings = scene_settings(scene);
  enum sc_error saved;
  settings.audio_path = path;
  settings.audio_keep = keep;
  settings.full_scale_khz = full_scale_khz;
  struct sc_result result = scene_measure(scene, &settings, NULL, &saved, message);
  sc_result_clear(&result);
  return saved;
}

struct sound {
  SF_INFO info;
  double *frames; /* of two channels */
};

static struct sound read_sound(const char *path)
{
  struct sound sound = {0};
  SNDFILE *file = sf_open(path, SFM_READ, &sound.info);
  ck_assert_msg(file != NULL, "%s: %s", path, sf_strerror(NULL));
  ck_assert_int_eq(sound.info.channels, 2);
  sound.frames = malloc(2 * (size_t)sound.info.frames * sizeof *sound.frames);
  ck_assert_int_eq(sf_readf_double(file, sound.frames, sound.info.frames), sound.info.frames);
  sf_close(file);
  return sound;
}

/* Amplitude of a tone over whole seconds that end with the file: nothing leaks. */
static double amplitude(const struct sound *sound, int channel, double hz)
{
  const size_t count = (size_t)sound->info.samplerate;
  const size_t first = (size_t)sound->info.frames - count;
  double re = 0, im = 0;
  for (size_t i = 0; i < count; i++) {
    const double angle = TWO_PI * hz * (double)i / (double)count;
    re += sound->frames[2 * (first + i) + (size_t)channel] * cos(angle);
    im += sound->frames[2 * (first + i) + (size_t)channel] * sin(angle);
  }
  return 2 * hypot(re, im) / (double)count;
}

/* De-emphasis of 50 us: 1 / sqrt(1 + (2 pi f tau)^2) (ITU-R BS.450-3, 1.2). */
static double heard(double hz)
{
  return 1 / sqrt(1 + pow(TWO_PI * hz * 50e-6, 2));
}

static void ck_sound(const struct sound *sound, double seconds, double full_khz)
{
  const double share = 0.003, silent_share = 3e-4; /* -70 dB */
  const double left = left_khz / full_khz * heard(left_hz);
  const double right = right_khz / full_khz * heard(right_hz);
  ck_assert_double_eq_tol(amplitude(sound, 0, left_hz), left, share * left);
  ck_assert_double_eq_tol(amplitude(sound, 1, right_hz), right, share * right);
  ck_assert_double_le(amplitude(sound, 1, left_hz), silent_share * left);
  ck_assert_double_le(amplitude(sound, 0, right_hz), silent_share * right);
  /* filters and the pilot's own take a quarter of a second at either end */
  const double length_s = (double)sound->info.frames / sound->info.samplerate;
  ck_assert_double_le(length_s, seconds);
  ck_assert_double_ge(length_s, seconds - 0.5);
}

START_TEST(left_and_right_are_written)
{
  static const struct {
    const char *name;
    int format;
  } files[] = {{"heard.wav", SF_FORMAT_WAV}, {"heard.flac", SF_FORMAT_FLAC}};
  const struct sc_scenario s = two_tones();
  struct sc_message message;
  const char *path = support_file(files[_i].name);
  ck_assert_int_eq(play_to(&s, path, true, 0, &message), SC_OK);
  struct sound sound = read_sound(path);
  ck_assert_int_eq(sound.info.format & SF_FORMAT_TYPEMASK, files[_i].format);
  ck_assert_int_eq(sound.info.format & SF_FORMAT_SUBMASK, SF_FORMAT_PCM_24);
  ck_assert_int_eq(sound.info.samplerate, 48000);
  ck_sound(&sound, s.seconds, 75); /* from the air, full scale is 75 kHz */
  free(sound.frames);
}
END_TEST

/* A composite keeps its own scale when nobody says what full scale stands for. */
START_TEST(without_a_scale_it_is_as_loud_as_the_composite)
{
  struct sc_scenario s = two_tones();
  struct sc_message message;
  const char *path = support_file("heard.wav");
  s.what = SC_WHAT_COMPOSITE;
  s.rate_hz = 192e3;
  s.cnr_db = (double)NAN;
  s.level_dbfs = -6.0206; /* of 100 kHz: full scale is 200 kHz */
  ck_assert_int_eq(play_to(&s, path, true, 0, &message), SC_OK);
  struct sound sound = read_sound(path);
  ck_sound(&sound, s.seconds, 200);
  free(sound.frames);
}
END_TEST

START_TEST(a_file_that_is_there_stays)
{
  const struct sc_scenario s = two_tones();
  struct sc_message message;
  const char *path = support_file_write("heard.wav", "mine", 4);
  ck_assert_int_eq(play_to(&s, path, true, 0, &message), SC_WRITE_FAILED);
  ck_assert_ptr_nonnull(strstr(message.text, path));
  size_t length;
  unsigned char *bytes = support_file_read(path, &length);
  ck_assert_uint_eq(length, 4);
  free(bytes);
  ck_assert_uint_eq(support_file_count(), 1);
  ck_assert_int_eq(play_to(&s, path, false, 0, &message), SC_OK);
  struct sound sound = read_sound(path);
  ck_sound(&sound, s.seconds, 75);
  free(sound.frames);
  ck_assert_uint_eq(support_file_count(), 1);
}
END_TEST

static bool up_to_half(void *context, double share)
{
  (void)context;
  return share < 0.5;
}

START_TEST(a_part_of_a_file_does_not_pass_for_all)
{
  const struct sc_scenario s = two_tones();
  const struct sc_compose_settings made = {.path = support_file("made.sigmf")};
  struct sc_compose_result composed;
  struct sc_message message;
  ck_assert_int_eq(sc_compose(&s, &made, NULL, NULL, &composed, &message), SC_OK);
  const struct sc_source_options options = {.path = support_file("made.sigmf-meta")};
  struct sc_source *source;
  ck_assert_int_eq(sc_source_open(&options, &source, &message), SC_OK);
  struct sc_analysis_settings settings = scene_settings(&s);
  settings.audio_path = support_file("heard.wav");
  struct sc_result result;
  ck_assert_int_eq(sc_analyse_source(source, &settings, up_to_half, NULL, &result, &message),
                   SC_OK);
  ck_assert_double_ge(result.capture.duration_s, s.seconds / 2);
  ck_assert_double_lt(result.capture.duration_s, s.seconds);
  sc_result_clear(&result);
  sc_source_close(source);
  ck_assert_uint_eq(support_file_count(), 2);
}
END_TEST

/* Noise alone holds no station, and a folder that is not there no file. */
START_TEST(says_why_nothing_was_written)
{
  struct sc_scenario s = two_tones();
  struct sc_message message;
  ck_assert_int_eq(play_to(&s, support_file("none/heard.wav"), true, 0, &message), SC_WRITE_FAILED);
  s.carrier = false;
  ck_assert_int_eq(play_to(&s, support_file("heard.wav"), true, 0, &message), SC_UNSUPPORTED);
  ck_assert_ptr_nonnull(strstr(message.text, "not written"));
  ck_assert_uint_eq(support_file_count(), 0);
}
END_TEST

Suite *audiofile_suite(void)
{
  Suite *suite = suite_create("analysis/audiofile");
  TCase *tests = tcase_create("audiofile");
  tcase_add_checked_fixture(tests, support_files_setup, support_files_teardown);
  tcase_set_timeout(tests, 600);
  tcase_add_loop_test(tests, left_and_right_are_written, 0, 2);
  tcase_add_test(tests, without_a_scale_it_is_as_loud_as_the_composite);
  tcase_add_test(tests, a_file_that_is_there_stays);
  tcase_add_test(tests, a_part_of_a_file_does_not_pass_for_all);
  tcase_add_test(tests, says_why_nothing_was_written);
  suite_add_tcase(suite, tests);
  return suite;
}
