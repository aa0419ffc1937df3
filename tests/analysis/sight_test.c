/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Spectra for pictures against closed forms: a carrier modulated by one tone has that tone in its
 * composite, and the lines J_n(beta) on air (Carson, Proc. IRE 10, 1922; Bessel values from the C
 * library). */
#include <config.h>

#include <math.h>
#include <stdlib.h>

#include <sidecomb/sight.h>

#include "analysis/opening.h"
#include "analysis/suites.h"
#include "support/files.h"
#include "support/support.h"

enum { FRAMES = 1 << 18 };
static const double rate_hz = 400e3, carrier_hz = 12e3, tone_hz = 10e3, deviation_hz = 9e3;
static const double amplitude = 0.5;
/* Worst scalloping of a flat-top window, and of rounding to 16 bits. */
static const double tolerance_db = 0.01;
/* What the composite loses in the channel filter and the discriminator. */
static const double composite_tolerance_db = 0.03;

/* Silent before frame `from`. */
static struct sc_source *open_late(size_t from)
{
  double *samples = malloc(2 * FRAMES * sizeof *samples);
  const char *path = support_file("tone");
  for (size_t i = 0; i < FRAMES; i++) {
    double t = (double)i / rate_hz;
    double phase = 2 * M_PI * carrier_hz * t + deviation_hz / tone_hz * sin(2 * M_PI * tone_hz * t);
    samples[2 * i] = i < from ? 0 : amplitude * cos(phase);
    samples[2 * i + 1] = i < from ? 0 : amplitude * sin(phase);
  }
  struct capture_write_settings settings = {
      .path = path, .container = CAPTURE_WRITE_RAW, .type = "ci16_le", .rate_hz = rate_hz};
  write_samples(&settings, samples, FRAMES);
  free(samples);
  struct sc_source_options options = {.path = path, .type = "ci16_le", .rate_hz = rate_hz};
  return open_source(&options);
}

static struct sc_source *open_modulated(void)
{
  return open_late(0);
}

static struct sc_sight *look(struct sc_source *source, enum sc_sight_of of, double centre_hz,
                             double span_hz)
{
  struct sc_sight *sight = NULL;
  struct sc_message message = {""};
  const struct sc_sight_settings settings = {.of = of,
                                             .centre_hz = centre_hz,
                                             .span_hz = span_hz,
                                             .rbw_hz = 50,
                                             .window = SC_WINDOW_FLAT_TOP,
                                             .channel_hz = carrier_hz};
  enum sc_error error = sc_sight_read(source, &settings, NULL, NULL, &sight, &message);
  ck_assert_msg(error == SC_OK, "%s", message.text);
  return sight;
}

static double highest_db(const struct sc_trace *trace, double hz)
{
  double most = 0;
  for (size_t i = 0; i < trace->points; i++)
    if (fabs(trace->start_hz + (double)i * trace->step_hz - hz) < 100)
      most = fmax(most, (double)trace->mean[i]);
  return 10 * log10(most);
}

START_TEST(lines_on_air_have_their_bessel_levels)
{
  struct sc_source *source = open_modulated();
  struct sc_sight *sight = look(source, SC_SIGHT_AIR, carrier_hz, 80e3);
  struct sc_trace trace;
  sc_sight_trace(sight, &trace);
  for (int order = -2; order <= 2; order++) {
    double level = 20 * log10(amplitude * fabs(jn(order, deviation_hz / tone_hz)));
    ck_assert_double_eq_tol(highest_db(&trace, carrier_hz + order * tone_hz), level, tolerance_db);
  }
  sc_sight_destroy(sight);
  sc_source_close(source);
}
END_TEST

/* The composite is in kHz; the second look begins at the start again. */
START_TEST(the_composite_has_the_tone)
{
  struct sc_source *source = open_modulated();
  for (int again = 0; again < 2; again++) {
    struct sc_sight *sight = look(source, SC_SIGHT_COMPOSITE, tone_hz, 8e3);
    struct sc_trace trace;
    sc_sight_trace(sight, &trace);
    ck_assert_double_eq_tol(highest_db(&trace, tone_hz), 20 * log10(deviation_hz * 1e-3),
                            composite_tolerance_db);
    sc_sight_destroy(sight);
  }
  sc_source_close(source);
}
END_TEST

/* Of a capture that is silent for its first half: levels as in one without that. The passages end
 * within what is read at once, and beyond the capture's end. */
START_TEST(only_the_passages_are_read)
{
  const double half_s = FRAMES / 2 / rate_hz, end_s = FRAMES / rate_hz;
  const struct sc_passages all = {.count = 0}, late = {.count = 1, .at = {{half_s, end_s + 1}}},
                           two = {.count = 3,
                                  .at = {{half_s, half_s + 0.0301},
                                         {half_s + 0.1, end_s},
                                         {end_s + 1, end_s + 2}}};
  const struct sc_passages *const ways[] = {&late, &two, &all};
  static const double weaker_db[] = {0, 0, 3.0103};
  struct sc_source *source = open_late(FRAMES / 2);
  struct sc_sight *sight;
  struct sc_trace trace;
  struct sc_message message = {""};
  const struct sc_sight_settings settings = {.of = SC_SIGHT_AIR,
                                             .centre_hz = carrier_hz,
                                             .span_hz = 80e3,
                                             .rbw_hz = 1000,
                                             .window = SC_WINDOW_FLAT_TOP,
                                             .channel_hz = carrier_hz,
                                             .passages = ways[_i]};
  ck_assert_int_eq(sc_sight_read(source, &settings, NULL, NULL, &sight, &message), SC_OK);
  sc_sight_trace(sight, &trace);
  const double level = 20 * log10(amplitude * fabs(jn(1, deviation_hz / tone_hz)));
  ck_assert_double_eq_tol(highest_db(&trace, carrier_hz + tone_hz), level - weaker_db[_i],
                          _i == 2 ? 0.2 : 2 * tolerance_db);
  sc_sight_destroy(sight);
  sc_source_close(source);
}
END_TEST

static bool stop_at_once(void *context, double share)
{
  *(double *)context = share;
  return false;
}

/* The carrier is modulated by nothing else, so the composite makes what is on air. */
START_TEST(what_is_expected_is_what_the_modulation_makes)
{
  struct sc_source *source = open_modulated();
  struct sc_sight *sight;
  struct sc_trace trace, expected;
  struct sc_message message = {""};
  struct sc_sight_settings settings = {.of = SC_SIGHT_AIR,
                                       .centre_hz = carrier_hz,
                                       .span_hz = 80e3,
                                       .rbw_hz = 50,
                                       .window = SC_WINDOW_FLAT_TOP,
                                       .channel_hz = carrier_hz,
                                       .expected = true,
                                       .noise_dbfs_hz = (double)NAN};
  ck_assert_int_eq(sc_sight_read(source, &settings, NULL, NULL, &sight, &message), SC_OK);
  sc_sight_trace(sight, &trace);
  sc_sight_expected(sight, &expected);
  for (int order = -2; order <= 2; order++) {
    double level = 20 * log10(amplitude * fabs(jn(order, deviation_hz / tone_hz)));
    double hz = carrier_hz + order * tone_hz;
    ck_assert_double_eq_tol(highest_db(&trace, hz), level, tolerance_db);
    ck_assert_double_eq_tol(highest_db(&expected, hz), level, composite_tolerance_db);
  }
  sc_sight_destroy(sight);
  settings.channel_hz = (double)NAN; /* the picture does without */
  ck_assert_int_eq(sc_sight_read(source, &settings, NULL, NULL, &sight, &message), SC_OK);
  sc_sight_expected(sight, &expected);
  ck_assert_uint_eq(expected.points, 0);
  sc_sight_destroy(sight);
  sc_source_close(source);
}
END_TEST

START_TEST(it_can_be_stopped_and_refused)
{
  struct sc_source *source = open_modulated();
  struct sc_sight *sight;
  struct sc_message message = {""};
  double share = 0;
  struct sc_sight_settings settings = {.of = SC_SIGHT_AIR, .rbw_hz = 1000};
  ck_assert_int_eq(sc_sight_read(source, &settings, stop_at_once, &share, &sight, &message), SC_OK);
  ck_assert(share > 0 && share < 0.5);
  sc_sight_destroy(sight);
  settings.of = SC_SIGHT_AUDIO;
  ck_assert_int_eq(sc_sight_read(source, &settings, NULL, NULL, &sight, &message), SC_UNSUPPORTED);
  ck_assert_ptr_null(sight);
  settings.of = SC_SIGHT_COMPOSITE;
  settings.channel_hz = (double)NAN;
  ck_assert_int_eq(sc_sight_read(source, &settings, NULL, NULL, &sight, &message), SC_UNSUPPORTED);
  ck_assert_ptr_null(sight);
  sc_source_close(source);
}
END_TEST

Suite *sight_suite(void)
{
  Suite *suite = suite_create("sight");
  TCase *tests = tcase_create("sight");
  tcase_add_checked_fixture(tests, support_files_setup, support_files_teardown);
  tcase_add_test(tests, lines_on_air_have_their_bessel_levels);
  tcase_add_test(tests, the_composite_has_the_tone);
  tcase_add_loop_test(tests, only_the_passages_are_read, 0, 3);
  tcase_add_test(tests, what_is_expected_is_what_the_modulation_makes);
  tcase_add_test(tests, it_can_be_stopped_and_refused);
  suite_add_tcase(suite, tests);
  return suite;
}
