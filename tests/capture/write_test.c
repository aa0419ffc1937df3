/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The writer: what it writes is read back, and what it gives up leaves nothing. */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <check.h>

#include "capture/reading.h"
#include "capture/suites.h"
#include "capture/write.h"
#include "support/files.h"

static struct capture_writer *start(const struct capture_write_settings *settings)
{
  struct capture_writer *writer = NULL;
  struct sc_message message = {""};
  enum sc_error error = capture_writer_create(settings, &writer, &message);
  ck_assert_msg(error == SC_OK, "%s", message.text);
  return writer;
}

START_TEST(a_sigmf_pair_reads_back)
{
  static const struct sc_annotation notes[] = {
      {.first = 1, .frames = 2, .lower_hz = 91e6, .upper_hz = 92e6, .text = "the \"kite\""},
      {.first = 0, .frames = 0, .lower_hz = (double)NAN, .upper_hz = (double)NAN, .text = "all"},
  };
  char base[4096];
  (void)snprintf(base, sizeof base, "%s", support_file("pair"));
  struct capture_write_settings settings = {.path = base,
                                            .container = CAPTURE_WRITE_SIGMF,
                                            .type = "ci16_be",
                                            .rate_hz = 384000,
                                            .centre_hz = 91205000.5,
                                            .description = "a test",
                                            .annotations = notes,
                                            .annotation_count = 2};
  static const double samples[8] = {0.5, -0.5, 0.25, 2, -2, 0, 1.0 / 32768, 0.4 / 32768};
  struct capture_writer *writer = start(&settings);
  ck_assert_int_eq(capture_writer_feed(writer, samples, 3, NULL), SC_OK);
  ck_assert_int_eq(capture_writer_feed(writer, samples + 6, 1, NULL), SC_OK);
  ck_assert_uint_eq(support_file_count(), 1); /* none under its last name yet */
  ck_assert_int_eq(capture_writer_finish(writer, NULL), SC_OK);
  ck_assert_uint_eq(support_file_count(), 2);
  struct capture *capture = reading_open(base, NULL, 0);
  static const float expected[8] = {0.5f, -0.5f, 0.25f, 32767 / 32768.f, -1, 0, 1 / 32768.f, 0};
  float back[8];
  ck_assert_uint_eq(reading_frames(capture, back, 4), 4);
  ck_assert_int_eq(memcmp(back, expected, sizeof back), 0);
  ck_assert(capture->facts.rate_hz == 384000 && capture->segments[0].centre_hz == 91205000.5);
  ck_assert_uint_eq(capture->annotation_count, 2);
  ck_assert_str_eq(capture->annotations[0].text, "the \"kite\"");
  ck_assert(capture->annotations[0].upper_hz == 92e6 && isnan(capture->annotations[1].lower_hz));
  capture_close(capture);
}
END_TEST

START_TEST(giving_up_leaves_nothing)
{
  static const double samples[4] = {0};
  for (int container = 0; container < CAPTURE_WRITE_CONTAINERS; container++) {
    struct capture_write_settings settings = {.path = support_file("given-up"),
                                              .container = (enum capture_write_container)container,
                                              .type = "ci8",
                                              .bits = 16,
                                              .channels = 2,
                                              .rate_hz = 48000};
    struct capture_writer *writer = start(&settings);
    ck_assert_int_eq(capture_writer_feed(writer, samples, 1, NULL), SC_OK);
    capture_writer_destroy(writer);
    ck_assert_uint_eq(support_file_count(), 0);
  }
  capture_writer_destroy(NULL);
}
END_TEST

START_TEST(bad_settings_are_refused)
{
  static const struct {
    struct capture_write_settings settings;
    enum sc_error code;
  } cases[] = {
      {{.container = CAPTURE_WRITE_RAW, .type = "ci16", .rate_hz = 1}, SC_BAD_ARGUMENT},
      {{.container = CAPTURE_WRITE_RAW, .rate_hz = 1}, SC_BAD_ARGUMENT},
      {{.container = CAPTURE_WRITE_WAV, .bits = 17, .rate_hz = 48000}, SC_BAD_ARGUMENT},
      {{.container = CAPTURE_WRITE_FLAC, .bits = 32, .rate_hz = 48000}, SC_BAD_ARGUMENT},
      {{.container = CAPTURE_WRITE_FLAC, .bits = 16, .rate_hz = 2400000}, SC_WRITE_FAILED},
      {{.path = "/nowhere/at/all", .container = CAPTURE_WRITE_RAW, .type = "cu8"}, SC_WRITE_FAILED},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct capture_write_settings settings = cases[i].settings;
    struct capture_writer *writer = NULL;
    struct sc_message message = {""};
    settings.path = settings.path == NULL ? support_file("refused") : settings.path;
    enum sc_error error = capture_writer_create(&settings, &writer, &message);
    ck_assert_msg(error == cases[i].code, "case %zu: %s: %s", i, sc_error_name(error),
                  message.text);
    ck_assert_ptr_null(writer);
    reading_check_line(message.text);
    ck_assert_uint_eq(support_file_count(), 0);
  }
}
END_TEST

/* Triangular dither of two steps makes the mean of many codes follow the input within a
 * step, and the total error's variance 1/4 step squared (Lipshitz, Wannamaker, Vanderkooy,
 * J. Audio Eng. Soc. 40, 1992: quantisation 1/12 plus dither 1/6). */
START_TEST(dither_is_triangular)
{
  enum { FRAMES = 200000 };
  double *samples = malloc(FRAMES * sizeof *samples);
  float *back = malloc(FRAMES * sizeof *back);
  for (size_t i = 0; i < FRAMES; i++)
    samples[i] = 10.3 / 128;
  struct capture_write_settings settings = {.path = support_file("dither.raw"),
                                            .container = CAPTURE_WRITE_RAW,
                                            .type = "ri8",
                                            .rate_hz = 1000,
                                            .dither = true,
                                            .seed = 5};
  struct capture_writer *writer = start(&settings);
  ck_assert_int_eq(capture_writer_feed(writer, samples, FRAMES, NULL), SC_OK);
  ck_assert_int_eq(capture_writer_finish(writer, NULL), SC_OK);
  struct capture *capture = reading_open(settings.path, "ri8", 1000);
  ck_assert_uint_eq(reading_frames(capture, back, FRAMES), FRAMES);
  double mean = 0, square = 0;
  for (size_t i = 0; i < FRAMES; i++) {
    double error = (double)back[i] * 128 - 10.3;
    mean += error / FRAMES;
    square += error * error / FRAMES;
  }
  double sigma = 0.5 / sqrt(FRAMES); /* of the mean, in steps */
  ck_assert_msg(fabs(mean) < 4 * sigma, "mean %g", mean);
  ck_assert_msg(fabs(square - 0.25) < 4 * 0.25 * sqrt(2.0 / FRAMES), "variance %g", square);
  capture_close(capture);
  free(samples);
  free(back);
}
END_TEST

/* The same input makes the same bytes, whatever the clock says. */
START_TEST(files_are_reproducible)
{
  static const double samples[6] = {0.1, 0.2, 0.3, -0.1, -0.2, -0.3};
  unsigned char *bytes[2];
  size_t lengths[2];
  for (int i = 0; i < 2; i++) {
    struct capture_write_settings settings = {.path = support_file(i == 0 ? "one" : "two"),
                                              .container = CAPTURE_WRITE_WAV,
                                              .channels = 2,
                                              .rate_hz = 96000};
    struct capture_writer *writer = start(&settings);
    ck_assert_int_eq(capture_writer_feed(writer, samples, 3, NULL), SC_OK);
    ck_assert_int_eq(capture_writer_finish(writer, NULL), SC_OK);
    bytes[i] = support_file_read(settings.path, &lengths[i]);
  }
  ck_assert_uint_eq(lengths[0], lengths[1]);
  ck_assert_int_eq(memcmp(bytes[0], bytes[1], lengths[0]), 0);
  ck_assert_ptr_null(memmem(bytes[0], lengths[0], "PEAK", 4));
  free(bytes[0]);
  free(bytes[1]);
}
END_TEST

/* Beyond 4 GB a recording is RF64 (EBU Tech 3306-2009, clause 3.3: "RF64" in place of "RIFF", the
 * sizes in a chunk "ds64" that follows "WAVE"). What lies between the first and the last frame is a
 * hole in the file: its descriptor, the lowest that is free, is moved on. */
START_TEST(beyond_4_gb_it_is_rf64)
{
  static const uint64_t frame_bytes = 8, hole_frames = 1u << 29; /* 4 GiB */
  static const double samples[4] = {0.5, -0.5, 0.25, -0.25};
  struct capture_write_settings settings = {.path = support_file("long.wav"),
                                            .container = CAPTURE_WRITE_RF64,
                                            .bits = 32,
                                            .channels = 2,
                                            .rate_hz = 2400000,
                                            .growing = true};
  int descriptor = dup(STDERR_FILENO);
  ck_assert_int_ge(descriptor, 0);
  (void)close(descriptor);
  struct capture_writer *writer = start(&settings);
  ck_assert_int_eq(capture_writer_feed(writer, samples, 2, NULL), SC_OK);
  ck_assert_int_gt((int)(lseek(descriptor, (off_t)(hole_frames * frame_bytes), SEEK_CUR) >> 30), 3);
  ck_assert_int_eq(capture_writer_feed(writer, samples, 2, NULL), SC_OK);
  ck_assert_int_eq(capture_writer_settle(writer, NULL), SC_OK);
  ck_assert_int_eq(capture_writer_finish(writer, NULL), SC_OK);
  unsigned char head[36];
  FILE *file = fopen(settings.path, "rb");
  ck_assert_ptr_nonnull(file);
  ck_assert_uint_eq(fread(head, 1, sizeof head, file), sizeof head);
  (void)fclose(file);
  ck_assert_int_eq(memcmp(head, "RF64\377\377\377\377WAVEds64", 16), 0);
  uint64_t data_bytes = 0;
  for (int i = 7; i >= 0; i--)
    data_bytes = data_bytes << 8 | head[28 + i];
  ck_assert_uint_eq(data_bytes, (hole_frames + 4) * frame_bytes);
  struct capture *capture = reading_open(settings.path, NULL, 0);
  float back[4];
  ck_assert_uint_eq(capture->facts.frames, hole_frames + 4);
  ck_assert_uint_eq(reading_frames(capture, back, 2), 2);
  ck_assert(back[0] == 0.5f && back[3] == -0.25f);
  ck_assert_int_eq(capture_seek(capture, hole_frames + 2), SC_OK);
  ck_assert_uint_eq(reading_frames(capture, back, 2), 2);
  ck_assert(back[0] == 0.5f && back[3] == -0.25f);
  capture_close(capture);
}
END_TEST

/* A folder that is removed takes its files' names along, while writing goes on without an error. */
START_TEST(a_file_that_is_gone_is_said)
{
  static const double samples[4] = {0};
  for (int container = CAPTURE_WRITE_SIGMF; container <= CAPTURE_WRITE_RF64; container++) {
    char path[4096], name[4200];
    struct sc_message message = {""};
    (void)snprintf(path, sizeof path, "%s", support_file("gone"));
    struct capture_write_settings settings = {.path = path,
                                              .container = (enum capture_write_container)container,
                                              .type = "ci16_le",
                                              .bits = 16,
                                              .rate_hz = 48000,
                                              .growing = true};
    (void)snprintf(name, sizeof name, "%s%s", path,
                   container == CAPTURE_WRITE_SIGMF ? ".sigmf-data" : "");
    struct capture_writer *writer = start(&settings);
    ck_assert_int_eq(capture_writer_feed(writer, samples, 1, NULL), SC_OK);
    ck_assert_int_eq(capture_writer_settle(writer, &message), SC_OK);
    ck_assert_int_eq(remove(name), 0);
    ck_assert_int_eq(capture_writer_feed(writer, samples, 1, NULL), SC_OK);
    ck_assert_int_eq(capture_writer_settle(writer, &message), SC_WRITE_FAILED);
    ck_assert_ptr_nonnull(strstr(message.text, "no longer there"));
    reading_check_line(message.text);
    /* Another file under that name is none of ours. */
    FILE *other = fopen(name, "wb");
    ck_assert_ptr_nonnull(other);
    ck_assert_int_eq(fclose(other), 0);
    message.text[0] = 0;
    ck_assert_int_eq(capture_writer_finish(writer, &message), SC_WRITE_FAILED);
    ck_assert_ptr_nonnull(strstr(message.text, "no longer there"));
  }
}
END_TEST

Suite *write_suite(void)
{
  Suite *suite = suite_create("write");
  TCase *tests = tcase_create("write");
  tcase_add_checked_fixture(tests, support_files_setup, support_files_teardown);
  tcase_add_test(tests, a_sigmf_pair_reads_back);
  tcase_add_test(tests, giving_up_leaves_nothing);
  tcase_add_test(tests, bad_settings_are_refused);
  tcase_add_test(tests, dither_is_triangular);
  tcase_add_test(tests, files_are_reproducible);
  tcase_add_test(tests, beyond_4_gb_it_is_rf64);
  tcase_add_test(tests, a_file_that_is_gone_is_said);
  suite_add_tcase(suite, tests);
  return suite;
}
