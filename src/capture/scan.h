/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* One pass over fresh samples: what a converter or a file did to them. */
#ifndef SIDECOMB_CAPTURE_SCAN_H
#define SIDECOMB_CAPTURE_SCAN_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct capture_range {
  float low, high; /* value of a sample at either end of the range */
  bool is_float;   /* NaN, infinity and absurd values can occur */
};

struct capture_scan {
  uint64_t clipped; /* frames with a sample exactly at either end of the range */
  uint64_t invalid; /* frames with NaN, infinity, or beyond CAPTURE_ABSURD */
  double energy;    /* sum of squares over all components */
  float peak;       /* largest magnitude */
};

/* 180 dB over full scale: no converter yields that, and squares of it still fit a float. What
 * lies beyond comes from a wrong type or from damage, and is treated like NaN. */
#define CAPTURE_ABSURD 1e9f

/* Adds `frames` frames of 1 or 2 floats to `scan`, and replaces invalid samples by 0. */
void capture_scan(float *samples, size_t frames, unsigned channels,
                  const struct capture_range *range, struct capture_scan *scan);

#endif
