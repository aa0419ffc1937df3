/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The suites of this room's tests. */
#ifndef SIDECOMB_TESTS_SIGNAL_SUITES_H
#define SIDECOMB_TESTS_SIGNAL_SUITES_H

#include <check.h>

Suite *random_suite(void);
Suite *bank_suite(void);
Suite *signal_suite(void);
Suite *rate_suite(void);
Suite *shape_suite(void);
Suite *programme_suite(void);
Suite *rds_suite(void);
Suite *scenario_suite(void);
Suite *compose_suite(void);
Suite *generator_suite(void);
Suite *impairments_suite(void);
Suite *sequence_suite(void);
Suite *turn_suite(void);

#endif
