/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The test audio for a transmitter: a sequence of known parts, and the file of it.
 *
 * One schedule serves the writer and the judgement of what comes back (audio.h). A pair of chirps
 * at either end is found in any recording, whatever its level, polarity and clock; between them
 * the left and the right channel are told apart by the frequency of what they carry:
 *
 *   line-up tone on both channels, and 6 dB lower; left alone, right alone, both at once with
 *   different tones, neither (noise); two equal tones whose phase walks from 0 through 180 to 360
 *   degrees; combs of tones along the inverse 75 us curve, 20 dB below the line-up tone at the
 *   low end, left alone and right alone, and again 6 dB lower (what compresses shows); single
 *   mono tones at 13 586.8 and 8 666.8 Hz, where 75 kHz of deviation makes the carrier vanish.
 *
 * The line of the carrier falls as the Bessel function J0 of the modulation index, deviation over
 * frequency; its second and third zero are 5.5201 and 8.6537 (Abramowitz and Stegun, Handbook of
 * Mathematical Functions, table 9.5): 75 kHz / 5.5201 and 75 kHz / 8.6537.
 */
#ifndef SIDECOMB_SEQUENCE_H
#define SIDECOMB_SEQUENCE_H

#include <stdbool.h>

#include <sidecomb/api.h>
#include <sidecomb/error.h>

/* Parts in their order. */
enum sc_sequence_part_name {
  SC_PART_BEFORE,
  SC_PART_LEAD, /* a rising chirp, then a falling one */
  SC_PART_GAP,
  SC_PART_LINE_UP,
  SC_PART_LINE_UP_LOWER,
  SC_PART_LEFT,
  SC_PART_RIGHT,
  SC_PART_BOTH,
  SC_PART_NEITHER,
  SC_PART_WALK,
  SC_PART_COMB_LEFT,
  SC_PART_COMB_RIGHT,
  SC_PART_COMB_LEFT_LOWER,
  SC_PART_COMB_RIGHT_LOWER,
  SC_PART_NULL_SECOND,
  SC_PART_NULL_THIRD,
  SC_PART_PAUSE,
  SC_PART_TRAIL, /* a falling chirp, then a rising one */
  SC_PART_AFTER,
  SC_PARTS
};

enum sc_sequence_kind {
  SC_SEQUENCE_SILENCE,
  SC_SEQUENCE_CHIRPS,
  SC_SEQUENCE_TONE,
  SC_SEQUENCE_WALK,
  SC_SEQUENCE_COMB
};

struct sc_sequence_part {
  const char *what; /* a few words */
  enum sc_sequence_kind kind;
  double start_s, seconds;  /* in the sequence's own time */
  double left_hz, right_hz; /* tones, walk: frequency, 0: silent; comb: 1 where it sounds */
  double level_db; /* peak of a tone, re the line-up tone; comb: of each tone, before the curve */
};

/* SC_PARTS parts, in the order of their names. */
SC_API const struct sc_sequence_part *sc_sequence_parts(void);
SC_API double sc_sequence_seconds(void);

enum { SC_COMB_TONES = 13 };
/* Frequencies of the comb on the left (channel 0) or on the right (1), rising. */
SC_API const double *sc_sequence_comb_hz(int channel);
/* Amplitude of a comb's tone re the comb's level: the inverse 75 us curve. */
SC_API double sc_sequence_comb_gain(double frequency_hz);
/* How far the left channel leads the right at a time of the walk, 0 to 2 pi. */
SC_API double sc_sequence_walk_rad(double part_s);

/* Chirps: length, distance between the beginnings of the two, and their ends in frequency. */
#define SC_CHIRP_S 0.4
#define SC_CHIRP_SPACING_S 0.5
#define SC_CHIRP_LOW_HZ 400.0
#define SC_CHIRP_HIGH_HZ 3600.0
/* Phase of a rising or falling chirp after so many seconds. */
SC_API double sc_chirp_rad(int rising, double seconds);
/* Its level, 1 but for its soft ends; 0 outside. */
SC_API double sc_chirp_envelope(double seconds);

struct sc_sequence_settings {
  double level_dbfs;     /* peak of the line-up tone, the highest of all; 0: -6 */
  double preemphasis_us; /* of the transmitter: the null tones are lower by what it lifts them over
                            the line-up tone, so that they deviate as much; 0 to 100 */
};

/* Left and right at a time of the sequence, full scale 1: exact, whatever the time. Silence
 * outside. */
SC_API void sc_sequence_sample(const struct sc_sequence_settings *settings, double time_s,
                               double *left, double *right);
/* Level of a null tone re the line-up tone. */
SC_API double sc_sequence_null_db(double frequency_hz, double preemphasis_us);

struct sc_sequence_file {
  const char *path; /* .wav or .flac */
  unsigned bits;    /* 16 or 24; 0: 24 */
  bool keep;        /* a file that is there already stays, and SC_WRITE_FAILED says so */
  /* Called now and then with the share that is done; false gives up, and nothing is left. NULL:
   * nobody asks. */
  bool (*progress)(void *context, double share);
  void *context;
};

/* Writes it at 48 kHz with triangular dither. Nothing appears under the wanted name before it is
 * whole. SC_BAD_ARGUMENT: a level above 0 or below -40 dBFS, a width or an ending that there is
 * not; SC_WRITE_FAILED, SC_NO_MEMORY. */
SC_API SC_MUST_USE enum sc_error sc_sequence_write(const struct sc_sequence_settings *settings,
                                                   const struct sc_sequence_file *file,
                                                   struct sc_message *message);

#endif
