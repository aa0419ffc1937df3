/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Small sound files for tests: written by our writer, or byte by byte. */
#ifndef SIDECOMB_TESTS_CAPTURE_SOUNDS_H
#define SIDECOMB_TESTS_CAPTURE_SOUNDS_H

#include <stddef.h>
#include <stdint.h>

#include "capture/write.h"

struct sounds_kind {
  enum capture_write_container container;
  unsigned bits;
  const char *name;  /* of the file */
  const char *words; /* in the format that is told */
};
extern const struct sounds_kind sounds_kinds[];
extern const size_t sounds_kind_count;

/* Writes `frames` frames of 2 channels: sample k of frame i is sounds_value(i, k). Returns
 * the path. */
const char *sounds_write(const struct sounds_kind *kind, size_t frames, double rate_hz);
double sounds_value(size_t frame, unsigned channel);

/* A PCM WAV header as the RIFF specification (IBM and Microsoft, 1991) lays it out, 44 bytes,
 * followed by `data_bytes` bytes 0x00, 0x01, ... whatever the header claims. */
struct sounds_wav {
  uint32_t claimed_bytes, rate;
  uint16_t channels, bits;
  size_t data_bytes;
};
const char *sounds_wav(const char *name, const struct sounds_wav *wav);

#endif
