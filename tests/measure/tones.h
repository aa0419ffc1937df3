/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What the tests of the spectrum share: tones of exact frequency, and reading a trace. */
#ifndef SIDECOMB_TESTS_MEASURE_TONES_H
#define SIDECOMB_TESTS_MEASURE_TONES_H

#include <sidecomb/spectrum.h>

/* amplitude * exp(2 pi i f t), or its real part; to be freed. The phase at frame 0 is 0.3 cycles
 * and counts from `first`. */
float *tones_make(const struct sc_spectrum_settings *settings, double frequency_hz,
                  double amplitude, size_t first, size_t frames);
/* A spectrum that has seen such a tone. */
struct sc_spectrum *tones_measure(const struct sc_spectrum_settings *settings, double frequency_hz,
                                  double amplitude, size_t frames, struct sc_trace *trace);
/* A spectrum that is created, or the test ends. */
struct sc_spectrum *tones_create(const struct sc_spectrum_settings *settings);

double tones_frequency(const struct sc_trace *trace, size_t point);
size_t tones_strongest(const struct sc_trace *trace);
double tones_db(double power);

#endif
