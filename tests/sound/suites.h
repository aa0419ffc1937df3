/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SIDECOMB_TESTS_SOUND_SUITES_H
#define SIDECOMB_TESTS_SOUND_SUITES_H

#include <check.h>

Suite *sound_suite(void);
Suite *trouble_suite(void);

#endif
