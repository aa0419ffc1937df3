/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The response of a sound card's input is undone, in place and whatever the blocks. */
#include <config.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include <sidecomb/capture.h>

#include "analysis/opening.h"
#include "analysis/suites.h"
#include "support/files.h"
#include "support/random.h"
#include "support/support.h"

/* The capture is half as large as it was and turned by 30 degrees above 500 Hz. */
static const char response_text[] =
    "0 -6.0206 0\n400 -6.0206 0\n500 -6.0206 30\n30000 -6.0206 30\n";

static struct sc_source_options corrected_options(void)
{
  const char *path = support_file("tone.wav");
  struct capture_write_settings settings = {
      .path = path, .container = CAPTURE_WRITE_WAV, .channels = 2, .rate_hz = 48000};
  enum { FRAMES = 60000 };
  double *samples = malloc(2 * FRAMES * sizeof *samples);
  for (size_t i = 0; i < FRAMES; i++) {
    samples[2 * i] = 0.2 * cos(2 * M_PI * fmod((double)i * 3000 / 48000, 1));
    samples[2 * i + 1] = 0.1 * sin(2 * M_PI * fmod((double)i * 200 / 48000, 1));
  }
  write_samples(&settings, samples, FRAMES);
  free(samples);
  return (struct sc_source_options){
      .path = path,
      .response_path = support_file_write("response.txt", response_text, sizeof response_text - 1)};
}

START_TEST(the_response_is_undone_in_place)
{
  struct sc_source_options options = corrected_options();
  options.start_s = 0.1;
  struct sc_source *source = open_source(&options);
  ck_assert_uint_eq(sc_source_info(source)->frames, 55200);
  uint64_t next = 0;
  for (struct sc_block block; (block = read_block(source, 1777)).frames > 0;) {
    ck_assert_uint_eq(block.first, next);
    for (size_t i = 0; i < block.frames; i++) {
      double at = (double)(next + i) + 4800;
      double left = 0.4 * cos(2 * M_PI * (fmod(at * 3000 / 48000, 1) - 30.0 / 360));
      double right = 0.2 * sin(2 * M_PI * fmod(at * 200 / 48000, 1));
      if (next + i + 4800 > 52000) /* the filter meets the end */
        continue;
      ck_assert_msg(fabs((double)block.samples[2 * i] - left) < 2e-4, "%g %g", at,
                    (double)block.samples[2 * i] - left);
      ck_assert(fabs((double)block.samples[2 * i + 1] - right) < 2e-4);
    }
    next += block.frames;
  }
  ck_assert_uint_eq(next, 55200);
  sc_source_close(source);
}
END_TEST

/* Whatever the blocks and jumps, a frame has one value, but for single precision. */
START_TEST(correction_does_not_depend_on_the_way)
{
  struct sc_source_options options = corrected_options();
  struct sc_source *source = open_source(&options);
  float *whole = malloc(2 * 60000 * sizeof *whole);
  struct sc_block block = read_block(source, 60000);
  uint64_t state = support_seed("correction_does_not_depend_on_the_way", 3);
  ck_assert_uint_eq(block.frames, 60000);
  memcpy(whole, block.samples, 2 * 60000 * sizeof *whole);
  for (int jump = 0; jump < 30; jump++) {
    uint64_t to = support_random(&state) % 60000;
    ck_assert_int_eq(sc_source_seek(source, to), SC_OK);
    block = read_block(source, 1 + support_random(&state) % 9000);
    ck_assert_uint_eq(block.first, to);
    for (size_t i = 0; i < 2 * block.frames; i++)
      ck_assert(fabs((double)block.samples[i] - (double)whole[2 * to + i]) < 1e-6);
  }
  free(whole);
  sc_source_close(source);
}
END_TEST

START_TEST(correction_is_for_real_samples)
{
  struct sc_source_options options = corrected_options();
  options.as = SC_KIND_IQ;
  refused(&options, SC_BAD_ARGUMENT, "--response corrects real samples");
  options.as = SC_KIND_UNDECIDED;
  options.response_path = support_file_write("bad.txt", "1 2\n", 4);
  refused(&options, SC_BAD_FORMAT, "bad.txt: line 1");
  options.response_path = "/nowhere/at/all.txt";
  refused(&options, SC_CANNOT_OPEN, "/nowhere/at/all.txt");
}
END_TEST

Suite *corrector_suite(void)
{
  Suite *suite = suite_create("corrector");
  TCase *tests = tcase_create("response");
  tcase_add_checked_fixture(tests, support_files_setup, support_files_teardown);
  tcase_add_test(tests, the_response_is_undone_in_place);
  tcase_add_test(tests, correction_does_not_depend_on_the_way);
  tcase_add_test(tests, correction_is_for_real_samples);
  suite_add_tcase(suite, tests);
  return suite;
}
