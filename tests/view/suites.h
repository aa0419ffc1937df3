/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The suites of this room's tests. */
#ifndef SIDECOMB_TESTS_VIEW_SUITES_H
#define SIDECOMB_TESTS_VIEW_SUITES_H

#include <check.h>

Suite *band_suite(void);
Suite *choices_suite(void);
Suite *text_suite(void);
Suite *grid_suite(void);
Suite *format_suite(void);
Suite *beside_suite(void);
Suite *sheets_suite(void);
Suite *course_suite(void);
Suite *halves_suite(void);
Suite *help_suite(void);
Suite *intake_suite(void);
Suite *axis_suite(void);
Suite *layout_suite(void);
Suite *curve_suite(void);
Suite *labels_suite(void);
Suite *data_suite(void);
Suite *draw_suite(void);
Suite *keys_suite(void);
Suite *markers_suite(void);
Suite *clock_suite(void);
Suite *command_suite(void);
Suite *save_suite(void);
Suite *slice_suite(void);
Suite *whole_suite(void);

#endif
