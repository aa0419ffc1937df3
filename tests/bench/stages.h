/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The stages of a whole report, each fed alone with what it gets there. */
#ifndef SIDECOMB_TESTS_BENCH_STAGES_H
#define SIDECOMB_TESTS_BENCH_STAGES_H

#include <stddef.h>
#include <stdint.h>

enum { STAGES_BLOCK = 1 << 15 }; /* frames of the capture */

/* A capture as codes, `blocks` of STAGES_BLOCK frames that come round and round. */
struct stages_capture {
  const int16_t *codes;
  size_t blocks;
  double rate_hz, carrier_hz;
};

/* What a source does to fresh samples of 16 bits: looks for clipped ones, adds up the power. */
void stages_scan(float *iq, size_t frames);

/* Prints what each stage costs over `blocks` of the capture, in ns for a frame of the capture
 * against `bare_ns`. Returns the sum over all stages, in ns. */
double stages_say(const struct stages_capture *capture, size_t blocks, double bare_ns);

#endif
