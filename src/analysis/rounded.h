/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* One stretch of an IQ capture, kept so that its signal can be rounded once more when lines turn up
 * that the capture's steps may have made (measure/rounded.h). */
#ifndef SIDECOMB_ANALYSIS_ROUNDED_H
#define SIDECOMB_ANALYSIS_ROUNDED_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/error.h>
#include <sidecomb/result.h>

struct analysis_rounded;
/* NULL without an error: of such samples nothing is rounded. All others accept that. */
enum sc_error analysis_rounded_create(const struct sc_source_info *info,
                                      struct analysis_rounded **rounded);
/* True: that was the last that is kept. */
bool analysis_rounded_feed(struct analysis_rounded *rounded, const float *iq, size_t frames,
                           bool discontinuity);
void analysis_rounded_reset(struct analysis_rounded *rounded);
/* Lets the stretch go when the noise covers the steps by far, so that they make no lines. */
void analysis_rounded_consider(struct analysis_rounded *rounded, double noise_dbfs_hz);
/* Where an account left lines over that rounding may have made, fills `rounded` of all lines;
 * `marked`: one at least has some of it, so that the account is to begin anew. SC_NO_MEMORY. */
enum sc_error analysis_rounded_mark(struct analysis_rounded *rounded, struct sc_result *result,
                                    bool *marked);
void analysis_rounded_destroy(struct analysis_rounded *rounded);

#endif
