/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The pulse, its autocorrelation, and what they make of a squared random sequence. */
#include "measure/rds_pulse.h"

#include <math.h>
#include <stddef.h>
#include <stdlib.h>

#define PI 3.1415926535897932384626433832795

enum { COUNT = 2 * MEASURE_RDS_SUPPORT * MEASURE_RDS_STEPS, PHASES = 16, NEIGHBOURS = 3 };

/* cos(4 pi x) / (1 - 64 x^2) without its two gaps */
static double half(double x)
{
  const double z = PI / 2.0 * (1.0 - 8.0 * fabs(x));
  return PI / 2.0 * (fabs(z) < 1e-9 ? 1.0 : sin(z) / z) / (1.0 + 8.0 * fabs(x));
}

/* Of the table with itself, `shift` steps on. */
static double correlation(const struct measure_rds_pulse *p, size_t shift)
{
  double sum = 0.0;
  for (size_t i = 0; i + shift <= COUNT; i++)
    sum += (double)p->table[i] * (double)p->table[i + shift];
  return sum / MEASURE_RDS_STEPS;
}

/* Mean square of the output at phase x: the sum over all bits of the squared autocorrelation. */
static double mean_square(const struct measure_rds_pulse *p, size_t steps)
{
  double sum = 0.0;
  for (int k = -NEIGHBOURS; k <= NEIGHBOURS; k++) {
    const long shift = labs((long)steps - (long)k * MEASURE_RDS_STEPS);
    const double r = correlation(p, (size_t)shift) / p->energy;
    sum += r * r;
  }
  return sum;
}

/* Circular complex noise of autocorrelation r has a square of 2 r^2 (Isserlis 1918). */
static double noise_of_square(const struct measure_rds_pulse *p)
{
  double sum = 2.0;
  for (size_t i = 1; i <= 8 * NEIGHBOURS; i++) {
    const double r = correlation(p, i * MEASURE_RDS_STEPS / 8) / p->energy;
    sum += 4.0 * r * r * cos(2.0 * PI * (double)i / 8.0);
  }
  return sum;
}

void measure_rds_pulse_fill(struct measure_rds_pulse *pulse)
{
  for (size_t i = 0; i < COUNT + 2; i++) {
    const double x = 0.25 - MEASURE_RDS_SUPPORT + (double)i / MEASURE_RDS_STEPS;
    pulse->table[i] = (float)(half(x) - half(x - 0.5));
  }
  pulse->energy = correlation(pulse, 0);
  pulse->mean = pulse->first = 0.0;
  for (size_t i = 0; i < PHASES; i++) {
    const double square = mean_square(pulse, i * MEASURE_RDS_STEPS / PHASES);
    pulse->mean += square / PHASES;
    pulse->first += square * cos(2.0 * PI * (double)i / PHASES) / PHASES;
  }
  pulse->noise = noise_of_square(pulse);
}
