/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The suites of this room's tests. */
#ifndef SIDECOMB_TESTS_ANALYSIS_SUITES_H
#define SIDECOMB_TESTS_ANALYSIS_SUITES_H

#include <check.h>

Suite *account_suite(void);
Suite *audiofile_suite(void);
Suite *beats_suite(void);
Suite *beneath_suite(void);
Suite *above_suite(void);
Suite *composite_suite(void);
Suite *corrector_suite(void);
Suite *centre_suite(void);
Suite *changing_suite(void);
Suite *cut_suite(void);
Suite *data_suite(void);
Suite *dealt_suite(void);
Suite *drift_suite(void);
Suite *jump_suite(void);
Suite *emission_suite(void);
Suite *expected_suite(void);
Suite *foreign_suite(void);
Suite *halved_suite(void);
Suite *iq_suite(void);
Suite *rds_suite(void);
Suite *real_suite(void);
Suite *missing_suite(void);
Suite *overload_suite(void);
Suite *rounding_suite(void);
Suite *sampletype_suite(void);
Suite *sight_suite(void);
Suite *source_suite(void);
Suite *stretches_suite(void);
Suite *stream_suite(void);
Suite *test_audio_suite(void);
Suite *tones_suite(void);
Suite *unwanted_suite(void);
Suite *worker_suite(void);

#endif
