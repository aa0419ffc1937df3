/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Captures written as one sample type and read as another. What the types are is the SigMF
 * standard's (1.2, core:datatype); the writer's bytes are checked in tests/capture. */
#include <config.h>

#include <complex.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include <sidecomb/capture.h>

#include "analysis/opening.h"
#include "analysis/suites.h"
#include "capture/write.h"
#include "support/files.h"
#include "support/random.h"
#include "support/support.h"

enum { FRAMES = 200000 };
static const double pi = 3.14159265358979323846;
static const char *const types[] = {"cu8", "ci8", "ci16_le", "ci16_be", "cf32_le"};
enum { TYPES = sizeof types / sizeof *types };

/* A carrier with a tone, in noise, that begins at frame `from`; levels against full scale. */
struct scene {
  double level, noise, offset; /* offset in cycles a frame */
  size_t from;
};

static const char *write(const struct scene *s, const char *type, uint64_t *random)
{
  const char *path = support_file("typed.raw");
  const struct capture_write_settings settings = {
      .path = path, .container = CAPTURE_WRITE_RAW, .type = type, .rate_hz = 1e6};
  double *samples = malloc(2 * FRAMES * sizeof *samples);
  ck_assert_ptr_nonnull(samples);
  for (size_t n = 0; n < FRAMES; n++) {
    double noise[2];
    support_normal_pair(random, noise);
    const double angle = 2 * pi * s->offset * (double)n + 20 * sin(2 * pi * 1e-3 * (double)n);
    const double level = n < s->from ? 0 : s->level;
    samples[2 * n] = level * cos(angle) + s->noise * noise[0];
    samples[2 * n + 1] = level * sin(angle) + s->noise * noise[1];
  }
  write_samples(&settings, samples, FRAMES);
  free(samples);
  return path;
}

/* What they look like, read to the end; "" where nothing speaks for another type. */
static const char *likely(const char *path, const char *type)
{
  static char name[sizeof((struct sc_source_info *)NULL)->likely_type];
  const struct sc_source_options options = {.path = path, .type = type, .rate_hz = 1e6};
  struct sc_source *source = open_source(&options);
  name[0] = '\0';
  for (struct sc_block block; (block = read_block(source, 30000)).frames > 0;)
    memcpy(name, block.info->likely_type, sizeof name);
  sc_source_close(source);
  return name;
}

/* From a signal that fills the range to one of a few steps of 8 bits. */
START_TEST(a_wrong_type_is_told_and_the_right_one_is_not_doubted)
{
  static const struct scene scenes[] = {
      {0.9, 0.01, 0.11, 0}, {0.3, 0.01, -0.23, 0}, {0.1, 0.003, 0.31, 0}, {0.9, 0.01, 0.07, 60000}};
  uint64_t random =
      support_seed("a_wrong_type_is_told_and_the_right_one_is_not_doubted", 31 + (uint64_t)_i);
  for (size_t written = 0; written < TYPES; written++) {
    const char *path = write(&scenes[_i], types[written], &random);
    for (size_t read = 0; read < TYPES; read++)
      ck_assert_str_eq(likely(path, types[read]), read == written ? "" : types[written]);
  }
}
END_TEST

/* Noise, and a dead input, look like nothing. */
START_TEST(noise_tells_no_type)
{
  static const struct scene scenes[] = {{0, 0.2, 0, 0}, {0, 0.01, 0, 0}, {0, 0, 0, 0}};
  uint64_t random = support_seed("noise_tells_no_type", 41 + (uint64_t)_i);
  for (size_t written = 0; written < TYPES; written++) {
    const char *path = write(&scenes[_i], types[written], &random);
    for (size_t read = 0; read < TYPES; read++)
      ck_assert_str_eq(likely(path, types[read]), "");
  }
}
END_TEST

/* A carrier at the centre is improper itself: no doubt of the right type comes of that. */
START_TEST(a_carrier_at_the_centre_is_not_doubted)
{
  static const double levels[] = {0.9, 0.1, 0.01};
  uint64_t random = support_seed("a_carrier_at_the_centre_is_not_doubted", 51 + (uint64_t)_i);
  for (size_t written = 0; written < TYPES; written++) {
    const struct scene scene = {levels[_i], 0.01 * levels[_i], 0, 0};
    ck_assert_str_eq(likely(write(&scene, types[written], &random), types[written]), "");
  }
}
END_TEST

Suite *sampletype_suite(void)
{
  Suite *suite = suite_create("analysis/sampletype");
  TCase *tests = tcase_create("sampletype");
  tcase_add_checked_fixture(tests, support_files_setup, support_files_teardown);
  tcase_add_loop_test(tests, a_wrong_type_is_told_and_the_right_one_is_not_doubted, 0, 4);
  tcase_add_loop_test(tests, noise_tells_no_type, 0, 3);
  tcase_add_loop_test(tests, a_carrier_at_the_centre_is_not_doubted, 0, 3);
  suite_add_tcase(suite, tests);
  return suite;
}
