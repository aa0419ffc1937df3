/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The beginning of a capture: kept until the channel has been found in it, then replayed. */
#ifndef SIDECOMB_ANALYSIS_HEAD_H
#define SIDECOMB_ANALYSIS_HEAD_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/carrier.h>
#include <sidecomb/error.h>

enum { ANALYSIS_HEAD_FRAMES_MAX = 1 << 20, ANALYSIS_HEAD_GAPS_MAX = 64 };

struct analysis_head;
/* Holds one second of complex samples, at most ANALYSIS_HEAD_FRAMES_MAX frames. */
enum sc_error analysis_head_create(double rate_hz, struct analysis_head **head);
/* Takes as many frames as there is room for and returns their number. */
size_t analysis_head_feed(struct analysis_head *head, const float *iq, size_t frames,
                          bool discontinuity);
/* Nothing more can be taken: the second is full, or it has too many gaps. */
bool analysis_head_full(const struct analysis_head *head);
size_t analysis_head_frames(const struct analysis_head *head);
/* Looks for the channel in what was taken so far. */
struct sc_channel_guess analysis_head_guess(struct analysis_head *head);
/* Run `i` of samples without a gap; false: there is none. */
bool analysis_head_run(const struct analysis_head *head, size_t i, const float **iq, size_t *frames,
                       bool *discontinuity);
/* Starts over. */
void analysis_head_reset(struct analysis_head *head);
void analysis_head_destroy(struct analysis_head *head);

#endif
