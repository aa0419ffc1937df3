/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The suites of this room's tests. */
#ifndef SIDECOMB_TESTS_CAPTURE_SUITES_H
#define SIDECOMB_TESTS_CAPTURE_SUITES_H

#include <check.h>

Suite *datetime_suite(void);
Suite *follow_suite(void);
Suite *fuzz_suite(void);
Suite *live_suite(void);
Suite *pipe_suite(void);
Suite *raw_suite(void);
Suite *record_suite(void);
Suite *response_suite(void);
Suite *save_suite(void);
Suite *scan_suite(void);
Suite *sigmf_suite(void);
Suite *soundfile_suite(void);
Suite *types_suite(void);
Suite *write_suite(void);

#endif
