/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What a recording keeps of captures in the source, read back by the reader of SigMF. */
#include <config.h>

#include <stdio.h>
#include <string.h>
#include <time.h>

#include <check.h>

#include <sidecomb/record.h>

#include "capture/open.h"
#include "capture/suites.h"
#include "support/files.h"

enum { FRAMES = 10 };

static struct sc_source_info info = {
    .kind = SC_KIND_IQ, .channels = 2, .sample_rate_hz = 8000, .nominal_rate_hz = 8000, .bits = 8};

static struct sc_recorder *begin(const char *path)
{
  const struct sc_record_settings settings = {.path = path};
  struct sc_recorder *recorder;
  struct sc_message message = {""};
  ck_assert_msg(sc_record_create(&info, &settings, &recorder, &message) == SC_OK, "%s",
                message.text);
  return recorder;
}

static void feed(struct sc_recorder *recorder)
{
  static const float samples[2 * FRAMES];
  const struct sc_block block = {
      .frames = FRAMES, .channels = 2, .samples = samples, .info = &info};
  ck_assert_int_eq(sc_record_feed(recorder, &block, NULL), SC_OK);
}

static struct capture *read_back(const char *path)
{
  const struct sc_source_options options = {.path = path};
  struct capture *capture;
  struct sc_message message = {""};
  ck_assert_msg(capture_open(&options, &capture, &message) == SC_OK, "%s", message.text);
  return capture;
}

/* As many as are kept, with all that one can hold, have room; more are counted. */
START_TEST(captures_are_kept_up_to_a_number)
{
  const char *path = support_file("many.sigmf-meta");
  struct sc_record_summary summary;
  info.live = false;
  info.indexed = true;
  struct sc_recorder *recorder = NULL;
  for (int n = 0; n < SC_RECORD_CAPTURES + 88; n++) {
    info.nominal_centre_hz = 987654321.123456 + n;
    info.global_index = UINT64_C(1234567890123) + 1000 * (uint64_t)n;
    (void)snprintf(info.datetime, sizeof info.datetime, "2031-05-04T10:%02d:%02d.123456789Z",
                   n / 60, n % 60);
    if (recorder == NULL)
      recorder = begin(path);
    feed(recorder);
    feed(recorder);
  }
  ck_assert_int_eq(sc_record_finish(recorder, &summary, NULL), SC_OK);
  ck_assert_uint_eq(summary.untold, 88);
  ck_assert_uint_eq(summary.gaps, 0);
  struct capture *capture = read_back(path);
  ck_assert_uint_eq(capture->segment_count, SC_RECORD_CAPTURES);
  for (size_t n = 0; n < SC_RECORD_CAPTURES; n++) {
    const struct capture_segment *segment = &capture->segments[n];
    ck_assert_uint_eq(segment->first, 2 * FRAMES * n);
    ck_assert_double_eq(segment->centre_hz, 987654321.123456 + (double)n);
    ck_assert_uint_eq(segment->global_index, UINT64_C(1234567890123) + 1000 * n);
    ck_assert_uint_eq(strlen(segment->datetime), strlen("2031-05-04T10:00:00.123456789Z"));
  }
  capture_close(capture);
}
END_TEST

/* However many there are, they have room from the start; those behind an early end go. */
START_TEST(annotations_are_kept)
{
  enum { COUNT = 5000 };
  static struct sc_annotation notes[COUNT];
  const char *path = support_file("noted.sigmf-meta");
  for (size_t i = 0; i < COUNT; i++) {
    notes[i] = (struct sc_annotation){.first = i, .frames = 3, .lower_hz = 1e6, .upper_hz = 2e6};
    memset(notes[i].text, 'x', sizeof notes[i].text - 1);
  }
  info.live = false;
  info.annotations = notes;
  info.annotation_count = COUNT;
  struct sc_recorder *recorder = begin(path);
  struct capture *capture;
  const struct sc_source_options options = {.path = path};
  for (int n = 0; n < 2; n++)
    feed(recorder);
  ck_assert_int_eq(capture_open(&options, &capture, NULL), SC_OK); /* valid at any moment */
  ck_assert_uint_eq(capture->annotation_count, COUNT);
  capture_close(capture);
  ck_assert_int_eq(sc_record_finish(recorder, NULL, NULL), SC_OK);
  capture = read_back(path);
  ck_assert_uint_eq(capture->annotation_count, 2 * FRAMES);
  ck_assert_str_eq(capture->annotations[7].text, notes[7].text);
  ck_assert_uint_eq(capture->annotations[7].first, 7);
  capture_close(capture);
}
END_TEST

static bool is_there(const char *path)
{
  FILE *file = fopen(path, "rb");
  if (file != NULL)
    (void)fclose(file);
  return file != NULL;
}

START_TEST(without_a_frame_there_is_no_file)
{
  static const char *const names[] = {"none.sigmf-meta", "none.wav"};
  for (size_t i = 0; i < 2; i++) {
    struct sc_record_summary summary;
    struct sc_recorder *recorder = begin(support_file(names[i]));
    ck_assert(is_there(support_file(names[i])));
    ck_assert_int_eq(sc_record_finish(recorder, &summary, NULL), SC_OK);
    ck_assert_uint_eq(summary.frames, 0);
    ck_assert(!is_there(support_file(names[i])));
  }
  ck_assert(!is_there(support_file("none.sigmf-data")));
}
END_TEST

/* A recording of a live source begins now, whenever the source began. */
START_TEST(a_live_recording_has_the_clock_s_time)
{
  const char *path = support_file("live.sigmf-meta");
  char year[8];
  const time_t now = time(NULL);
  struct tm parts;
  info.live = info.indexed = true;
  info.nominal_centre_hz = 1e8;
  (void)snprintf(info.datetime, sizeof info.datetime, "1999-05-04T10:00:00Z");
  ck_assert_ptr_nonnull(gmtime_r(&now, &parts));
  ck_assert_uint_gt(strftime(year, sizeof year, "%Y-", &parts), 0);
  struct sc_recorder *recorder = begin(path);
  feed(recorder);
  feed(recorder);
  ck_assert_int_eq(sc_record_finish(recorder, NULL, NULL), SC_OK);
  struct capture *capture = read_back(path);
  ck_assert_uint_eq(capture->segment_count, 1);
  ck_assert_msg(strncmp(capture->segments[0].datetime, year, 5) == 0, "%s",
                capture->segments[0].datetime);
  ck_assert(!capture->segments[0].indexed);
  capture_close(capture);
}
END_TEST

Suite *record_suite(void)
{
  Suite *suite = suite_create("record");
  TCase *tests = tcase_create("record");
  tcase_add_checked_fixture(tests, support_files_setup, support_files_teardown);
  tcase_add_test(tests, captures_are_kept_up_to_a_number);
  tcase_add_test(tests, annotations_are_kept);
  tcase_add_test(tests, a_live_recording_has_the_clock_s_time);
  tcase_add_test(tests, without_a_frame_there_is_no_file);
  suite_add_tcase(suite, tests);
  return suite;
}
