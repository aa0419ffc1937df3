/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Which stretches of a channel hold the carrier. A transmitter is keyed, a receiver is tuned away,
 * an afternoon's capture is empty for the most part: silence, demodulated, is louder than any
 * programme, and is nothing of the transmitter's.
 *
 * Judged are runs of ANALYSIS_STRETCH_FRAMES. FM has a constant envelope: the mean of |z|^4 over
 * the squared mean of |z|^2 is 1, and 1.4 with 50 % of AM, where noise has 2 (moments of the
 * exponential distribution). What is no carrier by that, and 6 dB weaker than the carrier was, is
 * left out with its neighbours, which may hold a part of it. As long as no carrier was seen, and
 * where noise hides that it is gone, nothing is left out. A run with a hole in it
 * (analysis/holes.h) is left out in the same way.
 *
 * A receiver's direct current has a constant envelope too. Where the channel holds zero, a run
 * whose mean frequency is that of zero is no carrier either, 20 kHz and more away from the
 * channel's middle, where the carrier is.
 */
#ifndef SIDECOMB_ANALYSIS_STRETCHES_H
#define SIDECOMB_ANALYSIS_STRETCHES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <sidecomb/error.h>

enum { ANALYSIS_STRETCH_FRAMES = 4096 };

/* `khz`: `frames` of the composite; `filtered`: as many complex ones of the channel. */
typedef void analysis_stretch_sink(void *context, const float *khz, const float *filtered,
                                   size_t frames, bool discontinuity);

/* So many frames are left out, after what the sink had so far. */
typedef void analysis_stretch_left_out(void *context, size_t frames);
struct analysis_stretches;
/* `zero_khz`: where in the channel the capture's zero is. */
enum sc_error analysis_stretches_create(double zero_khz, analysis_stretch_sink *sink,
                                        analysis_stretch_left_out *left_out, void *context,
                                        struct analysis_stretches **stretches);
/* Gives the sink, up to two runs later, what it is to have; after what is left out comes a
 * discontinuity. */
void analysis_stretches_feed(struct analysis_stretches *stretches, const float *khz,
                             const float *filtered, size_t frames, bool discontinuity);
/* From here on, or no more, the channel has a hole. */
void analysis_stretches_spoil(struct analysis_stretches *stretches, bool spoiled);
/* All that waits for what comes after it. */
void analysis_stretches_flush(struct analysis_stretches *stretches);
/* Of the last run: false: it is left out. */
bool analysis_stretches_on(const struct analysis_stretches *stretches);
/* A carrier was seen so far. */
bool analysis_stretches_carrier(const struct analysis_stretches *stretches);
/* A carrier has come, 6 dB above all that the sink had before it. */
bool analysis_stretches_begun(const struct analysis_stretches *stretches);
/* Frames so far. */
uint64_t analysis_stretches_left_out(const struct analysis_stretches *stretches);
void analysis_stretches_destroy(struct analysis_stretches *stretches);

#endif
