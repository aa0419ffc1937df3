/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Frequency modulation by a sampled composite. */
#include "measure/remodulator.h"

#include <math.h>
#include <string.h>

static const double pi = 3.14159265358979323846;
/* Integral over the middle interval of the polynomial through seven points about it. */
static const double rule[MEASURE_REMODULATOR_TAPS] = {
    367.0 / 967680,   -5058.0 / 967680, 57249.0 / 967680, 862564.0 / 967680,
    57249.0 / 967680, -5058.0 / 967680, 367.0 / 967680};

void measure_remodulator_start(struct measure_remodulator *remodulator, double rate_hz)
{
  *remodulator = (struct measure_remodulator){.cycles_per_khz = 1e3 / rate_hz};
}

void measure_remodulator_run(struct measure_remodulator *remodulator, const float *deviation_khz,
                             size_t frames, float *iq)
{
  double *past = remodulator->past, phase = remodulator->phase_cycles;
  for (size_t i = 0; i < frames; i++) {
    memmove(past, past + 1, (MEASURE_REMODULATOR_TAPS - 1) * sizeof *past);
    past[MEASURE_REMODULATOR_TAPS - 1] = (double)deviation_khz[i];
    double sum = 0;
    for (int k = 0; k < MEASURE_REMODULATOR_TAPS; k++)
      sum += rule[k] * past[k];
    phase += remodulator->cycles_per_khz * sum;
    phase -= floor(phase);
    float angle = (float)(2 * pi * phase);
    iq[2 * i] = cosf(angle);
    iq[2 * i + 1] = sinf(angle);
  }
  remodulator->phase_cycles = phase;
}
