/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/tops.h"

#include <math.h>
#include <string.h>

enum {
  MANTISSA_LEFT = 15, /* bits of a float below those that part an octave into 256 */
  LOWEST = (127 - 24) << 8,
  TOP = 2,
  BELOW = 6,
  FILLED = 64, /* classes below, of which half must hold something */
  LEAST = 100  /* samples at the top: fewer may be chance */
};
/* Of the highest magnitude: what is lower is not in the classes that are looked at. */
static const float near_share = 0.8F;
static const double most_below = 1.0 / 3.0; /* of what is at the top; of a sine it is 1 or more */

static size_t class_of(float magnitude_or_not)
{
  uint32_t bits;
  memcpy(&bits, &magnitude_or_not, sizeof bits);
  const int at = (int)((bits & 0x7fffffffU) >> MANTISSA_LEFT) - LOWEST;
  return at < 0 ? 0 : at < MEASURE_TOPS_CLASSES ? (size_t)at : MEASURE_TOPS_CLASSES - 1;
}

void measure_tops_add(struct measure_tops *tops, const float *samples, size_t stride, size_t frames)
{
  for (size_t i = 0; i < frames; i++) {
    const float x = samples[i * stride], magnitude = fabsf(x);
    float *const most = &tops->most[x < 0.0F];
    if (magnitude < near_share * *most)
      continue;
    *most = magnitude > *most ? magnitude : *most;
    tops->count[x < 0.0F][class_of(x)]++;
  }
  tops->frames += frames;
}

static double flat_of(const uint64_t *count)
{
  size_t top = MEASURE_TOPS_CLASSES - 1, filled = 0;
  uint64_t above = 0, below = 0;
  while (top > 0 && count[top] == 0)
    top--;
  if (top < TOP + FILLED)
    return 0.0;
  for (size_t i = 0; i < TOP; i++)
    above += count[top - i];
  for (size_t i = 0; i < FILLED; i++) {
    const uint64_t here = count[top - TOP - i];
    filled += here > 0;
    below += i < BELOW ? here : 0;
  }
  const double most = most_below * (double)above;
  return above >= LEAST && filled >= FILLED / 2 && (double)below < most ? (double)above : 0.0;
}

double measure_tops_flat(const struct measure_tops *tops)
{
  const double flat = flat_of(tops->count[0]) + flat_of(tops->count[1]);
  return tops->frames > 0 ? flat / (double)tops->frames : 0.0;
}
