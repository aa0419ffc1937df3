/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Steady tones in two channels: how strong each is in either, and the phase between. */
#ifndef SIDECOMB_MEASURE_CHANNELS_H
#define SIDECOMB_MEASURE_CHANNELS_H

#include <stddef.h>

#include <sidecomb/error.h>

enum { MEASURE_CHANNELS_TONES_MAX = 32 };

struct measure_channels_tone {
  double frequency_hz, frequency_uncertainty_hz;
  double left, right;                      /* powers, noise taken off; may be negative */
  double left_sd, right_sd;                /* of these */
  double phase_rad, phase_uncertainty_rad; /* left ahead of right */
};

struct measure_channels;
enum sc_error measure_channels_create(double rate_hz, struct measure_channels **channels);
/* left and right interleaved */
void measure_channels_feed(struct measure_channels *channels, const float *in, size_t frames);
/* What comes next does not follow on what came last. */
void measure_channels_cut(struct measure_channels *channels);
/* The strongest first. Returns their number. */
size_t measure_channels_result(const struct measure_channels *channels,
                               struct measure_channels_tone tones[MEASURE_CHANNELS_TONES_MAX]);
void measure_channels_reset(struct measure_channels *channels);
void measure_channels_destroy(struct measure_channels *channels);

#endif
