/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Components with exact phase, summed by recurrences in parallel lanes. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdlib.h>

#include "signal/bank.h"
#include "signal/clones.h"
#include "signal/lanes.h"

static const double two_pi = 6.283185307179586476925286766559;

struct component {
  double frequency_hz;
  double complex weight;
  double complex lane[SIGNAL_LANES]; /* exp(2 pi i f lane / rate) */
  double complex stride;             /* exp(2 pi i f SIGNAL_LANES / rate) */
};

struct signal_bank {
  double rate_hz;
  size_t count, capacity;
  struct component *components;
};

double signal_cycles(double frequency_hz, int64_t index, double rate_hz)
{
  const double n = (double)index;
  const double product = frequency_hz * n;
  const double rest = fma(frequency_hz, n, -product);
  return fmod((fmod(product, rate_hz) + rest) / rate_hz, 1);
}

static double complex turn(double cycles)
{
  const double angle = two_pi * cycles;
  return signal_complex(cos(angle), sin(angle));
}

enum sc_error signal_bank_create(size_t capacity, double rate_hz, struct signal_bank **bank)
{
  *bank = calloc(1, sizeof **bank);
  if (*bank == NULL)
    return SC_NO_MEMORY;
  (*bank)->rate_hz = rate_hz;
  (*bank)->capacity = capacity;
  (*bank)->components = calloc(capacity ? capacity : 1, sizeof *(*bank)->components);
  if ((*bank)->components != NULL)
    return SC_OK;
  signal_bank_destroy(*bank);
  *bank = NULL;
  return SC_NO_MEMORY;
}

void signal_bank_add(struct signal_bank *bank, double frequency_hz, double complex weight)
{
  if (weight == 0 || bank->count == bank->capacity)
    return;
  struct component *c = &bank->components[bank->count++];
  c->frequency_hz = frequency_hz;
  c->weight = weight;
  for (int i = 0; i < SIGNAL_LANES; i++)
    c->lane[i] = turn(signal_cycles(frequency_hz, i, bank->rate_hz));
  c->stride = turn(signal_cycles(frequency_hz, SIGNAL_LANES, bank->rate_hz));
}

static double complex multiply(double complex a, double complex b)
{
  return signal_complex(creal(a) * creal(b) - cimag(a) * cimag(b),
                        creal(a) * cimag(b) + cimag(a) * creal(b));
}

/* The lanes' values at the start of a block, real and imaginary parts apart. */
static void start(const struct component *c, double rate_hz, int64_t first, double *re, double *im)
{
  const double cycles = signal_cycles(c->frequency_hz, first, rate_hz);
  const double complex now = multiply(c->weight, turn(cycles));
  for (int i = 0; i < SIGNAL_LANES; i++) {
    const double complex z = multiply(now, c->lane[i]);
    re[i] = creal(z);
    im[i] = cimag(z);
  }
}

SIGNAL_CLONES
static void add_real(double *restrict re, double *restrict im, double c, double s,
                     double *restrict out, size_t rounds)
{
  signal_lanes_turn(re, im, c, s, out, rounds);
}

SIGNAL_CLONES
static void add_complex(double *restrict re, double *restrict im, double c, double s,
                        double *restrict out, size_t rounds)
{
  for (size_t r = 0; r < rounds; r++, out += 2 * SIGNAL_LANES)
    for (int i = 0; i < SIGNAL_LANES; i++) {
      const double x = re[i], y = im[i];
      out[2 * i] += x;
      out[2 * i + 1] += y;
      re[i] = c * x - s * y;
      im[i] = c * y + s * x;
    }
}

void signal_bank_sum(const struct signal_bank *bank, int64_t first, double *out, size_t count)
{
  double re[SIGNAL_LANES], im[SIGNAL_LANES];
  const size_t rounds = count / SIGNAL_LANES;
  for (size_t k = 0; k < bank->count; k++) {
    const struct component *c = &bank->components[k];
    start(c, bank->rate_hz, first, re, im);
    add_real(re, im, creal(c->stride), cimag(c->stride), out, rounds);
    for (size_t i = rounds * SIGNAL_LANES; i < count; i++)
      out[i] += re[i - rounds * SIGNAL_LANES];
  }
}

void signal_bank_sum_complex(const struct signal_bank *bank, int64_t first, double *out,
                             size_t count)
{
  double re[SIGNAL_LANES], im[SIGNAL_LANES];
  const size_t rounds = count / SIGNAL_LANES;
  for (size_t k = 0; k < bank->count; k++) {
    const struct component *c = &bank->components[k];
    start(c, bank->rate_hz, first, re, im);
    add_complex(re, im, creal(c->stride), cimag(c->stride), out, rounds);
    for (size_t i = rounds * SIGNAL_LANES; i < count; i++) {
      out[2 * i] += re[i - rounds * SIGNAL_LANES];
      out[2 * i + 1] += im[i - rounds * SIGNAL_LANES];
    }
  }
}

void signal_bank_destroy(struct signal_bank *bank)
{
  if (bank == NULL)
    return;
  free(bank->components);
  free(bank);
}
