/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Raw samples in a regular file: alone, or as the data half of a SigMF pair. */
#ifndef SIDECOMB_CAPTURE_RAW_H
#define SIDECOMB_CAPTURE_RAW_H

#include "capture/container.h"
#include "capture/types.h"

struct capture_raw_layout {
  const char *path; /* "-": standard input, from where it stands */
  const struct capture_type *type;
  unsigned channels; /* as many as are interleaved; complex counts as one */
  double rate_hz;
  struct capture_segment *segments; /* their `first` set, offset_bytes still the header's length
                                       before each; NULL: one that starts at byte 0. Taken over
                                       on success */
  size_t segment_count;
  uint64_t trailing_bytes; /* after the last sample that are no samples */
  bool follow;             /* the file is still being written: a live capture */
  bool newest;             /* follow: begins a second before the file's present end */
};

enum sc_error capture_raw_open(const struct capture_raw_layout *layout, struct capture **capture,
                               struct sc_message *message);

#endif
