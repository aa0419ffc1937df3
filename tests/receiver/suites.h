/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SIDECOMB_TESTS_RECEIVER_SUITES_H
#define SIDECOMB_TESTS_RECEIVER_SUITES_H

#include <check.h>

Suite *kept_suite(void);
Suite *receiver_suite(void);

#endif
