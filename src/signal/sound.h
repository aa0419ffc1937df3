/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A sound file as a programme source at any rate: windowed-sinc interpolation, images and
 * interpolation error below -110 dB, repeated without a gap.
 */
#ifndef SIDECOMB_SIGNAL_SOUND_H
#define SIDECOMB_SIGNAL_SOUND_H

#include <stddef.h>
#include <stdint.h>

#include <sidecomb/error.h>

struct signal_sound;
/* SC_CANNOT_OPEN: no such file, or none that libsndfile reads; SC_UNSUPPORTED: more than two
 * channels; SC_BAD_FORMAT: no sample in it. */
enum sc_error signal_sound_open(const char *path, double rate_hz, struct signal_sound **sound,
                                struct sc_message *message);
unsigned signal_sound_channels(const struct signal_sound *sound);
/* Next sample of each channel, the first at time 0; a mono file gives the same on both. */
void signal_sound_next(struct signal_sound *sound, double *left, double *right);
void signal_sound_close(struct signal_sound *sound);

#endif
