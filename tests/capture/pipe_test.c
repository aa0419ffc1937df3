/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Streams: standard input and FIFOs, whole and torn. */
#include <config.h>

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/types.h>
#include <sys/wait.h>
#include <unistd.h>

#include <check.h>

#include "capture/open.h"
#include "capture/reading.h"
#include "capture/suites.h"
#include "support/files.h"

/* Makes standard input the reading end of a pipe; returns the writing end. */
static int become_reader(void)
{
  int ends[2];
  ck_assert_int_eq(pipe(ends), 0);
  ck_assert_int_eq(dup2(ends[0], STDIN_FILENO), STDIN_FILENO);
  ck_assert_int_eq(close(ends[0]), 0);
  return ends[1];
}

static void put(int descriptor, const void *bytes, size_t length)
{
  ck_assert_int_eq(write(descriptor, bytes, length), (ssize_t)length);
}

static void become_file(const char *path, off_t at)
{
  int file = open(path, O_RDONLY);
  ck_assert_int_eq(dup2(file, STDIN_FILENO), STDIN_FILENO);
  ck_assert_int_eq(close(file), 0);
  ck_assert_int_eq(lseek(STDIN_FILENO, at, SEEK_SET), at);
}

START_TEST(gives_what_is_there)
{
  int writer = become_reader();
  struct capture *capture = reading_open("-", "ri16_le", 192e3);
  float samples[100];
  size_t got = 0;
  ck_assert(capture->facts.live);
  ck_assert_uint_eq(capture->facts.frames, 0);
  ck_assert_str_eq(capture->name, "standard input");
  ck_assert_int_eq(capture->driver->descriptor(capture), STDIN_FILENO);
  put(writer, "\x00\x40\x00", 3);
  ck_assert_int_eq(capture_read(capture, samples, 100, &got, NULL), SC_OK);
  ck_assert_uint_eq(got, 1);
  ck_assert(samples[0] == 0.5f);
  put(writer, "\xc0\x00\x20\x00", 4);
  ck_assert_int_eq(capture_read(capture, samples, 100, &got, NULL), SC_OK);
  ck_assert_uint_eq(got, 2);
  ck_assert(samples[0] == -0.5f && samples[1] == 0.25f);
  ck_assert_int_eq(close(writer), 0);
  ck_assert_int_eq(capture_read(capture, samples, 100, &got, NULL), SC_OK);
  ck_assert_uint_eq(got, 0);
  ck_assert(reading_noticed(capture, "amid a frame: its last 1 bytes"));
  ck_assert_int_eq(capture_seek(capture, 0), SC_UNSUPPORTED);
  capture_close(capture);
}
END_TEST

/* Part of a frame makes the descriptor readable, and a read would wait for the rest. */
START_TEST(part_of_a_frame_is_nothing_to_read)
{
  int writer = become_reader();
  struct capture *capture = reading_open("-", "ci16_le", 192e3);
  float samples[4];
  size_t got = 0;
  put(writer, "\x00\x40\x00", 3);
  ck_assert(capture_wait(STDIN_FILENO, 0));
  ck_assert(!capture_ready(capture));
  ck_assert(!capture_wait(STDIN_FILENO, 0));
  put(writer, "\xc0\x00", 2);
  ck_assert(capture_ready(capture));
  ck_assert_int_eq(capture_read(capture, samples, 2, &got, NULL), SC_OK);
  ck_assert_uint_eq(got, 1);
  ck_assert(samples[0] == 0.5f && samples[1] == -0.5f);
  ck_assert_int_eq(close(writer), 0);
  ck_assert(capture_ready(capture)); /* its end */
  ck_assert_int_eq(capture_read(capture, samples, 2, &got, NULL), SC_OK);
  ck_assert_uint_eq(got, 0);
  capture_close(capture);
}
END_TEST

START_TEST(keeps_to_the_frames_asked_for)
{
  int writer = become_reader();
  struct capture *capture = reading_open("-", "cu8", 1e6);
  float samples[4];
  size_t got = 0;
  put(writer, "abcdefgh", 8);
  ck_assert_int_eq(close(writer), 0);
  for (int i = 0; i < 2; i++) {
    ck_assert_int_eq(capture_read(capture, samples, 2, &got, NULL), SC_OK);
    ck_assert_uint_eq(got, 2);
    ck_assert(samples[0] == ((float)("ae"[i]) - 127.5f) / 128);
  }
  ck_assert_int_eq(capture_read(capture, samples, 2, &got, NULL), SC_OK);
  ck_assert_uint_eq(got, 0);
  ck_assert_uint_eq(capture->notices.count, 0);
  capture_close(capture);
}
END_TEST

START_TEST(a_fifo_waits_for_its_writer)
{
  char path[4096];
  (void)snprintf(path, sizeof path, "%s", support_file("fifo"));
  ck_assert_int_eq(mkfifo(path, 0600), 0);
  pid_t child = fork();
  if (child == 0) {
    int writer = open(path, O_WRONLY);
    _exit(write(writer, "\x40\xc0", 2) == 2 ? 0 : 1);
  }
  struct capture *capture = reading_open(path, "ci8", 1e6);
  float samples[2];
  int status = -1;
  ck_assert(capture->facts.live);
  ck_assert_uint_eq(reading_frames(capture, samples, 1), 1);
  ck_assert(samples[0] == 0.5f && samples[1] == -0.5f);
  ck_assert_int_eq(waitpid(child, &status, 0), child);
  ck_assert_int_eq(status, 0);
  capture_close(capture);
  reading_refused(path, NULL, 0, SC_BAD_ARGUMENT, "HZ, or give a sound file by its name");
}
END_TEST

START_TEST(waiting_is_foreseen)
{
  char path[4096];
  (void)snprintf(path, sizeof path, "%s", support_file("fifo"));
  ck_assert_int_eq(mkfifo(path, 0600), 0);
  struct sc_source_options options = {.path = path, .type = "ci8", .rate_hz = 1e6};
  ck_assert(sc_source_waits(&options));
  options.follow = true; /* also of the kind, which samples tell */
  ck_assert(sc_source_waits(&options));
  options.as = SC_KIND_IQ;
  ck_assert(!sc_source_waits(&options));
  options = (struct sc_source_options){.path = "-", .type = "ci8", .rate_hz = 1e6};
  int writer = become_reader();
  ck_assert(sc_source_waits(&options));
  put(writer, "ab", 2);
  ck_assert(!sc_source_waits(&options));
  ck_assert_int_eq(close(writer), 0);
  become_file(support_file_write("a.raw", "ab", 2), 0);
  ck_assert(!sc_source_waits(&options));
}
END_TEST

START_TEST(standard_input_needs_its_facts)
{
  int writer = become_reader();
  reading_refused("-", NULL, 0, SC_BAD_ARGUMENT, "add --type TYPE --rate HZ");
  reading_refused("-", "cu8", 0, SC_BAD_ARGUMENT, "add --rate HZ");
  ck_assert_int_eq(close(writer), 0);
}
END_TEST

START_TEST(a_closed_standard_input_fails_to_read)
{
  ck_assert_int_eq(close(STDIN_FILENO), 0);
  struct capture *capture = reading_open("-", "cu8", 1e6);
  struct sc_message message = {""};
  float samples[2];
  size_t got = 0;
  ck_assert_int_eq(capture_read(capture, samples, 1, &got, &message), SC_READ_FAILED);
  reading_check_line(message.text);
  capture_close(capture);
}
END_TEST

/* ---- a file on standard input */

START_TEST(a_file_is_no_stream)
{
  become_file(support_file_write("at.raw", "?\x40\xc0\x20\x10\x08", 6), 1);
  struct capture *capture = reading_open("-", "ci8", 1e6);
  float samples[4];
  ck_assert(!capture->facts.live);
  ck_assert_uint_eq(capture->facts.frames, 2);
  ck_assert_str_eq(capture->name, "standard input");
  ck_assert(reading_noticed(capture, "the last 1 of 5 bytes"));
  ck_assert_int_eq(capture_seek(capture, 1), SC_OK);
  ck_assert_uint_eq(reading_frames(capture, samples, 2), 1);
  ck_assert(samples[0] == 0.25f && samples[1] == 0.125f);
  ck_assert_int_eq(capture_seek(capture, 0), SC_OK);
  ck_assert_uint_eq(reading_frames(capture, samples, 1), 1);
  ck_assert(samples[0] == 0.5f && samples[1] == -0.5f);
  capture_close(capture);
  ck_assert_int_eq(lseek(STDIN_FILENO, 0, SEEK_CUR), 1); /* it is still open, and stands there */
}
END_TEST

START_TEST(a_file_that_is_no_samples_is_refused)
{
  become_file(support_file_write("short.raw", "ab", 2), 2);
  reading_refused("-", "ci8", 1e6, SC_BAD_FORMAT, "standard input: holds no sample");
  reading_refused("-", NULL, 0, SC_BAD_FORMAT, "standard input: the file is empty");
  become_file(support_file_write("sound.wav", "..RIFF....", 10), 2);
  reading_refused("-", "ci8", 1e6, SC_BAD_ARGUMENT, "standard input: is a sound file");
  become_file(support_file_write("no.wav", "abcdefghijklmnop", 16), 0);
  reading_refused("-", NULL, 0, SC_BAD_FORMAT, "standard input: is neither a sound file");
}
END_TEST

START_TEST(nothing_is_an_end)
{
  struct capture *capture = reading_open("/dev/null", "cu8", 1e6);
  float samples[2];
  ck_assert_uint_eq(reading_frames(capture, samples, 1), 0);
  capture_close(capture);
}
END_TEST

Suite *pipe_suite(void)
{
  Suite *suite = suite_create("pipe");
  TCase *tests = tcase_create("pipe");
  tcase_add_checked_fixture(tests, support_files_setup, support_files_teardown);
  tcase_add_test(tests, gives_what_is_there);
  tcase_add_test(tests, part_of_a_frame_is_nothing_to_read);
  tcase_add_test(tests, keeps_to_the_frames_asked_for);
  tcase_add_test(tests, a_fifo_waits_for_its_writer);
  tcase_add_test(tests, waiting_is_foreseen);
  tcase_add_test(tests, standard_input_needs_its_facts);
  tcase_add_test(tests, a_file_is_no_stream);
  tcase_add_test(tests, a_file_that_is_no_samples_is_refused);
  tcase_add_test(tests, nothing_is_an_end);
  /* Last: without a fork it stays closed, and what is opened next takes its place. */
  tcase_add_test(tests, a_closed_standard_input_fails_to_read);
  suite_add_tcase(suite, tests);
  return suite;
}
