/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Random numbers of the tests: the same sequence on every machine and in any language. */
#include "support/random.h"

#include <math.h>

#define PI 3.14159265358979323846

uint64_t support_random(uint64_t *state)
{
  *state += UINT64_C(0x9e3779b97f4a7c15);
  uint64_t z = *state;
  z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
  z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
  return z ^ (z >> 31);
}

double support_uniform(uint64_t *state)
{
  int64_t value = (int64_t)(support_random(state) >> 40) - (INT64_C(1) << 23);
  return (double)value / (double)(INT64_C(1) << 23);
}

/* (0, 1] from 53 bits */
static double positive(uint64_t *state)
{
  return ((double)(support_random(state) >> 11) + 1) / 9007199254740992.0;
}

double support_normal(uint64_t *state)
{
  double radius = sqrt(-2 * log(positive(state)));
  return radius * cos(2 * PI * positive(state));
}

void support_normal_pair(uint64_t *state, double pair[2])
{
  double radius = sqrt(-2 * log(positive(state)));
  double angle = 2 * PI * positive(state);
  pair[0] = radius * cos(angle);
  pair[1] = radius * sin(angle);
}

void support_pink_start(struct support_pink *pink, double rate_hz)
{
  for (int k = 0; k < SUPPORT_OCTAVES; k++) {
    const double keep = exp(-2 * PI * 3 * exp2(k) / rate_hz);
    pink->state[k] = 0;
    pink->keep[k] = keep;
    pink->fresh[k] = sqrt(1 - keep * keep) * sqrt(3.0);
  }
}

double support_pink(struct support_pink *pink, uint64_t *random)
{
  double sum = 0;
  for (int k = 0; k < SUPPORT_OCTAVES; k++) {
    pink->state[k] = pink->keep[k] * pink->state[k] + pink->fresh[k] * support_uniform(random);
    sum += pink->state[k];
  }
  return sum;
}
