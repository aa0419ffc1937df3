/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What a transmitter takes up on air: its occupied bandwidth, the masks, and its place among the
 * channels. */
#ifndef SIDECOMB_ANALYSIS_EMISSION_H
#define SIDECOMB_ANALYSIS_EMISSION_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/analysis.h>
#include <sidecomb/spectrum.h>

struct analysis_emission;
/* One spectrum for each mask, in its resolution; none when the samples are no IQ. The masks are
 * copied. */
enum sc_error analysis_emission_create(const struct sc_source_info *info,
                                       const struct sc_analysis_settings *settings,
                                       struct analysis_emission **emission);
void analysis_emission_reset(struct analysis_emission *emission);
void analysis_emission_feed(struct analysis_emission *emission, const float *iq, size_t frames,
                            bool discontinuity);
/* After carrier, deviation, stereo and lines of the composite. `air`: the spectrum of the whole
 * capture; without points nothing is measured. SC_NO_MEMORY. */
enum sc_error analysis_emission_result(struct analysis_emission *emission,
                                       const struct sc_trace *air, struct sc_result *result);
/* Of a capture without a carrier. */
void analysis_emission_refuse(const struct analysis_emission *emission, const char *why,
                              struct sc_result *result);
void analysis_emission_destroy(struct analysis_emission *emission);

#endif
