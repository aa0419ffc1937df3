/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A file that grows while it is read. The test writes and reads in turn, so nothing depends on
 * time: what a reader may take without waiting is asked of its descriptor. */
#include <config.h>

#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <check.h>

#include "capture/open.h"
#include "capture/reading.h"
#include "capture/suites.h"
#include "support/files.h"

enum { RATE = 8000 };

static int writer;
static struct capture *capture;
static float samples[4 * RATE];

static void write_bytes(const void *bytes, size_t size)
{
  ck_assert_int_eq(write(writer, bytes, size), (ssize_t)size);
}

static void begin(const char *name, bool newest, size_t zeros)
{
  static const signed char nothing[4 * RATE];
  const char *path = support_file_write(name, nothing, zeros);
  writer = open(path, O_WRONLY | O_APPEND);
  ck_assert_int_ge(writer, 0);
  struct sc_source_options options = {
      .path = path, .type = "ci8", .rate_hz = RATE, .follow = true, .newest = newest};
  struct sc_message message = {""};
  ck_assert_msg(capture_open(&options, &capture, &message) == SC_OK, "%s", message.text);
}

static bool is_ready(void)
{
  return capture_wait(capture->driver->descriptor(capture), 0);
}

/* All that can be read without waiting. */
static size_t read_ready(void)
{
  size_t all = 0, got = 1;
  struct sc_message message = {""};
  while (got > 0 && is_ready()) {
    enum sc_error error = capture_read(capture, samples, 2 * RATE, &got, &message);
    ck_assert_msg(error == SC_OK, "%s", message.text);
    all += got;
  }
  return all;
}

START_TEST(what_is_written_is_read)
{
  static const signed char frame[] = {64, -64}, half[] = {32};
  begin("grows.raw", false, 200);
  ck_assert(capture->facts.live);
  ck_assert_uint_eq(capture->facts.frames, 0);
  ck_assert_uint_eq(read_ready(), 100);
  ck_assert(!is_ready());
  write_bytes(frame, sizeof frame);
  ck_assert_uint_eq(read_ready(), 1);
  ck_assert(samples[0] == 0.5f && samples[1] == -0.5f);
  write_bytes(half, sizeof half); /* half a frame waits for its other half */
  write_bytes(half, sizeof half);
  ck_assert_uint_eq(read_ready(), 1);
  ck_assert(samples[0] == 0.25f && samples[1] == 0.25f);
  ck_assert(!is_ready());
  write_bytes(frame, sizeof frame);
  close(writer);
  ck_assert_uint_eq(read_ready(), 1); /* and then the end, or this would never return */
  ck_assert(is_ready());
  capture_close(capture);
}
END_TEST

/* What was told of is looked at, so that one who waits is not woken again before there is more. */
static void check_part_of_a_frame(void)
{
  static const signed char half[] = {32};
  write_bytes(half, sizeof half);
  ck_assert(is_ready());
  ck_assert(!capture_ready(capture));
  ck_assert(!is_ready());
  write_bytes(half, sizeof half);
  ck_assert(is_ready());
  ck_assert(capture_ready(capture));
  ck_assert_uint_eq(read_ready(), 1);
  ck_assert(samples[0] == 0.25f && samples[1] == 0.25f);
}

START_TEST(part_of_a_frame_is_nothing_to_read)
{
  begin("part.raw", false, 200);
  ck_assert_uint_eq(read_ready(), 100);
  check_part_of_a_frame();
  close(writer);
  ck_assert(capture_ready(capture)); /* its end */
  capture_close(capture);
}
END_TEST

START_TEST(part_of_a_frame_in_a_named_pipe_is_nothing_to_read)
{
  const char *path = support_file("part");
  ck_assert_int_eq(mkfifo(path, 0600), 0);
  struct sc_source_options options = {.path = path, .type = "ci8", .rate_hz = RATE, .follow = true};
  struct sc_message message = {""};
  ck_assert_msg(capture_open(&options, &capture, &message) == SC_OK, "%s", message.text);
  writer = open(path, O_WRONLY);
  check_part_of_a_frame();
  close(writer);
  capture_close(capture);
}
END_TEST

START_TEST(it_may_begin_with_the_newest)
{
  static const signed char frame[] = {64, -64};
  begin("newest.raw", true, 2 * RATE * 3 / 2);
  ck_assert_uint_eq(read_ready(), RATE);
  write_bytes(frame, sizeof frame);
  ck_assert_uint_eq(read_ready(), 1);
  ck_assert(samples[0] == 0.5f);
  close(writer);
  capture_close(capture);
}
END_TEST

START_TEST(an_empty_file_may_be_followed)
{
  static const signed char frame[] = {64, -64};
  begin("empty.raw", false, 0);
  write_bytes(frame, sizeof frame);
  ck_assert_uint_eq(read_ready(), 1);
  close(writer);
  capture_close(capture);
}
END_TEST

START_TEST(a_file_that_becomes_shorter_says_so)
{
  begin("shrinks.raw", false, 200);
  ck_assert_uint_eq(read_ready(), 100);
  ck_assert_int_eq(ftruncate(writer, 20), 0);
  ck_assert(is_ready());
  struct sc_message message = {""};
  size_t got = 1;
  ck_assert_int_eq(capture_read(capture, samples, 10, &got, &message), SC_READ_FAILED);
  ck_assert_ptr_nonnull(strstr(message.text, "shrinks.raw: the file became shorter"));
  reading_check_line(message.text);
  close(writer);
  capture_close(capture);
}
END_TEST

/* _i: removed, or replaced by another, while its writer has it open; or after that closed it, which
 * is an end like any other. */
START_TEST(a_removed_file_ends)
{
  const char *other = support_file_write("other.raw", "", 0);
  begin("removed.raw", false, 200);
  ck_assert_uint_eq(read_ready(), 100);
  if (_i == 2)
    close(writer);
  if (_i == 1)
    ck_assert_int_eq(rename(other, support_file("removed.raw")), 0);
  else
    ck_assert_int_eq(unlink(support_file("removed.raw")), 0);
  ck_assert(is_ready());
  struct sc_message message = {""};
  size_t got = 1;
  ck_assert_int_eq(capture_read(capture, samples, 10, &got, &message),
                   _i == 2 ? SC_OK : SC_READ_FAILED);
  ck_assert_uint_eq(got, 0);
  if (_i < 2) {
    ck_assert_ptr_nonnull(strstr(message.text, "removed.raw: the file was removed or replaced"));
    reading_check_line(message.text);
    close(writer);
  }
  capture_close(capture);
}
END_TEST

START_TEST(a_file_of_another_name_is_followed_on)
{
  static const signed char frame[] = {64, -64};
  begin("named.raw", false, 200);
  ck_assert_uint_eq(read_ready(), 100);
  char to[4096];
  (void)snprintf(to, sizeof to, "%s", support_file("renamed.raw"));
  ck_assert_int_eq(rename(support_file("named.raw"), to), 0);
  ck_assert_uint_eq(read_ready(), 0);
  write_bytes(frame, sizeof frame);
  ck_assert_uint_eq(read_ready(), 1);
  close(writer);
  capture_close(capture);
}
END_TEST

START_TEST(a_sigmf_pair_is_followed)
{
  static const char meta[] =
      "{\"global\": {\"core:datatype\": \"ci8\", \"core:sample_rate\": 8000, \"core:version\": "
      "\"1.0.0\"}, \"captures\": [{\"core:sample_start\": 0, \"core:frequency\": 91200000}], "
      "\"annotations\": []}";
  static const signed char frames[] = {64, -64, 32, 32};
  const char *data = support_file_write("pair.sigmf-data", frames, 2);
  writer = open(data, O_WRONLY | O_APPEND);
  struct sc_source_options options = {
      .path = support_file_write("pair.sigmf-meta", meta, sizeof meta - 1), .follow = true};
  struct sc_message message = {""};
  ck_assert_msg(capture_open(&options, &capture, &message) == SC_OK, "%s", message.text);
  ck_assert_double_eq(capture->segments[0].centre_hz, 91.2e6);
  ck_assert_uint_eq(read_ready(), 1);
  write_bytes(frames, sizeof frames);
  ck_assert_uint_eq(read_ready(), 2);
  close(writer);
  capture_close(capture);
}
END_TEST

/* Writers come and go; what another one writes does not follow on, and begins a frame. */
START_TEST(a_named_pipe_starts_again)
{
  static const signed char frames[] = {64, -64, 32, 32, 16};
  const char *path = support_file("again");
  ck_assert_int_eq(mkfifo(path, 0600), 0);
  struct sc_source_options options = {.path = path, .type = "ci8", .rate_hz = RATE, .follow = true};
  struct sc_message message = {""};
  ck_assert_msg(capture_open(&options, &capture, &message) == SC_OK, "%s", message.text);
  ck_assert(!is_ready());
  writer = open(path, O_WRONLY);
  write_bytes(frames, sizeof frames); /* and half a frame */
  ck_assert_uint_eq(read_ready(), 2);
  ck_assert(!capture->gap);
  close(writer);
  ck_assert(!is_ready()); /* no end */
  writer = open(path, O_WRONLY);
  write_bytes(frames, 2);
  ck_assert_uint_eq(read_ready(), 1);
  ck_assert(samples[0] == 0.5f && samples[1] == -0.5f);
  ck_assert(capture->gap);
  capture->gap = false;
  write_bytes(frames, 2);
  ck_assert_uint_eq(read_ready(), 1);
  ck_assert(!capture->gap);
  close(writer);
  capture_close(capture);
}
END_TEST

/* What a writer left unread is read, and the half frame at its end is dropped; the next one may be
 * there already. */
START_TEST(a_writer_of_a_named_pipe_leaves_something)
{
  static const signed char frames[] = {64, -64, 32, 32, 16};
  const char *path = support_file("left");
  ck_assert_int_eq(mkfifo(path, 0600), 0);
  struct sc_source_options options = {.path = path, .type = "ci8", .rate_hz = RATE, .follow = true};
  struct sc_message message = {""};
  ck_assert_msg(capture_open(&options, &capture, &message) == SC_OK, "%s", message.text);
  for (int turn = 0; turn < 3; turn++) {
    writer = open(path, O_WRONLY);
    write_bytes(frames, sizeof frames);
    close(writer);
    int next = _i == 1 ? open(path, O_WRONLY) : -1;
    ck_assert_uint_eq(read_ready(), 2);
    ck_assert(samples[0] == 0.5f && samples[1] == -0.5f && samples[2] == 0.25f);
    ck_assert(capture->gap == (turn > 0));
    capture->gap = false;
    if (next >= 0)
      close(next);
    ck_assert(!is_ready());
  }
  capture_close(capture);
}
END_TEST

/* Read up to the middle of a frame, in steps: what is told of the writing comes late. */
START_TEST(a_writer_of_a_named_pipe_ends_amid_a_frame)
{
  static const signed char frames[] = {64, -64, 32, 32};
  const char *path = support_file("amid");
  ck_assert_int_eq(mkfifo(path, 0600), 0);
  struct sc_source_options options = {.path = path, .type = "ci8", .rate_hz = RATE, .follow = true};
  struct sc_message message = {""};
  ck_assert_msg(capture_open(&options, &capture, &message) == SC_OK, "%s", message.text);
  writer = open(path, O_WRONLY);
  write_bytes(frames, 3);
  ck_assert_uint_eq(read_ready(), 1); /* and holds the half frame */
  int reader = open(path, O_RDWR | O_NONBLOCK);
  write_bytes(frames, 1); /* told of, and taken by nobody: */
  char byte;
  ck_assert_int_eq(read(reader, &byte, 1), 1);
  close(writer);
  writer = open(path, O_WRONLY);
  write_bytes(frames, sizeof frames);
  ck_assert_uint_eq(read_ready(), 2);
  ck_assert(samples[0] == 0.5f && samples[1] == -0.5f && samples[2] == 0.25f);
  ck_assert(capture->gap);
  close(reader);
  close(writer);
  capture_close(capture);
}
END_TEST

START_TEST(a_sound_file_is_refused)
{
  struct sc_source_options options = {.path = support_file_write("x.wav", "RIFF", 4),
                                      .follow = true};
  struct sc_message message = {""};
  ck_assert_int_eq(capture_open(&options, &capture, &message), SC_BAD_ARGUMENT);
  ck_assert_ptr_nonnull(strstr(message.text, "--follow"));
}
END_TEST

Suite *follow_suite(void)
{
  Suite *suite = suite_create("follow");
  TCase *files = tcase_create("files");
  tcase_add_checked_fixture(files, support_files_setup, support_files_teardown);
  tcase_add_test(files, what_is_written_is_read);
  tcase_add_test(files, part_of_a_frame_is_nothing_to_read);
  tcase_add_test(files, part_of_a_frame_in_a_named_pipe_is_nothing_to_read);
  tcase_add_test(files, it_may_begin_with_the_newest);
  tcase_add_test(files, an_empty_file_may_be_followed);
  tcase_add_test(files, a_file_that_becomes_shorter_says_so);
  tcase_add_loop_test(files, a_removed_file_ends, 0, 3);
  tcase_add_test(files, a_file_of_another_name_is_followed_on);
  tcase_add_test(files, a_sigmf_pair_is_followed);
  tcase_add_test(files, a_named_pipe_starts_again);
  tcase_add_loop_test(files, a_writer_of_a_named_pipe_leaves_something, 0, 2);
  tcase_add_test(files, a_writer_of_a_named_pipe_ends_amid_a_frame);
  tcase_add_test(files, a_sound_file_is_refused);
  suite_add_tcase(suite, files);
  return suite;
}
