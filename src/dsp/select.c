/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Selection by bisection: IEEE 754 floats that are not negative have the order of their bits, so
 * narrowing the range of the bits finds the value. Each step counts without a branch, which the
 * compiler makes vectors of; a partition (C. A. R. Hoare 1961) moves fewer values, but waits for
 * a branch at each that nobody can foresee. */
#include "dsp/select.h"

#include <stdbool.h>
#include <stdint.h>
#include <string.h>

#include "dsp/simd.h"

typedef uint32_t float_bits __attribute__((may_alias));

enum { NEAR_BITS = 1 << 19 }; /* a sixteenth of an octave */
static const uint32_t infinite = 0x7f800000;

DSP_CLONES
static uint32_t count_up_to(const float_bits *values, uint32_t count, uint32_t limit)
{
  uint32_t n = 0;
  for (uint32_t i = 0; i < count; i++)
    n += values[i] <= limit;
  return n;
}

DSP_CLONES
static uint32_t greatest_up_to(const float_bits *values, uint32_t count, uint32_t limit)
{
  uint32_t greatest = 0;
  for (uint32_t i = 0; i < count; i++) {
    const uint32_t counted = values[i] & (0 - (uint32_t)(values[i] <= limit));
    greatest = counted > greatest ? counted : greatest;
  }
  return greatest;
}

/* The wanted value's bits are from `low` to `high`: so many values are below the one, and up to the
 * other. */
struct bracket {
  uint32_t low, high, below, up_to;
};

static void narrow(struct bracket *bracket, const float_bits *bits, uint32_t n, uint32_t rank,
                   uint32_t at)
{
  const uint32_t counted = count_up_to(bits, n, at);
  if (counted > rank) {
    bracket->high = at;
    bracket->up_to = counted;
  } else {
    bracket->low = at + 1;
    bracket->below = counted;
  }
}

/* Both sides of the hint are tried, a sixteenth of an octave away. */
static void start_near(struct bracket *bracket, const float_bits *bits, uint32_t n, uint32_t rank,
                       float hint)
{
  uint32_t at;
  memcpy(&at, &hint, sizeof at);
  if (at <= NEAR_BITS || at >= infinite - NEAR_BITS)
    return;
  narrow(bracket, bits, n, rank, at + NEAR_BITS);
  if (bracket->high == at + NEAR_BITS)
    narrow(bracket, bits, n, rank, at - NEAR_BITS);
}

/* By proportion, where the values lie evenly; every other time by halves, where they do not. */
static uint32_t next_try(const struct bracket *bracket, uint32_t rank, bool halve)
{
  const uint32_t width = bracket->high - bracket->low;
  if (halve)
    return bracket->low + width / 2;
  const double share =
      ((double)(rank - bracket->below) + 0.5) / (double)(bracket->up_to - bracket->below);
  return bracket->low + (uint32_t)(share * (double)width);
}

float dsp_select_near(const float *values, size_t count, size_t rank, float hint)
{
  const float_bits *bits = (const float_bits *)values;
  const uint32_t n = (uint32_t)count, wanted = (uint32_t)rank;
  struct bracket bracket = {0, infinite, 0, n};
  start_near(&bracket, bits, n, wanted, hint);
  /* one value alone between the two ends is the one */
  for (bool halve = hint == 0; bracket.low < bracket.high && bracket.up_to - bracket.below > 1;
       halve = !halve)
    narrow(&bracket, bits, n, wanted, next_try(&bracket, wanted, halve));
  const uint32_t found = greatest_up_to(bits, n, bracket.high);
  float value;
  memcpy(&value, &found, sizeof value);
  return value;
}

float dsp_select(const float *values, size_t count, size_t rank)
{
  return dsp_select_near(values, count, rank, 0);
}
