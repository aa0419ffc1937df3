/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Left and right, as recorded or as decoded from the composite, on their way to the judgement of
 * the audio. */
#ifndef SIDECOMB_ANALYSIS_LISTENER_H
#define SIDECOMB_ANALYSIS_LISTENER_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/audio.h>
#include <sidecomb/error.h>

struct analysis_listener;
/* `full_scale`: the sample that counts as full scale. `bits`: of the samples; 0: floats. A rate
 * that cannot be judged is no error: the result says so. */
enum sc_error analysis_listener_create(double rate_hz, unsigned channels, double full_scale,
                                       unsigned bits, struct analysis_listener **listener);
/* `channels` floats a frame. A discontinuity without frames is remembered. */
void analysis_listener_feed(struct analysis_listener *listener, const float *samples, size_t frames,
                            bool discontinuity);
void analysis_listener_result(struct analysis_listener *listener, struct sc_audio *audio);
void analysis_listener_destroy(struct analysis_listener *listener);

#endif
