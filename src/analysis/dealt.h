/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* An averaged spectrum by two threads: the records of each block are shared out to two spectra, one
 * of them fed by a worker, and averaged in a fixed order, so that the result is the same to the
 * last bit with the worker and without. Small blocks, and bands that are decimated first, have but
 * one. */
#ifndef SIDECOMB_ANALYSIS_DEALT_H
#define SIDECOMB_ANALYSIS_DEALT_H

#include <sidecomb/spectrum.h>

#include "analysis/worker.h"

struct analysis_dealt;
/* Without a memory (memory_s) only: SC_BAD_ARGUMENT. `worker` outlives it; NULL: all is done by the
 * caller. Errors of sc_spectrum_create. */
enum sc_error analysis_dealt_create(const struct sc_spectrum_settings *settings,
                                    struct analysis_worker *worker, struct analysis_dealt **dealt);
void analysis_dealt_feed(struct analysis_dealt *dealt, const float *samples, size_t frames,
                         bool discontinuity);
/* As sc_spectrum_result; records begin afresh with what is fed afterwards. Independent records do
 * not know that the last of one half shares samples with the first of the other: a part in ten at
 * most. */
void analysis_dealt_result(struct analysis_dealt *dealt, struct sc_trace *trace);
void analysis_dealt_destroy(struct analysis_dealt *dealt);

#endif
