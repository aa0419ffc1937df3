/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The suites of this room's tests. */
#ifndef SIDECOMB_TESTS_DSP_SUITES_H
#define SIDECOMB_TESTS_DSP_SUITES_H

#include <check.h>

Suite *coherent_suite(void);
Suite *correction_suite(void);
Suite *deemphasis_suite(void);
Suite *highpass_suite(void);
Suite *hops_suite(void);
Suite *discriminator_suite(void);
Suite *fft_suite(void);
Suite *gamma_suite(void);
Suite *mixer_suite(void);
Suite *plateau_suite(void);
Suite *taper_suite(void);
Suite *weighting_suite(void);
Suite *window_suite(void);
Suite *resample_suite(void);

#endif
