/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What real samples in one or two channels are: IQ, the composite, or audio. */
#ifndef SIDECOMB_MEASURE_KIND_H
#define SIDECOMB_MEASURE_KIND_H

#include <stddef.h>

#include <sidecomb/capture.h>
#include <sidecomb/error.h>

struct measure_kind {
  enum sc_kind kind; /* SC_KIND_UNDECIDED: the evidence leaves it open */
  unsigned channel;  /* of a composite in two channels: 0 left, 1 right */
  char reason[256];  /* the evidence with its numbers, a sentence without full stop */
};

/* `samples`: frames * channels floats (1 or 2 channels, interleaved), a second or less from
 * the start of the capture. Allocates and frees a workspace of O(frames). Fails with
 * SC_NO_MEMORY only. */
enum sc_error measure_kind(const float *samples, size_t frames, unsigned channels, double rate_hz,
                           struct measure_kind *result);

#endif
