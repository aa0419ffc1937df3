/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Delivers a source's samples with the response of the sound card's input undone. */
#ifndef SIDECOMB_ANALYSIS_CORRECTOR_H
#define SIDECOMB_ANALYSIS_CORRECTOR_H

#include <sidecomb/capture.h>

struct corrector;

/* Reads the response file. */
enum sc_error corrector_create(const char *path, double rate_hz, unsigned channels,
                               struct corrector **corrector, struct sc_message *message);
/* Corrected frames at source->position, aligned with the input: the filter's delay is taken
 * back. Around the ends of the capture, and of a segment, the input counts as 0. Counts what
 * the scan finds in the input that this call takes. */
enum sc_error corrector_take(struct corrector *corrector, struct sc_source *source, float *out,
                             size_t frames, size_t *got, struct sc_block *tally,
                             struct sc_message *message);
void corrector_destroy(struct corrector *corrector);

#endif
