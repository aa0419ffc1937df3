/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The suites of this room, and a result to report. */
#ifndef SIDECOMB_TESTS_REPORT_SUITES_H
#define SIDECOMB_TESTS_REPORT_SUITES_H

#include <check.h>

#include <sidecomb/report.h>
#include <sidecomb/result.h>

Suite *brief_suite(void);
Suite *compare_suite(void);
Suite *fields_suite(void);
Suite *groups_suite(void);
Suite *value_suite(void);
Suite *layout_suite(void);
Suite *limits_suite(void);
Suite *log_suite(void);
Suite *json_suite(void);
Suite *plot_suite(void);
Suite *rows_suite(void);
Suite *text_suite(void);

enum { EXAMPLE_AIR_LINES = 3, EXAMPLE_COMPOSITE_LINES = 2 };

/* A capture with a carrier, a pilot and its lines; the numbers are invented. The lines stay
 * in the static memory of the fixture until the next call. */
struct sc_result example_result(void);
/* Nothing could be measured: every quantity has its reason. */
struct sc_result empty_result(void);
/* The report for people; to be freed. */
char *example_text(const struct sc_result *result, struct sc_report_settings settings);

#endif
