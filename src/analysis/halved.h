/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The composite at half its rate, for what reads it up to the data subcarrier alone: mixers and
 * first filters cost half. Flat within 5e-6 up to 62 kHz, aliases 110 dB down there. */
#ifndef SIDECOMB_ANALYSIS_HALVED_H
#define SIDECOMB_ANALYSIS_HALVED_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/error.h>

enum { ANALYSIS_HALVED_FRAMES = 4096 }; /* in one feed, at the full rate */

struct analysis_halved;
/* *halved stays NULL where the rate is too low to be halved. */
enum sc_error analysis_halved_create(double rate_hz, struct analysis_halved **halved);
/* Returns the number of frames made; they last until the next call. After a discontinuity the
 * filter's start is dropped. */
size_t analysis_halved_feed(struct analysis_halved *halved, const float *samples, size_t frames,
                            bool discontinuity, const float **made);
/* Of the capture before the first frame made. */
double analysis_halved_start_s(const struct analysis_halved *halved);
/* Accepts NULL. */
void analysis_halved_destroy(struct analysis_halved *halved);

#endif
