/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What is measured in each part of the test audio, before anything is concluded from it. */
#ifndef SIDECOMB_MEASURE_AUDIO_PARTS_H
#define SIDECOMB_MEASURE_AUDIO_PARTS_H

#include <complex.h>
#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/error.h>
#include <sidecomb/sequence.h>

#include "measure/audio_spectrum.h"

/* A tone in both channels, with the variance of either component of an amplitude. */
struct audio_reading {
  double complex amplitude[2];
  double variance[2];
};

enum { AUDIO_WALK_LEFT, AUDIO_WALK_RIGHT, AUDIO_WALK_SUM, AUDIO_WALKS };
/* Fitted to p exp(j phi/2) + q exp(-j phi/2). */
struct audio_walk {
  double complex p[AUDIO_WALKS], q[AUDIO_WALKS];
  double variance[AUDIO_WALKS]; /* of either component of p and q */
  double law_db[AUDIO_WALKS];   /* largest departure from |cos(phi/2)| */
  double phase_rad[2];          /* largest departure of left less right from phi, from -phi */
};

/* One sequence of a recording. */
struct audio_run {
  double lead_s; /* middle of the leading chirps in the recording */
  double clock;  /* seconds of the recording per second of the sequence */
  double clock_relative_uncertainty;
  double frequency_hz, frequency_uncertainty_hz; /* of the line-up tone */
  double trail_s;                                /* middle of the trailing chirps; NAN: not found */
  bool done[SC_PARTS];
  struct audio_reading line_up, line_up_lower, left, right, both_left, both_right;
  struct audio_reading comb[4][SC_COMB_TONES]; /* left, right, and again lower */
  struct audio_power rest[2];                  /* 30 Hz to 15 kHz, without the line-up tone */
  struct audio_power noise[2], noise_a[2], noise_468[2];
  struct audio_walk walk;
};

/* Middle of either pair of chirps in the sequence's time. */
double audio_mark_middle_s(enum sc_sequence_part_name name);

struct audio_parts;
/* `frames`: of the longest stretch. `step`: of the samples' rounding, 0: not known. */
enum sc_error audio_parts_create(double rate_hz, double step, size_t frames,
                                 struct audio_parts **parts);
/* Where to put the stretch: 2 * frames floats. */
float *audio_parts_buffer(struct audio_parts *parts);
/* Of the part, what is measured, as seconds of the sequence: some is left out at either end. */
void audio_part_bounds(enum sc_sequence_part_name name, double *from_s, double *to_s);
/* Measures the stretch in the buffer. The line-up tone sets the clock; false: it is not there. */
bool audio_parts_measure(struct audio_parts *parts, enum sc_sequence_part_name name, size_t frames,
                         struct audio_run *run);
void audio_parts_destroy(struct audio_parts *parts);

#endif
