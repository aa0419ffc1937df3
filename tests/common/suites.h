/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The suites of this room's tests. */
#ifndef SIDECOMB_TESTS_COMMON_SUITES_H
#define SIDECOMB_TESTS_COMMON_SUITES_H

#include <check.h>

Suite *error_suite(void);
Suite *number_suite(void);
Suite *text_suite(void);

#endif
