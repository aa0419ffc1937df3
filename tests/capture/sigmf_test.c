/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* SigMF recordings. Keys and their meaning: the SigMF specification, version 1.0. */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

#include <check.h>

#include "capture/reading.h"
#include "capture/suites.h"
#include "support/files.h"

static const unsigned char ramp[64] = {0,  1,  2,  3,  4,  5,  6,  7,  8,  9,  10,
                                       11, 12, 13, 14, 15, 16, 17, 18, 19, 20, 21,
                                       22, 23, 24, 25, 26, 27, 28, 29, 30, 31, 32};

static const char *meta(const char *text)
{
  return support_file_write("kite.sigmf-meta", text, strlen(text));
}

static struct capture *open_pair(const char *text, size_t bytes)
{
  (void)support_file_write("kite.sigmf-data", ramp, bytes);
  return reading_open(meta(text), NULL, 0);
}

static void refused(const char *text, enum sc_error code, const char *part)
{
  (void)support_file_write("kite.sigmf-data", ramp, sizeof ramp);
  reading_refused(meta(text), NULL, 0, code, part);
}

#define GLOBAL "\"global\": {\"core:datatype\": \"ci8\", \"core:sample_rate\": 250000}"

START_TEST(any_name_of_the_pair_will_do)
{
  static const char *const names[] = {"kite.sigmf-meta", "kite.sigmf-data", "kite"};
  capture_close(open_pair("{" GLOBAL "}", 64));
  for (size_t i = 0; i < 3; i++) {
    struct capture *capture = reading_open(support_file(names[i]), NULL, 0);
    ck_assert_str_eq(capture->facts.format, "SigMF, ci8");
    ck_assert_uint_eq(capture->facts.frames, 32);
    ck_assert(capture->facts.rate_hz == 250000);
    ck_assert_uint_eq(capture->segment_count, 1);
    capture_close(capture);
  }
}
END_TEST

START_TEST(captures_become_segments)
{
  struct capture *capture = open_pair("{" GLOBAL ", \"captures\": ["
                                      "{\"core:sample_start\": 0, \"core:frequency\": 91.2e6},"
                                      "{\"core:sample_start\": 10, \"core:frequency\": 92.2e6},"
                                      "{\"core:sample_start\": 20.0, \"core:frequency\": 92.2e6},"
                                      "{\"core:sample_start\": 900}]}",
                                      64);
  float samples[64];
  size_t got = 0;
  ck_assert_uint_eq(capture->segment_count, 3);
  ck_assert(capture->segments[0].centre_hz == 91.2e6);
  ck_assert(capture->segments[2].centre_hz == 92.2e6);
  ck_assert(reading_noticed(capture, "1 of 4 captures in the metadata start behind the end"));
  ck_assert_int_eq(capture_read(capture, samples, 32, &got, NULL), SC_OK);
  ck_assert_uint_eq(got, 10); /* never across a segment's start */
  ck_assert_uint_eq(capture_segment_at(capture, 9), 0);
  ck_assert_uint_eq(capture_segment_at(capture, 10), 1);
  ck_assert_uint_eq(capture_segment_at(capture, 31), 2);
  capture_close(capture);
}
END_TEST

START_TEST(global_index_shows_whether_frames_are_lost)
{
  struct capture *capture = open_pair("{" GLOBAL ", \"captures\": ["
                                      "{\"core:sample_start\": 0, \"core:global_index\": 1000},"
                                      "{\"core:sample_start\": 10, \"core:global_index\": 1010},"
                                      "{\"core:sample_start\": 20, \"core:global_index\": 5000},"
                                      "{\"core:sample_start\": 25}]}",
                                      64);
  ck_assert(capture->segments[1].follows);
  ck_assert(!capture->segments[2].follows);
  ck_assert(!capture->segments[3].follows);
  capture_close(capture);
}
END_TEST

START_TEST(a_first_capture_that_starts_late_leaves_a_stretch_before)
{
  struct capture *capture = open_pair(
      "{" GLOBAL ", \"captures\": [{\"core:sample_start\": 5, \"core:frequency\": 91.2e6}]}", 64);
  ck_assert_uint_eq(capture->segment_count, 2);
  ck_assert(capture->segments[0].centre_hz == 0);
  ck_assert_uint_eq(capture->segments[1].first, 5);
  capture_close(capture);
}
END_TEST

/* A dataset that is not SigMF's own: headers before the samples, bytes behind them. */
START_TEST(headers_and_trailers_are_stepped_over)
{
  (void)support_file_write("foreign.bin", ramp, 33);
  struct capture *capture =
      reading_open(meta("{\"global\": {\"core:datatype\": \"ri8\", \"core:sample_rate\": 1000,"
                        "\"core:dataset\": \"foreign.bin\", \"core:trailing_bytes\": 3},"
                        "\"captures\": [{\"core:sample_start\": 0, \"core:header_bytes\": 4},"
                        "{\"core:sample_start\": 6, \"core:header_bytes\": 10}]}"),
                   NULL, 0);
  float samples[32];
  ck_assert_str_eq(capture->name, "foreign.bin");
  ck_assert_uint_eq(capture->facts.frames, 16);
  ck_assert_uint_eq(reading_frames(capture, samples, 32), 16);
  ck_assert(samples[0] == 4 / 128.f && samples[5] == 9 / 128.f);
  ck_assert(samples[6] == 20 / 128.f && samples[15] == 29 / 128.f);
  capture_close(capture);
}
END_TEST

START_TEST(indices_count_from_core_offset)
{
  struct capture *capture =
      open_pair("{\"global\": {\"core:datatype\": \"ci8\", \"core:sample_rate\": 250000,"
                "\"core:offset\": 1000}, \"captures\": [{\"core:sample_start\": 1000},"
                "{\"core:sample_start\": 1012}],"
                "\"annotations\": [{\"core:sample_start\": 1004, \"core:sample_count\": 2}]}",
                64);
  ck_assert_uint_eq(capture->segments[1].first, 12);
  ck_assert_uint_eq(capture->annotations[0].first, 4);
  capture_close(capture);
}
END_TEST

START_TEST(annotations_are_read_and_cleaned)
{
  struct capture *capture = open_pair(
      "{" GLOBAL ", \"annotations\": ["
      "{\"core:sample_start\": 3, \"core:sample_count\": 7, \"core:label\": \"Drachen\\u001b[2J\","
      "\"core:comment\": \"gr\\u00fcn\", \"core:freq_lower_edge\": 91e6,"
      "\"core:freq_upper_edge\": 91.4e6},"
      "{\"core:sample_start\": -4},"
      "{\"core:sample_start\": 9, \"core:comment\": \"only a comment\"},"
      "17]}",
      64);
  ck_assert_uint_eq(capture->annotation_count, 2);
  ck_assert_str_eq(capture->annotations[0].text, "Drachen?[2J (gr\xc3\xbcn)");
  ck_assert_uint_eq(capture->annotations[0].frames, 7);
  ck_assert(capture->annotations[0].upper_hz == 91.4e6);
  ck_assert_str_eq(capture->annotations[1].text, "only a comment");
  ck_assert_uint_eq(capture->annotations[1].frames, 0);
  ck_assert(isnan(capture->annotations[1].lower_hz));
  ck_assert(reading_noticed(capture, "2 annotations are left out"));
  capture_close(capture);
}
END_TEST

START_TEST(channels_are_interleaved)
{
  struct capture *capture =
      open_pair("{\"global\": {\"core:datatype\": \"ci8\", \"core:sample_rate\": 250000,"
                "\"core:num_channels\": 2}}",
                62);
  ck_assert_uint_eq(capture->facts.channels, 4);
  ck_assert_uint_eq(capture->facts.frames, 15);
  ck_assert(reading_noticed(capture, "the last 2 of 62 bytes"));
  capture_close(capture);
}
END_TEST

START_TEST(broken_json_is_placed)
{
  refused("{\n  \"global\": {\n  \"core:datatype\" \"ci8\"}\n}", SC_BAD_FORMAT,
          "kite.sigmf-meta: line 3, column");
  refused("", SC_BAD_FORMAT, "kite.sigmf-meta: the file is empty");
  refused(" \r\n\t", SC_BAD_FORMAT, "the file is empty");
  refused("{", SC_BAD_FORMAT, "line 1");
  refused("[1, 2]", SC_BAD_FORMAT, "has no \"global\" object");
  refused("{\"global\": 1}", SC_BAD_FORMAT, "has no \"global\" object");
  refused("{\"global\": {}, \"global\": {}}", SC_BAD_FORMAT, "duplicate");
}
END_TEST

/* A byte order mark may be ignored, and a string may hold any character (RFC 8259, 8.1 and 7). */
START_TEST(what_json_allows_is_read)
{
  static const char *const texts[] = {
      "\xef\xbb\xbf{" GLOBAL "}",
      "{\"global\": {\"core:datatype\": \"ci8\", \"core:sample_rate\": 250000,"
      " \"core:description\": \"a\\u0000b\"}}",
  };
  struct capture *capture = open_pair(texts[_i], 64);
  ck_assert_uint_eq(capture->facts.frames, 32);
  capture_close(capture);
}
END_TEST

START_TEST(bad_values_are_named)
{
  static const struct {
    const char *text, *part;
  } cases[] = {
      {"{\"global\": {\"core:sample_rate\": 1}}", "core:datatype in global"},
      {"{\"global\": {\"core:datatype\": 8}}", "core:datatype in global"},
      {"{\"global\": {\"core:datatype\": \"ci16\"}}", "ci16_le (usual) or ci16_be"},
      {"{\"global\": {\"core:datatype\": \"ci8\", \"core:sample_rate\": 0}}", "above 0"},
      {"{\"global\": {\"core:datatype\": \"ci8\", \"core:sample_rate\": -5}}", "above 0"},
      {"{\"global\": {\"core:datatype\": \"ci8\", \"core:sample_rate\": \"fast\"}}", "a number"},
      {"{\"global\": {\"core:datatype\": \"ci8\"}}", "says no usable sample rate: add --rate HZ"},
      {"{\"global\": {\"core:datatype\": \"ci8\", \"core:num_channels\": 0}}", "from 1 to 64"},
      {"{\"global\": {\"core:datatype\": \"ci8\", \"core:num_channels\": 1e9}}", "from 1 to 64"},
      {"{\"global\": {\"core:datatype\": \"ci8\", \"core:offset\": -1}}", "0 or more"},
      {"{\"global\": {\"core:datatype\": \"ci8\", \"core:dataset\": \"../x\"}}", "same folder"},
      {"{\"global\": {\"core:datatype\": \"ci8\", \"core:sample_rate\": 5,"
       "\"core:metadata_only\": true}}",
       "metadata only"},
      {"{" GLOBAL ", \"captures\": 5}", "\"captures\" must be an array"},
      {"{" GLOBAL ", \"captures\": [5]}", "the entry in captures[0] must be an object"},
      {"{" GLOBAL ", \"captures\": [{}, {}]}", "core:sample_start in captures[1]"},
      {"{" GLOBAL ", \"captures\": [{\"core:sample_start\": 1.5}]}", "a whole number"},
      {"{" GLOBAL ", \"captures\": [{\"core:frequency\": []}]}", "core:frequency in captures[0]"},
      {"{" GLOBAL ", \"captures\": [{\"core:header_bytes\": 1000}]}", "holds no sample"},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
    refused(cases[i].text, SC_BAD_FORMAT, cases[i].part);
}
END_TEST

START_TEST(missing_halves_are_named)
{
  reading_refused(meta("{" GLOBAL "}"), NULL, 0, SC_CANNOT_OPEN, "kite.sigmf-data, are not there");
  (void)support_file_write("lone.sigmf-data", ramp, 10);
  reading_refused(support_file("lone.sigmf-data"), NULL, 0, SC_CANNOT_OPEN, "lone.sigmf-meta");
  reading_refused(support_file("lone.sigmf-data"), NULL, 0, SC_CANNOT_OPEN, "add --type TYPE");
  reading_refused(support_file("none.sigmf-data"), NULL, 0, SC_CANNOT_OPEN, "No such file");
  reading_refused(support_file("whole.sigmf"), NULL, 0, SC_BAD_FORMAT, "unpack it");
  reading_refused(support_file("set.sigmf-collection"), NULL, 0, SC_BAD_FORMAT, "collection");
}
END_TEST

START_TEST(options_beside_metadata)
{
  (void)support_file_write("kite.sigmf-data", ramp, 64);
  const char *path = meta("{" GLOBAL "}");
  reading_refused(path, "cu8", 0, SC_BAD_ARGUMENT, "the metadata says ci8, --type says cu8");
  struct capture *capture = reading_open(path, "ci8", 240000);
  ck_assert(capture->facts.rate_hz == 240000);
  ck_assert(reading_noticed(capture, "the file says 250000 samples a second, --rate says 240000"));
  capture_close(capture);
  capture = reading_open(support_file("kite.sigmf-data"), "ri8", 48000);
  ck_assert_str_eq(capture->facts.format, "raw, ri8");
  capture_close(capture);
}
END_TEST

Suite *sigmf_suite(void)
{
  Suite *suite = suite_create("sigmf");
  TCase *tests = tcase_create("sigmf");
  tcase_add_checked_fixture(tests, support_files_setup, support_files_teardown);
  tcase_add_test(tests, any_name_of_the_pair_will_do);
  tcase_add_test(tests, captures_become_segments);
  tcase_add_test(tests, global_index_shows_whether_frames_are_lost);
  tcase_add_test(tests, a_first_capture_that_starts_late_leaves_a_stretch_before);
  tcase_add_test(tests, headers_and_trailers_are_stepped_over);
  tcase_add_test(tests, indices_count_from_core_offset);
  tcase_add_test(tests, annotations_are_read_and_cleaned);
  tcase_add_test(tests, channels_are_interleaved);
  tcase_add_test(tests, broken_json_is_placed);
  tcase_add_loop_test(tests, what_json_allows_is_read, 0, 2);
  tcase_add_test(tests, bad_values_are_named);
  tcase_add_test(tests, missing_halves_are_named);
  tcase_add_test(tests, options_beside_metadata);
  suite_add_tcase(suite, tests);
  return suite;
}
