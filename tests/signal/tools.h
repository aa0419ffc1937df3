/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What the tests of this room share: playing a scenario, its exact spectrum, an exact low-pass. */
#ifndef SIDECOMB_TESTS_SIGNAL_TOOLS_H
#define SIDECOMB_TESTS_SIGNAL_TOOLS_H

#include <complex.h>
#include <stddef.h>
#include <stdint.h>

#include <sidecomb/scenario.h>

#define TWO_PI 6.283185307179586476925286766559

/* As the assertions of Check, for loops over many samples: those write to a pipe each time. */
#define CHECK_CLOSE(got, expected, tolerance)                                                      \
  check_close((got), (expected), (tolerance), __FILE__, __LINE__)
#define CHECK_BELOW(got, limit) check_below((got), (limit), __FILE__, __LINE__)
void check_close(double got, double expected, double tolerance, const char *file, int line);
void check_below(double got, double limit, const char *file, int line);

double db(double amplitude);

/* A scenario without pilot, programme and noise, carrier of full scale. */
struct sc_scenario *plain_scenario(double rate_hz);

/* Plays the first frames; the result is to be freed. channels doubles a frame. */
double *play(const struct sc_scenario *scenario, size_t frames);

/* A record that holds a whole number of cycles of every part needs no window: each line stands in
 * one bin. Transforms in place and divides by n. */
void transform(double complex *x, size_t n);
/* play() of IQ, or of a real composite, and transform(); to be freed. */
double complex *scenario_spectrum(const struct sc_scenario *scenario, size_t frames);
/* The bin of a whole frequency. */
double complex bin(const double complex *spectrum, size_t n, double rate_hz, double hz);

/* A windowed-sinc low-pass of 140 dB by direct sums; zeros outside the record. */
void lowpass(const double *in, double *out, size_t n, double pass_hz, double stop_hz,
             double rate_hz);

#endif
