/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* xoshiro256++ and a ziggurat for Gaussian values; sources in random.h. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdbool.h>

#include "signal/random.h"

/* Where the base layer's tail begins and the area of each layer, for 256 layers (Marsaglia and
 * Tsang, section 2). */
static const double tail_start = 3.6541528853610088;
static const double layer_area = 4.92867323399e-3;

static uint64_t splitmix64(uint64_t *state)
{
  *state += UINT64_C(0x9e3779b97f4a7c15);
  uint64_t z = *state;
  z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
  z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
  return z ^ (z >> 31);
}

static uint64_t rotate_left(uint64_t x, int k)
{
  return (x << k) | (x >> (64 - k));
}

static double bell(double x)
{
  return exp(-0.5 * x * x);
}

static void fill_layers(struct signal_random *random)
{
  double *edge = random->edge;
  /* the base layer is as wide as a rectangle of its whole area, tail included, would be */
  edge[0] = layer_area / bell(tail_start);
  edge[1] = tail_start;
  for (size_t i = 2; i < SIGNAL_ZIGGURAT_LAYERS; i++)
    edge[i] = sqrt(-2 * log(layer_area / edge[i - 1] + bell(edge[i - 1])));
  edge[SIGNAL_ZIGGURAT_LAYERS] = 0;
  for (size_t i = 0; i <= SIGNAL_ZIGGURAT_LAYERS; i++)
    random->height[i] = bell(edge[i]);
}

void signal_random_seed(struct signal_random *random, uint64_t seed)
{
  for (size_t i = 0; i < 4; i++)
    random->state[i] = splitmix64(&seed);
  fill_layers(random);
}

uint64_t signal_random_next(struct signal_random *random)
{
  uint64_t *s = random->state;
  const uint64_t result = rotate_left(s[0] + s[3], 23) + s[0];
  const uint64_t t = s[1] << 17;
  s[2] ^= s[0];
  s[3] ^= s[1];
  s[1] ^= s[2];
  s[0] ^= s[3];
  s[2] ^= t;
  s[3] = rotate_left(s[3], 45);
  return result;
}

double signal_random_uniform(struct signal_random *random)
{
  return (double)(signal_random_next(random) >> 11) * 0x1p-53;
}

/* Marsaglia's exact method for the normal tail beyond tail_start. */
static double tail(struct signal_random *random)
{
  for (;;) {
    const double x = -log(1 - signal_random_uniform(random)) / tail_start;
    const double y = -log(1 - signal_random_uniform(random));
    if (2 * y > x * x)
      return tail_start + x;
  }
}

/* The rare cases: the base layer's tail, and the wedge between a layer and the curve. */
static bool settle(struct signal_random *random, size_t layer, double *x)
{
  if (layer == 0) {
    *x = tail(random);
    return true;
  }
  const double low = random->height[layer], high = random->height[layer + 1];
  return low + (high - low) * signal_random_uniform(random) < bell(*x);
}

double signal_random_gauss(struct signal_random *random)
{
  for (;;) {
    const uint64_t bits = signal_random_next(random);
    const size_t layer = bits & (SIGNAL_ZIGGURAT_LAYERS - 1);
    const double sign = bits & 0x100 ? -1 : 1;
    double x = (double)(bits >> 11) * 0x1p-53 * random->edge[layer];
    if (x < random->edge[layer + 1] || settle(random, layer, &x))
      return sign * x;
  }
}

void signal_random_add(struct signal_random *random, double deviation, double *values, size_t count)
{
  for (size_t i = 0; i < count; i++)
    values[i] += deviation * signal_random_gauss(random);
}
