/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A transmitter without a fault, recorded with too much gain: nothing that the clipping makes is
 * held against it, and what is stronger than clipping makes any stays what it is. What a cut sine
 * has in harmonics is by Fourier's series (see src/analysis/overload.c). */
#include <config.h>

#include <math.h>
#include <string.h>

#include "analysis/scene.h"
#include "analysis/suites.h"
#include "support/support.h"

enum { BLOCK = 1 << 14, FRAMES = 1 << 20 };

static bool cut(float *sample)
{
  const bool at_end = fabsf(*sample) >= 1;
  *sample = fminf(1, fmaxf(-1, *sample));
  return at_end;
}

/* A second of a tone on both channels with a carrier of so many dBc at +300 kHz, if any, at 1 MS/s
 * and so far above full scale. */
static struct sc_result measure(double level_dbfs, double dbc, double *share)
{
  struct sc_message message;
  struct sc_generator *generator;
  struct sc_analysis *analysis;
  struct sc_result result;
  struct sc_scenario s = scene_silent(1e6, 50);
  s.level_dbfs = level_dbfs;
  scene_add_tone(&s, SC_TO_BOTH, 1000, 60);
  if (isfinite(dbc))
    s.carriers[s.carrier_count++] = (struct sc_scenario_line){.hz = 300e3, .amplitude = dbc};
  const struct sc_source_info info = {.kind = SC_KIND_IQ,
                                      .sample_rate_hz = s.rate_hz,
                                      .nominal_rate_hz = s.rate_hz,
                                      .clock_relative_uncertainty = (double)NAN,
                                      .channels = 2,
                                      .bits = 16};
  struct sc_analysis_settings settings = scene_settings(&s);
  settings.lines = true;
  ck_assert_int_eq(sc_generator_create(&s, &generator, &message), SC_OK);
  ck_assert_int_eq(sc_analysis_create(&info, &settings, &analysis, &message), SC_OK);
  static double made[2 * BLOCK];
  static float samples[2 * BLOCK];
  uint64_t clipped = 0;
  for (uint64_t at = 0; at < FRAMES; at += BLOCK) {
    struct sc_block block = {
        .first = at, .frames = BLOCK, .channels = 2, .samples = samples, .info = &info};
    sc_generator_run(generator, made, BLOCK);
    for (size_t i = 0; i < 2 * BLOCK; i++)
      samples[i] = (float)made[i];
    for (size_t i = 0; i < BLOCK; i++) {
      const bool in_phase = cut(&samples[2 * i]), quadrature = cut(&samples[2 * i + 1]);
      block.clipped += in_phase || quadrature;
    }
    clipped += block.clipped;
    ck_assert_int_eq(sc_analysis_feed(analysis, &block), SC_OK);
  }
  *share = (double)clipped / FRAMES;
  ck_assert_int_eq(sc_analysis_result(analysis, &result), SC_OK);
  sc_analysis_destroy(analysis);
  sc_generator_destroy(generator);
  return result;
}

static size_t count(const struct sc_line_list *list, enum sc_verdict verdict)
{
  size_t found = 0;
  for (size_t i = 0; i < list->count; i++)
    found += list->lines[i].verdict == verdict;
  return found;
}

START_TEST(what_clipping_makes_is_not_the_transmitters)
{
  static const double levels_dbfs[] = {0.1, 1, 4};
  for (size_t i = 0; i < sizeof levels_dbfs / sizeof *levels_dbfs; i += support_stride(2)) {
    double share;
    struct sc_result result = measure(levels_dbfs[i], (double)NAN, &share);
    ck_assert_double_gt(share, 0.1);
    ck_assert_uint_gt(count(&result.air_lines, SC_VERDICT_UNKNOWN), 100);
    ck_assert_uint_eq(count(&result.air_lines, SC_VERDICT_SPURIOUS), 0);
    ck_assert_uint_eq(count(&result.air_lines, SC_VERDICT_RESIDUAL), 0);
    ck_assert_uint_eq(count(&result.composite_lines, SC_VERDICT_SPURIOUS), 0);
    ck_assert_uint_eq(count(&result.composite_lines, SC_VERDICT_RESIDUAL), 0);
    ck_assert_double_eq(result.unwanted.count.value, 0);
    sc_result_clear(&result);
  }
}
END_TEST

START_TEST(a_strong_line_stays_spurious)
{
  double share;
  struct sc_result result = measure(0.1, -30, &share);
  const struct sc_line_list *list = &result.air_lines;
  ck_assert_double_gt(share, 0.1);
  ck_assert_uint_eq(count(list, SC_VERDICT_SPURIOUS), 1);
  for (size_t i = 0; i < list->count; i++)
    if (list->lines[i].verdict == SC_VERDICT_SPURIOUS)
      ck_assert_double_eq_tol(list->lines[i].offset_hz.value, 300e3, 1e3);
  sc_result_clear(&result);
}
END_TEST

Suite *overload_suite(void)
{
  Suite *suite = suite_create("overload");
  TCase *tcase = tcase_create("overload");
  tcase_set_timeout(tcase, 600);
  tcase_add_test(tcase, what_clipping_makes_is_not_the_transmitters);
  tcase_add_test(tcase, a_strong_line_stays_spurious);
  suite_add_tcase(suite, tcase);
  return suite;
}
