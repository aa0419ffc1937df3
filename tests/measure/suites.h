/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The suites of this room's tests. */
#ifndef SIDECOMB_TESTS_MEASURE_SUITES_H
#define SIDECOMB_TESTS_MEASURE_SUITES_H

#include <check.h>

Suite *am_suite(void);
Suite *audio_suite(void);
Suite *carrier_suite(void);
Suite *wander_suite(void);
Suite *steps_suite(void);
Suite *channel_suite(void);
Suite *composite_suite(void);
Suite *deviation_suite(void);
Suite *kind_suite(void);
Suite *lines_suite(void);
Suite *lines_accuracy_suite(void);
Suite *lines_false_suite(void);
Suite *lines_fm_suite(void);
Suite *mask_suite(void);
Suite *occupancy_suite(void);
Suite *spectrum_reference_suite(void);
Suite *spectrum_suite(void);
Suite *spectrum_zoom_suite(void);
Suite *pilot_suite(void);
Suite *preemphasis_suite(void);
Suite *rds_code_suite(void);
Suite *rds_errors_suite(void);
Suite *rds_groups_suite(void);
Suite *rds_presence_suite(void);
Suite *rds_suite(void);
Suite *regularity_suite(void);
Suite *remainder_suite(void);
Suite *rounded_suite(void);
Suite *residual_suite(void);
Suite *stereo_suite(void);
Suite *tops_suite(void);

#endif
