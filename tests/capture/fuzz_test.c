/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Damaged files: bytes of good ones are changed at random, mostly in the header, and the
 * reader must refuse them with one line or read them to an end. Meant for the sanitizers. */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "capture/reading.h"
#include "capture/sounds.h"
#include "capture/suites.h"
#include "support/files.h"
#include "support/random.h"
#include "support/support.h"

enum { FRAMES = 500, HEAD_BYTES = 128, READ_MAX = 4096 };

static const char good_meta[] =
    "{\"global\": {\"core:datatype\": \"ci16_le\", \"core:sample_rate\": 250000.0,"
    "\"core:version\": \"1.0.0\", \"core:num_channels\": 2, \"core:offset\": 3,"
    "\"core:trailing_bytes\": 5, \"core:description\": \"kites\"},"
    "\"captures\": [{\"core:sample_start\": 3, \"core:frequency\": 91.2e6,"
    "\"core:header_bytes\": 12, \"core:global_index\": 7}, {\"core:sample_start\": 40}],"
    "\"annotations\": [{\"core:sample_start\": 4, \"core:sample_count\": 9,"
    "\"core:label\": \"line\", \"core:comment\": \"text\", \"core:freq_lower_edge\": 1e6}]}";

static uint64_t below(uint64_t *state, uint64_t limit)
{
  return support_random(state) % limit;
}

/* A few changes: a bit, a byte, an extreme value, a run copied elsewhere, or a cut. */
static size_t damage(unsigned char *bytes, size_t length, size_t head, uint64_t *state)
{
  static const unsigned char extremes[] = {0, 1, 0x7f, 0x80, 0xff};
  uint64_t changes = 1 + below(state, 4);
  for (uint64_t i = 0; i < changes && length > 8; i++) {
    size_t reach = below(state, 4) > 0 && head < length ? head : length;
    size_t at = (size_t)below(state, reach - 4), from = (size_t)below(state, reach - 4);
    switch (below(state, 6)) {
    case 0:
      bytes[at] ^= (unsigned char)(1u << below(state, 8));
      break;
    case 1:
      bytes[at] = (unsigned char)below(state, 256);
      break;
    case 2:
      memset(bytes + at, extremes[below(state, sizeof extremes)], 4);
      break;
    case 3:
      memmove(bytes + at, bytes + from, 4);
      break;
    case 4:
      bytes[at] = extremes[below(state, sizeof extremes)];
      break;
    default:
      length -= (size_t)below(state, length / 2);
      break;
    }
  }
  return length;
}

/* Opens and, when that works, reads on to the end or to a limit, with a jump. */
static bool survive(const char *path)
{
  struct sc_source_options options = {.path = path};
  struct sc_message message = {""};
  struct capture *capture = NULL;
  static float samples[READ_MAX * 64];
  if (capture_open(&options, &capture, &message) != SC_OK) {
    reading_check_line(message.text);
    ck_assert_ptr_null(capture);
    return false;
  }
  ck_assert(isfinite(capture->facts.rate_hz) && capture->facts.rate_hz > 0);
  ck_assert(capture->facts.channels >= 1 && capture->facts.channels <= 128);
  size_t got = 1, total = 0;
  for (int calls = 0; calls < 50 && got > 0; calls++) {
    size_t most = READ_MAX * 64 / 128;
    if (capture_read(capture, samples, most, &got, &message) != SC_OK)
      break;
    ck_assert_uint_le(got, most);
    total += got;
    if (calls == 20 && capture->facts.frames > 0)
      (void)capture_seek(capture, capture->facts.frames / 2);
  }
  for (size_t i = 0; i < capture->notices.count; i++)
    reading_check_line(capture->notices.text[i]);
  capture_close(capture);
  return total > 0;
}

START_TEST(damaged_sound_files_never_harm)
{
  const struct sounds_kind *kind = &sounds_kinds[_i];
  uint64_t state = support_seed("damaged_sound_files_never_harm", 20000 + (uint64_t)_i);
  size_t length;
  unsigned char *good = support_file_read(sounds_write(kind, FRAMES, 96000), &length);
  unsigned char *bad = malloc(length);
  unsigned read = 0, trials = support_trials(150);
  for (unsigned trial = 0; trial < trials; trial++) {
    memcpy(bad, good, length);
    size_t left = damage(bad, length, HEAD_BYTES, &state);
    read += survive(support_file_write("bad", bad, left));
  }
  printf("%s: %u of %u damaged files could still be read\n", kind->name, read, trials);
  free(good);
  free(bad);
}
END_TEST

START_TEST(damaged_metadata_never_harm)
{
  uint64_t state = support_seed("damaged_metadata_never_harm", 31000);
  static const unsigned char data[1000] = {1, 2, 3};
  unsigned char bad[sizeof good_meta];
  unsigned read = 0, trials = support_trials(3000);
  (void)support_file_write("bad.sigmf-data", data, sizeof data);
  ck_assert(survive(support_file_write("bad.sigmf-meta", good_meta, sizeof good_meta - 1)));
  for (unsigned trial = 0; trial < trials; trial++) {
    memcpy(bad, good_meta, sizeof bad);
    size_t left = damage(bad, sizeof bad - 1, sizeof bad - 1, &state);
    read += survive(support_file_write("bad.sigmf-meta", bad, left));
  }
  printf("metadata: %u of %u damaged files could still be read\n", read, trials);
}
END_TEST

/* Values, not bytes: any number or type in any place of otherwise good metadata. */
START_TEST(absurd_values_never_harm)
{
  static const char *const values[] = {
      "0",  "-1", "1e308", "9007199254740993", "0.5",  "1e-9",  "null", "true", "\"\"", "[]",
      "{}", "64", "65",    "\"ci8\"",          "1e15", "999999"};
  static const unsigned char data[1000] = {1, 2, 3};
  (void)support_file_write("bad.sigmf-data", data, sizeof data);
  for (const char *colon = good_meta; (colon = strstr(colon, "\": ")) != NULL; colon++)
    for (size_t i = 0; i < sizeof values / sizeof values[0]; i++) {
      char text[2 * sizeof good_meta];
      const char *rest = colon + 3;
      size_t skipped = *rest == '"' ? strcspn(rest + 1, "\"") + 2 : strcspn(rest, ",}]");
      if (*rest == '{' || *rest == '[')
        continue;
      (void)snprintf(text, sizeof text, "%.*s%s%s", (int)(rest - good_meta), good_meta, values[i],
                     rest + skipped);
      (void)survive(support_file_write("bad.sigmf-meta", text, strlen(text)));
    }
}
END_TEST

Suite *fuzz_suite(void)
{
  Suite *suite = suite_create("fuzz");
  TCase *tests = tcase_create("fuzz");
  tcase_add_checked_fixture(tests, support_files_setup, support_files_teardown);
  tcase_add_loop_test(tests, damaged_sound_files_never_harm, 0, (int)sounds_kind_count);
  tcase_add_test(tests, damaged_metadata_never_harm);
  tcase_add_test(tests, absurd_values_never_harm);
  suite_add_tcase(suite, tests);
  return suite;
}
