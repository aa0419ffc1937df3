/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What the tests of the line finder share: records of tones and noise, and one measurement. */
#ifndef SIDECOMB_TESTS_MEASURE_LINES_INPUT_H
#define SIDECOMB_TESTS_MEASURE_LINES_INPUT_H

#include <stdint.h>

#include <sidecomb/lines.h>

/* Frames with their rate set to 1, so that frequencies are in cycles per frame. */
struct lines_input {
  double *frames;
  size_t count;
  bool complex_input;
};

/* Zeroes. */
struct lines_input lines_input_make(size_t count, bool complex_input);
void lines_input_clear(struct lines_input *input);
/* amplitude * exp(j (2 pi f i + phase)), or its real part. */
void lines_input_tone(struct lines_input *input, double frequency, double amplitude,
                      double phase_rad);
/* White, of total variance `power`. */
void lines_input_noise(struct lines_input *input, double power, uint64_t *seed);
/* The amplitude of a tone that has E (see lines.h) in a record of `length` frames, in noise of
 * total variance 1. */
double lines_input_amplitude(double e_db, double length, bool complex_input);
void lines_input_free(struct lines_input *input);

/* Created for inputs of this kind, or the test ends. `record` may be 0: what the input's length
 * gives. */
struct sc_lines *lines_input_finder(const struct lines_input *input, size_t record,
                                    double false_alarm);
/* Forgets, feeds in double precision, asks. */
struct sc_lines_result lines_input_measure(struct sc_lines *lines, const struct lines_input *input);
/* The line within `within` of a frequency, or NULL. */
const struct sc_tone *lines_input_find(const struct sc_lines_result *result, double frequency,
                                       double within);

#endif
