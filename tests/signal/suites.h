/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The suites of this room's tests. */
#ifndef SIDECOMB_TESTS_SIGNAL_SUITES_H
#define SIDECOMB_TESTS_SIGNAL_SUITES_H

#include <check.h>

Suite *random_suite(void);
Suite *bank_suite(void);
Suite *signal_suite(void);

#endif
