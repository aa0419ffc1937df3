/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The chirps at either end of the test audio, found in a stream of any length. */
#ifndef SIDECOMB_MEASURE_AUDIO_MARKS_H
#define SIDECOMB_MEASURE_AUDIO_MARKS_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/error.h>

struct audio_mark {
  bool lead;       /* the leading pair, else the trailing one */
  double middle_s; /* of the pair, from the first frame fed since create or reset: the one place
                      that a wrong clock does not move */
};

struct audio_marks;
/* Told at most 0.55 s after the pair's end. */
enum sc_error audio_marks_create(double rate_hz, struct audio_marks **marks);
void audio_marks_reset(struct audio_marks *marks);
/* Two floats a frame. */
void audio_marks_feed(struct audio_marks *marks, const float *samples, size_t frames);
/* Takes the oldest mark that was found; false: there is none. At most 16 wait; more are lost. */
bool audio_marks_next(struct audio_marks *marks, struct audio_mark *mark);
void audio_marks_destroy(struct audio_marks *marks);

#endif
