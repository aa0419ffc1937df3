/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The scan runs over every sample of a capture, so each part of it is one loop without
 * branches that the compiler can turn into vector code. */
#include <config.h>

#include "capture/scan.h"

#include <math.h>

#include "common/kernel.h"

enum {
  LANES = 64,  /* independent sums, so that no order of additions is imposed; a loop over fewer
                  would be unrolled, and then not made vectors of */
  STRIP = 2048 /* floats: stays in the first-level cache, and counts fit in 32 bits */
};

static inline uint32_t is_absurd(float sample)
{
  return !(fabsf(sample) <= CAPTURE_ABSURD);
}

SC_KERNEL static uint32_t mend(float *samples, size_t count, unsigned channels)
{
  uint32_t invalid = 0;
  if (channels == 1)
    for (size_t i = 0; i < count; i++)
      invalid += is_absurd(samples[i]);
  else
    for (size_t i = 0; i + 1 < count; i += 2)
      invalid += is_absurd(samples[i]) | is_absurd(samples[i + 1]);
  for (size_t i = 0; invalid > 0 && i < count; i++)
    samples[i] = is_absurd(samples[i]) ? 0 : samples[i];
  return invalid;
}

SC_KERNEL static uint32_t count_ends(const float *samples, size_t count, unsigned channels,
                                     float low, float high)
{
  uint32_t clipped = 0;
  if (channels == 1)
    for (size_t i = 0; i < count; i++)
      clipped += (uint32_t)(samples[i] == low) | (uint32_t)(samples[i] == high);
  else
    for (size_t i = 0; i + 1 < count; i += 2)
      clipped += (uint32_t)(samples[i] == low) | (uint32_t)(samples[i] == high) |
                 (uint32_t)(samples[i + 1] == low) | (uint32_t)(samples[i + 1] == high);
  return clipped;
}

/* Returns the largest magnitude. */
SC_KERNEL static float add_energy(const float *samples, size_t count, struct capture_scan *scan)
{
  float sums[LANES] = {0}, peaks[LANES] = {0};
  size_t i = 0;
  for (; i + LANES <= count; i += LANES)
    for (size_t lane = 0; lane < LANES; lane++) {
      float sample = samples[i + lane], magnitude = fabsf(sample);
      sums[lane] += sample * sample;
      peaks[lane] = magnitude > peaks[lane] ? magnitude : peaks[lane];
    }
  for (size_t lane = 0; i < count; i++, lane++) {
    sums[lane] += samples[i] * samples[i];
    peaks[lane] = fabsf(samples[i]) > peaks[lane] ? fabsf(samples[i]) : peaks[lane];
  }
  float peak = 0;
  for (size_t lane = 0; lane < LANES; lane++) {
    scan->energy += (double)sums[lane];
    peak = peaks[lane] > peak ? peaks[lane] : peak;
  }
  scan->peak = peak > scan->peak ? peak : scan->peak;
  return peak;
}

void capture_scan(float *samples, size_t frames, unsigned channels,
                  const struct capture_range *range, struct capture_scan *scan)
{
  const float nearer_end = fminf(fabsf(range->low), fabsf(range->high));
  size_t left = frames * channels;
  while (left > 0) {
    size_t count = left < STRIP ? left : STRIP;
    if (range->is_float)
      scan->invalid += mend(samples, count, channels);
    if (add_energy(samples, count, scan) >= nearer_end)
      scan->clipped += count_ends(samples, count, channels, range->low, range->high);
    samples += count;
    left -= count;
  }
}
