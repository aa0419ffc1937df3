/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Records of tones and noise for the line finder. */
#include "measure/lines_input.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "support/random.h"

static const double two_pi = 6.283185307179586476925286766559;

struct lines_input lines_input_make(size_t count, bool complex_input)
{
  struct lines_input input = {NULL, count, complex_input};
  input.frames = calloc(count * (complex_input ? 2 : 1), sizeof *input.frames);
  ck_assert_ptr_nonnull(input.frames);
  return input;
}

void lines_input_clear(struct lines_input *input)
{
  memset(input->frames, 0, input->count * (input->complex_input ? 2 : 1) * sizeof *input->frames);
}

void lines_input_tone(struct lines_input *input, double frequency, double amplitude,
                      double phase_rad)
{
  for (size_t i = 0; i < input->count; i++) {
    double cycles = frequency * (double)i;
    double phase = two_pi * (cycles - floor(cycles)) + phase_rad;
    if (input->complex_input) {
      input->frames[2 * i] += amplitude * cos(phase);
      input->frames[2 * i + 1] += amplitude * sin(phase);
    } else {
      input->frames[i] += amplitude * cos(phase);
    }
  }
}

void lines_input_noise(struct lines_input *input, double power, uint64_t *seed)
{
  size_t values = input->count * (input->complex_input ? 2 : 1);
  double sigma = sqrt(input->complex_input ? power / 2 : power);
  for (size_t i = 0; i < values; i++)
    input->frames[i] += sigma * support_normal(seed);
}

/* E = A^2 n for a complex tone in noise of variance 1; the real tone has half that power, and
 * its noise twice the one-sided density. */
double lines_input_amplitude(double e_db, double length, bool complex_input)
{
  return sqrt(pow(10, e_db / 10) / length * (complex_input ? 1 : 4));
}

void lines_input_free(struct lines_input *input)
{
  free(input->frames);
}

struct sc_lines *lines_input_finder(const struct lines_input *input, size_t record,
                                    double false_alarm)
{
  struct sc_lines *lines;
  struct sc_lines_settings settings = {
      .sample_rate_hz = 1,
      .complex_input = input->complex_input,
      .expected_frames = record ? record : input->count,
      .false_alarm = false_alarm,
  };
  ck_assert_int_eq(sc_lines_create(&settings, &lines), SC_OK);
  return lines;
}

struct sc_lines_result lines_input_measure(struct sc_lines *lines, const struct lines_input *input)
{
  struct sc_lines_result result;
  sc_lines_reset(lines);
  sc_lines_feed_double(lines, input->frames, input->count, false);
  sc_lines_result(lines, &result);
  return result;
}

const struct sc_tone *lines_input_find(const struct sc_lines_result *result, double frequency,
                                       double within)
{
  for (size_t i = 0; i < result->count; i++)
    if (fabs(result->tones[i].frequency_hz.value - frequency) < within)
      return &result->tones[i];
  return NULL;
}
