/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Raw files: what is read, what is refused, and with which words. */
#include <config.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <check.h>

#include "capture/reading.h"
#include "capture/suites.h"
#include "support/files.h"

START_TEST(reads_what_is_there)
{
  static const unsigned char bytes[6] = {0x40, 0xc0, 0x00, 0x7f, 0x80, 0x20};
  const char *path = support_file_write("kite.raw", bytes, sizeof bytes);
  struct capture *capture = reading_open(path, "ci8", 250e3);
  float samples[8];
  ck_assert_uint_eq(capture->facts.frames, 3);
  ck_assert_uint_eq(capture->facts.channels, 2);
  ck_assert(capture->facts.is_complex && !capture->facts.live);
  ck_assert_str_eq(capture->facts.format, "raw, ci8");
  ck_assert_str_eq(capture->name, "kite.raw");
  ck_assert_uint_eq(reading_frames(capture, samples, 4), 3);
  ck_assert(samples[0] == 0.5f && samples[1] == -0.5f && samples[5] == 0.25f);
  ck_assert_uint_eq(capture->notices.count, 0);
  capture_close(capture);
}
END_TEST

START_TEST(seeks_to_any_frame)
{
  enum { FRAMES = 70000 };
  int16_t *codes = malloc(FRAMES * sizeof *codes);
  for (int i = 0; i < FRAMES; i++)
    codes[i] = (int16_t)(i % 30000);
  const char *path = support_file_write("ramp.raw", codes, FRAMES * sizeof *codes);
  free(codes);
  struct capture *capture = reading_open(path, "ri16_le", 192e3);
  static const uint64_t places[] = {0, 69999, 1, 65536, 40000, 70000};
  for (size_t i = 0; i < sizeof places / sizeof places[0]; i++) {
    float sample = -1;
    ck_assert_int_eq(capture_seek(capture, places[i]), SC_OK);
    size_t got = reading_frames(capture, &sample, 1);
    ck_assert_uint_eq(got, places[i] < FRAMES);
    if (got == 1)
      ck_assert(sample == (float)(places[i] % 30000) / 32768);
  }
  capture_close(capture);
}
END_TEST

START_TEST(odd_bytes_at_the_end_are_told)
{
  static const unsigned char bytes[11];
  struct capture *capture =
      reading_open(support_file_write("odd.raw", bytes, sizeof bytes), "ci16_le", 1e6);
  ck_assert_uint_eq(capture->facts.frames, 2);
  ck_assert(reading_noticed(capture, "the last 3 of 11 bytes make no whole frame of ci16_le"));
  capture_close(capture);
}
END_TEST

START_TEST(a_file_that_shrinks_ends)
{
  static const unsigned char bytes[1000];
  const char *path = support_file_write("shrinks.raw", bytes, sizeof bytes);
  struct capture *capture = reading_open(path, "ru8", 1e5);
  float samples[1000];
  ck_assert_int_eq(truncate(path, 600), 0);
  ck_assert_uint_eq(reading_frames(capture, samples, 1000), 600);
  ck_assert(reading_noticed(capture, "shrank"));
  capture_close(capture);
}
END_TEST

START_TEST(too_little_is_refused)
{
  static const unsigned char bytes[3];
  reading_refused(support_file_write("short.raw", bytes, 3), "ci16_le", 1e6, SC_BAD_FORMAT,
                  "holds no sample: 3 bytes of data, a frame of ci16_le takes 4");
  reading_refused(support_file_write("empty.raw", bytes, 0), "cu8", 1e6, SC_BAD_FORMAT,
                  "holds no sample");
  reading_refused(support_file_write("empty.raw", bytes, 0), NULL, 0, SC_BAD_FORMAT, "is empty");
}
END_TEST

START_TEST(what_is_no_file_is_refused)
{
  reading_refused(support_file("nowhere.raw"), "cu8", 1e6, SC_CANNOT_OPEN, "nowhere.raw");
  reading_refused(support_file("nowhere.raw"), NULL, 0, SC_CANNOT_OPEN, "No such file");
  reading_refused(support_file(""), "cu8", 1e6, SC_CANNOT_OPEN, "is a directory");
  reading_refused(support_file(""), NULL, 0, SC_CANNOT_OPEN, "is a directory");
  reading_refused(support_file("nowhere/at/all"), "cu8", 1e6, SC_CANNOT_OPEN, "No such file");
  reading_refused("", "cu8", 1e6, SC_BAD_ARGUMENT, "no capture is named");
  reading_refused(NULL, "cu8", 1e6, SC_BAD_ARGUMENT, "no capture is named");
  reading_refused("/dev/null", NULL, 0, SC_BAD_ARGUMENT, "add --type TYPE --rate HZ");
}
END_TEST

START_TEST(an_unreadable_file_is_refused)
{
  static const unsigned char bytes[100];
  const char *path = support_file_write("locked.raw", bytes, sizeof bytes);
  ck_assert_int_eq(chmod(path, 0), 0);
  if (access(path, R_OK) == 0)
    printf("an_unreadable_file_is_refused: not checked, this user may read everything\n");
  else
    reading_refused(path, "cu8", 1e6, SC_CANNOT_OPEN, "Permission denied");
}
END_TEST

START_TEST(contradictions_are_refused)
{
  static const unsigned char bytes[100] = "RIFF";
  const char *path = support_file_write("sound.raw", bytes, sizeof bytes);
  reading_refused(path, "cu8", 1e6, SC_BAD_ARGUMENT, "leave --type out");
  path = support_file_write("plain.raw", bytes + 4, 50);
  reading_refused(path, "cu8", 0, SC_BAD_ARGUMENT, "add --rate HZ");
  reading_refused(path, "cu8", -1, SC_BAD_ARGUMENT, "--rate -1");
  reading_refused(path, "ci16", 1e6, SC_BAD_ARGUMENT, "ci16_le");
  reading_refused(path, "wav", 1e6, SC_BAD_ARGUMENT, "no sample type wav");
  reading_refused(path, NULL, 0, SC_BAD_FORMAT, "--type TYPE --rate HZ");
}
END_TEST

START_TEST(names_are_cleaned)
{
  reading_refused(support_file("a\033[2Jb\nc\x9b"
                               "31m"),
                  "cu8", 1e6, SC_CANNOT_OPEN, "a?[2Jb?c?31m");
  static const unsigned char bytes[4];
  struct capture *capture =
      reading_open(support_file_write("e\033]0;x\007.raw", bytes, 4), "cu8", 1e6);
  ck_assert_str_eq(capture->name, "e?]0;x?.raw");
  capture_close(capture);
}
END_TEST

START_TEST(a_long_path_leaves_room_for_the_advice)
{
  char path[2000];
  memset(path, 'x', sizeof path - 1);
  path[sizeof path - 1] = 0;
  memcpy(path + sizeof path - 9, "last.raw", 8);
  reading_refused(path, NULL, 0, SC_CANNOT_OPEN, "last.raw: cannot be opened");
}
END_TEST

Suite *raw_suite(void)
{
  Suite *suite = suite_create("raw");
  TCase *tests = tcase_create("raw");
  tcase_add_checked_fixture(tests, support_files_setup, support_files_teardown);
  tcase_add_test(tests, reads_what_is_there);
  tcase_add_test(tests, seeks_to_any_frame);
  tcase_add_test(tests, odd_bytes_at_the_end_are_told);
  tcase_add_test(tests, a_file_that_shrinks_ends);
  tcase_add_test(tests, too_little_is_refused);
  tcase_add_test(tests, what_is_no_file_is_refused);
  tcase_add_test(tests, an_unreadable_file_is_refused);
  tcase_add_test(tests, contradictions_are_refused);
  tcase_add_test(tests, names_are_cleaned);
  tcase_add_test(tests, a_long_path_leaves_room_for_the_advice);
  suite_add_tcase(suite, tests);
  return suite;
}
