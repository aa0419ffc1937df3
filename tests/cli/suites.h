/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The suites of this room's tests. */
#ifndef SIDECOMB_TESTS_CLI_SUITES_H
#define SIDECOMB_TESTS_CLI_SUITES_H

#include <check.h>

Suite *number_suite(void);
Suite *parse_suite(void);
Suite *program_suite(void);

#endif
