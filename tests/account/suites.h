/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The suites of this room's tests. */
#ifndef SIDECOMB_TESTS_ACCOUNT_SUITES_H
#define SIDECOMB_TESTS_ACCOUNT_SUITES_H

#include <check.h>

Suite *beats_suite(void);
Suite *edge_suite(void);
Suite *explain_suite(void);
Suite *predict_suite(void);
Suite *receiver_suite(void);
Suite *roles_suite(void);
Suite *sentence_suite(void);
Suite *subcarriers_suite(void);
Suite *words_suite(void);

#endif
