/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The schedule of the test audio: what sounds when, for those who play it and who judge it. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>

#include <sidecomb/sequence.h>

#define PI 3.1415926535897932384626433832795

/* Marked tones of the two channels: primes, 3 Hz or more from harmonics of another and of hum. */
#define LINE_UP_HZ 997.0
#define LEFT_HZ 523.0
#define RIGHT_HZ 1307.0
#define WALK_HZ 509.0
/* 75 kHz over the second and third zero of J0 (Abramowitz and Stegun, table 9.5: 5.5200781103,
 * 8.6537279129), to the decimal that is printed. */
#define NULL_SECOND_HZ 13586.8
#define NULL_THIRD_HZ 8666.8
#define MARK_S (SC_CHIRP_SPACING_S + SC_CHIRP_S)

static const struct sc_sequence_part parts[SC_PARTS] = {
    [SC_PART_BEFORE] = {"silence", SC_SEQUENCE_SILENCE, 0, 0.5, 0, 0, 0},
    [SC_PART_LEAD] = {"leading chirps", SC_SEQUENCE_CHIRPS, 0.5, MARK_S, 1, 1, -6},
    [SC_PART_GAP] = {"silence", SC_SEQUENCE_SILENCE, 1.4, 0.6, 0, 0, 0},
    [SC_PART_LINE_UP] = {"line-up tone", SC_SEQUENCE_TONE, 2, 5, LINE_UP_HZ, LINE_UP_HZ, 0},
    [SC_PART_LINE_UP_LOWER] = {"6 dB lower", SC_SEQUENCE_TONE, 7, 3, LINE_UP_HZ, LINE_UP_HZ, -6},
    [SC_PART_LEFT] = {"left alone", SC_SEQUENCE_TONE, 10, 3, LEFT_HZ, 0, 0},
    [SC_PART_RIGHT] = {"right alone", SC_SEQUENCE_TONE, 13, 3, 0, RIGHT_HZ, 0},
    [SC_PART_BOTH] = {"both, different tones", SC_SEQUENCE_TONE, 16, 3, LEFT_HZ, RIGHT_HZ, 0},
    [SC_PART_NEITHER] = {"silence for noise", SC_SEQUENCE_SILENCE, 19, 6, 0, 0, 0},
    [SC_PART_WALK] = {"phase walk", SC_SEQUENCE_WALK, 25, 12, WALK_HZ, WALK_HZ, 0},
    [SC_PART_COMB_LEFT] = {"comb left", SC_SEQUENCE_COMB, 37, 6, 1, 0, -20},
    [SC_PART_COMB_RIGHT] = {"comb right", SC_SEQUENCE_COMB, 43, 6, 0, 1, -20},
    [SC_PART_COMB_LEFT_LOWER] = {"comb left, 6 dB lower", SC_SEQUENCE_COMB, 49, 5, 1, 0, -26},
    [SC_PART_COMB_RIGHT_LOWER] = {"comb right, 6 dB lower", SC_SEQUENCE_COMB, 54, 5, 0, 1, -26},
    [SC_PART_NULL_SECOND] = {"second carrier null", SC_SEQUENCE_TONE, 59, 4, NULL_SECOND_HZ,
                             NULL_SECOND_HZ, 0},
    [SC_PART_NULL_THIRD] = {"third carrier null", SC_SEQUENCE_TONE, 63, 4, NULL_THIRD_HZ,
                            NULL_THIRD_HZ, 0},
    [SC_PART_PAUSE] = {"silence", SC_SEQUENCE_SILENCE, 67, 0.5, 0, 0, 0},
    [SC_PART_TRAIL] = {"trailing chirps", SC_SEQUENCE_CHIRPS, 67.5, MARK_S, 1, 1, -6},
    [SC_PART_AFTER] = {"silence", SC_SEQUENCE_SILENCE, 68.4, 0.6, 0, 0, 0},
};

const struct sc_sequence_part *sc_sequence_parts(void)
{
  return parts;
}

double sc_sequence_seconds(void)
{
  return parts[SC_PART_AFTER].start_s + parts[SC_PART_AFTER].seconds;
}

/* Primes off the hum's harmonics, spread evenly over 30 Hz to 15 kHz on a logarithmic scale, left
 * and right in turn: beats and harmonics of tones fall between the tones. */
const double *sc_sequence_comb_hz(int channel)
{
  static const double tones[2][SC_COMB_TONES] = {
      {31, 67, 113, 191, 317, 557, 911, 1481, 2477, 4153, 6947, 10501, 14747},
      {43, 83, 137, 233, 409, 683, 1151, 1913, 3203, 5393, 8999, 12503, 14947},
  };
  return tones[channel != 0];
}

double sc_sequence_comb_gain(double frequency_hz)
{
  static const double tau_s = 75e-6;
  const double turn = 2 * PI * frequency_hz * tau_s;
  return 1 / sqrt(1 + turn * turn);
}

/* It rests a second at either end. */
double sc_sequence_walk_rad(double part_s)
{
  static const double rest_s = 1;
  const double share = (part_s - rest_s) / (parts[SC_PART_WALK].seconds - 2 * rest_s);
  return 2 * PI * fmin(1, fmax(0, share));
}

double sc_chirp_rad(int rising, double seconds)
{
  const double from = rising ? SC_CHIRP_LOW_HZ : SC_CHIRP_HIGH_HZ;
  const double to = rising ? SC_CHIRP_HIGH_HZ : SC_CHIRP_LOW_HZ;
  return 2 * PI * seconds * (from + (to - from) * seconds / (2 * SC_CHIRP_S));
}

double sc_chirp_envelope(double seconds)
{
  static const double soft_s = 0.04;
  const double edge = fmin(seconds, SC_CHIRP_S - seconds);
  if (edge <= 0)
    return 0;
  return edge >= soft_s ? 1 : 0.5 - 0.5 * cos(PI * edge / soft_s);
}

double sc_sequence_null_db(double frequency_hz, double preemphasis_us)
{
  const double turn = 2 * PI * preemphasis_us * 1e-6;
  const double line_up = turn * LINE_UP_HZ, null = turn * frequency_hz;
  return 10 * log10((1 + line_up * line_up) / (1 + null * null));
}
