/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* RDS through the whole chain: the groups that are listed, their times, the region. */
#include <config.h>

#include <math.h>
#include <stdlib.h>

#include <check.h>

#include <sidecomb/analysis.h>
#include <sidecomb/scenario.h>

#include "analysis/suites.h"

enum { BLOCK = 1 << 14 };
static const double group_s = 104.0 / 1187.5;

static struct sc_analysis *analyse(enum sc_scenario_what what, double seconds, double silence_s,
                                   size_t groups)
{
  static double out[2 * BLOCK];
  static float samples[2 * BLOCK];
  struct sc_scenario scenario;
  struct sc_generator *generator;
  struct sc_message message = {""};
  sc_scenario_init(&scenario);
  ck_assert_int_eq(sc_scenario_ready("data", &scenario, &message), SC_OK);
  scenario.what = what;
  scenario.rate_hz = 384e3;
  scenario.cnr_db = what == SC_WHAT_IQ ? 40.0 : (double)NAN;
  ck_assert_msg(sc_generator_create(&scenario, &generator, &message) == SC_OK, "%s", message.text);
  const struct sc_source_info info = {.name = "data",
                                      .kind = what == SC_WHAT_IQ ? SC_KIND_IQ : SC_KIND_COMPOSITE,
                                      .channels = sc_generator_channels(generator),
                                      .sample_rate_hz = scenario.rate_hz,
                                      .clock_relative_uncertainty = (double)NAN};
  const struct sc_analysis_settings settings = {.channel_hz = (double)NAN,
                                                .full_scale_khz = 100.0,
                                                .rds_groups = groups,
                                                .rds_region = SC_RDS_REGION_RBDS};
  struct sc_analysis *analysis;
  ck_assert_int_eq(sc_analysis_create(&info, &settings, &analysis, &message), SC_OK);
  const size_t quiet = (size_t)(silence_s * scenario.rate_hz / BLOCK);
  for (size_t i = 0; i < quiet + (size_t)(seconds * scenario.rate_hz / BLOCK); i++) {
    if (i >= quiet)
      sc_generator_run(generator, out, BLOCK);
    for (size_t k = 0; k < BLOCK * info.channels; k++)
      samples[k] = (float)out[k];
    const struct sc_block block = {
        .samples = samples, .frames = BLOCK, .channels = info.channels, .discontinuity = i == 0};
    ck_assert_int_eq(sc_analysis_feed(analysis, &block), SC_OK);
  }
  sc_generator_destroy(generator);
  return analysis;
}

/* Groups end every 104 bits from the signal's start on; within four uncertainties each. What came
 * before the carrier is lost. */
static void check_times(const struct sc_rds_listing *list, double start_s)
{
  for (size_t i = 0; i < list->count; i++) {
    const struct sc_rds_group *group = &list->groups[i];
    const double ends = (group->time_s - start_s) / group_s;
    ck_assert_double_eq_tol((ends - round(ends)) * group_s, 0.0, 4.0 * group->time_uncertainty_s);
    if (group->state[0] != SC_RDS_BLOCK_LOST)
      ck_assert_uint_eq(group->word[0], 0xc4a7);
    if (i > 0)
      ck_assert_double_eq_tol(group->time_s - group[-1].time_s, group_s, 1e-5);
  }
}

START_TEST(groups_have_the_captures_time)
{
  static const struct {
    enum sc_scenario_what what;
    double silence_s; /* no carrier at first: the channel is found late */
  } cases[] = {{SC_WHAT_IQ, 0.0}, {SC_WHAT_IQ, 1.2}, {SC_WHAT_COMPOSITE, 0.0}};
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct sc_analysis *analysis = analyse(cases[i].what, 1.8, cases[i].silence_s, 1000);
    struct sc_result result = {0};
    const double start_s = floor(cases[i].silence_s * 384e3 / BLOCK) * BLOCK / 384e3;
    ck_assert_int_eq(sc_analysis_result(analysis, &result), SC_OK);
    ck_assert_ptr_null(result.rds_groups.why);
    ck_assert_uint_ge(result.rds_groups.count, 17); /* of 20 */
    ck_assert_uint_eq(result.rds_groups.earlier, 0);
    ck_assert_uint_le(result.rds.lost_blocks, cases[i].silence_s > 0.0 ? 4 : 0);
    check_times(&result.rds_groups, start_s);
    sc_result_clear(&result);
    sc_analysis_destroy(analysis);
  }
}
END_TEST

START_TEST(no_more_groups_are_kept_than_asked_for)
{
  struct sc_analysis *analysis = analyse(SC_WHAT_COMPOSITE, 1.8, 0.0, 5);
  struct sc_result result = {0};
  ck_assert_int_eq(sc_analysis_result(analysis, &result), SC_OK);
  ck_assert_uint_eq(result.rds_groups.count, 5);
  ck_assert_uint_ge(result.rds_groups.earlier, 12);
  ck_assert_double_gt(result.rds_groups.groups[4].time_s, 1.65);
  check_times(&result.rds_groups, 0.0);
  ck_assert_str_eq(result.rds.data.region_name, "north-america");
  ck_assert_str_eq(result.rds.data.pty_name, result.rds.data.pty_names[1]);
  sc_result_clear(&result);
  sc_analysis_destroy(analysis);
  analysis = analyse(SC_WHAT_COMPOSITE, 0.7, 0.0, 0);
  ck_assert_int_eq(sc_analysis_result(analysis, &result), SC_OK);
  ck_assert_ptr_nonnull(result.rds_groups.why);
  sc_result_clear(&result);
  sc_analysis_destroy(analysis);
}
END_TEST

Suite *rds_suite(void)
{
  Suite *suite = suite_create("rds");
  TCase *tests = tcase_create("rds");
  tcase_add_test(tests, groups_have_the_captures_time);
  tcase_add_test(tests, no_more_groups_are_kept_than_asked_for);
  suite_add_tcase(suite, tests);
  return suite;
}
