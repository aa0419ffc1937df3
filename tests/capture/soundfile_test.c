/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Sound files of every kind and width, whole, cut short, and with headers that lie. */
#include <config.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <check.h>

#include "capture/reading.h"
#include "capture/sounds.h"
#include "capture/suites.h"
#include "support/files.h"

enum { FRAMES = 3000 };

START_TEST(every_kind_reads_back_exactly)
{
  const struct sounds_kind *kind = &sounds_kinds[_i];
  struct capture *capture = reading_open(sounds_write(kind, FRAMES, 192000), NULL, 0);
  static float samples[2 * FRAMES + 2];
  ck_assert_str_eq(capture->facts.format, kind->words);
  ck_assert_uint_eq(capture->facts.frames, FRAMES);
  ck_assert_uint_eq(capture->facts.bits, kind->bits == 64 ? 0 : kind->bits);
  ck_assert(capture->facts.rate_hz == 192000);
  ck_assert(!capture->facts.is_complex && !capture->facts.is_real);
  ck_assert_uint_eq(reading_frames(capture, samples, FRAMES + 1), FRAMES);
  for (size_t i = 0; i < FRAMES; i++)
    for (unsigned k = 0; k < 2; k++)
      ck_assert_msg((double)samples[2 * i + k] == sounds_value(i, k), "frame %zu: %g, not %g", i,
                    (double)samples[2 * i + k], sounds_value(i, k));
  ck_assert_uint_eq(capture->notices.count, 0);
  ck_assert_int_eq(capture_seek(capture, 1234), SC_OK);
  ck_assert_uint_eq(reading_frames(capture, samples, 1), 1);
  ck_assert((double)samples[1] == sounds_value(1234, 1));
  capture_close(capture);
}
END_TEST

/* Cut to three quarters: the frames that are left come right, and it is said. */
START_TEST(every_kind_survives_a_cut)
{
  const struct sounds_kind *kind = &sounds_kinds[_i];
  const char *path = sounds_write(kind, FRAMES, 192000);
  static float samples[2 * FRAMES];
  size_t length;
  free(support_file_read(path, &length));
  ck_assert_int_eq(truncate(path, (off_t)(length * 3 / 4)), 0);
  if (kind->container == CAPTURE_WRITE_CAF && kind->bits == 64) {
    /* libsndfile finds no data chunk then */
    reading_refused(path, NULL, 0, SC_BAD_FORMAT, "malformed");
    return;
  }
  struct capture *capture = reading_open(path, NULL, 0);
  size_t got = reading_frames(capture, samples, FRAMES);
  ck_assert_msg(got < FRAMES, "%zu", got);
  if (kind->container != CAPTURE_WRITE_FLAC) /* whose blocks are lost as a whole */
    ck_assert_msg(got > FRAMES / 2, "%zu", got);
  for (size_t i = 0; i < got; i++)
    ck_assert((double)samples[2 * i] == sounds_value(i, 0));
  ck_assert_msg(capture->notices.count == 1, "%s: %zu notices", kind->name, capture->notices.count);
  ck_assert(reading_noticed(capture, "header"));
  capture_close(capture);
}
END_TEST

START_TEST(a_header_by_the_book_is_read)
{
  struct sounds_wav wav = {8, 96000, 2, 16, 8};
  struct capture *capture = reading_open(sounds_wav("book.wav", &wav), NULL, 0);
  float samples[4];
  ck_assert_uint_eq(reading_frames(capture, samples, 2), 2);
  ck_assert(samples[0] == 0x0100 / 32768.f && samples[3] == 0x0706 / 32768.f);
  ck_assert(capture->facts.high == 32767 / 32768.f && capture->facts.low == -1);
  capture_close(capture);
}
END_TEST

START_TEST(headers_that_lie)
{
  struct sounds_wav wav = {4000, 96000, 2, 16, 400};
  struct capture *capture = reading_open(sounds_wav("more.wav", &wav), NULL, 0);
  ck_assert_uint_eq(capture->facts.frames, 100);
  ck_assert(reading_noticed(capture, "does not fit the file: read 100 frames"));
  capture_close(capture);
  wav = (struct sounds_wav){400, 96000, 2, 16, 4 << 20};
  capture = reading_open(sounds_wav("less.wav", &wav), NULL, 0);
  ck_assert(reading_noticed(capture, "the header counts 400 bytes of samples"));
  capture_close(capture);
  wav = (struct sounds_wav){400, 0, 2, 16, 400};
  reading_refused(sounds_wav("zero.wav", &wav), NULL, 0, SC_BAD_FORMAT, "a sample rate of 0");
  wav = (struct sounds_wav){400, 96000, 0, 16, 400};
  reading_refused(sounds_wav("none.wav", &wav), NULL, 0, SC_BAD_FORMAT, "none.wav");
  wav = (struct sounds_wav){0, 96000, 2, 16, 0};
  reading_refused(sounds_wav("void.wav", &wav), NULL, 0, SC_BAD_FORMAT, "holds no sample");
}
END_TEST

/* As a recorder leaves it that was not told the length, or was killed. */
START_TEST(an_unfinished_size_reads_to_the_end)
{
  struct sounds_wav wav = {0xffffffffu - 36, 96000, 2, 16, 4000};
  struct capture *capture = reading_open(sounds_wav("stream.wav", &wav), NULL, 0);
  ck_assert_uint_eq(capture->facts.frames, 1000);
  ck_assert_uint_eq(capture->notices.count, 1);
  capture_close(capture);
}
END_TEST

START_TEST(a_given_rate_wins)
{
  struct sounds_wav wav = {400, 48000, 2, 16, 400};
  struct capture *capture = reading_open(sounds_wav("rate.wav", &wav), NULL, 2400000);
  ck_assert(capture->facts.rate_hz == 2400000);
  ck_assert(reading_noticed(capture, "the file says 48000"));
  capture_close(capture);
}
END_TEST

START_TEST(many_channels)
{
  struct sounds_wav wav = {600, 48000, 6, 16, 600};
  struct capture *capture = reading_open(sounds_wav("six.wav", &wav), NULL, 0);
  ck_assert_uint_eq(capture->facts.channels, 6);
  capture_close(capture);
  wav = (struct sounds_wav){6000, 48000, 300, 16, 6000};
  reading_refused(sounds_wav("hundreds.wav", &wav), NULL, 0, SC_BAD_FORMAT, "1 to 64");
}
END_TEST

START_TEST(other_files_are_refused)
{
  static const char text[] = "This is a letter and not a capture, dear kite friends.";
  reading_refused(support_file_write("letter.txt", text, sizeof text), NULL, 0, SC_BAD_FORMAT,
                  "neither a sound file nor a SigMF recording");
  reading_refused(support_file_write("r.wav", "RIFF", 4), NULL, 0, SC_BAD_FORMAT, "r.wav");
  reading_refused(support_file_write("f.flac", "fLaC\0\0\0\x22", 8), NULL, 0, SC_BAD_FORMAT,
                  "f.flac");
}
END_TEST

Suite *soundfile_suite(void)
{
  Suite *suite = suite_create("soundfile");
  TCase *tests = tcase_create("soundfile");
  int kinds = (int)sounds_kind_count;
  tcase_add_checked_fixture(tests, support_files_setup, support_files_teardown);
  tcase_add_loop_test(tests, every_kind_reads_back_exactly, 0, kinds);
  tcase_add_loop_test(tests, every_kind_survives_a_cut, 0, kinds);
  tcase_add_test(tests, a_header_by_the_book_is_read);
  tcase_add_test(tests, headers_that_lie);
  tcase_add_test(tests, an_unfinished_size_reads_to_the_end);
  tcase_add_test(tests, a_given_rate_wins);
  tcase_add_test(tests, many_channels);
  tcase_add_test(tests, other_files_are_refused);
  suite_add_tcase(suite, tests);
  return suite;
}
