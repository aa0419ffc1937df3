/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The metadata half of a SigMF recording (Signal Metadata Format, version 1). */
#ifndef SIDECOMB_CAPTURE_SIGMF_H
#define SIDECOMB_CAPTURE_SIGMF_H

#include "capture/container.h"
#include "capture/types.h"

struct capture_sigmf {
  const struct capture_type *type;
  double rate_hz;          /* 0 when not given */
  unsigned channels;       /* core:num_channels */
  char dataset[256];       /* core:dataset; empty: the name that SigMF gives */
  uint64_t offset;         /* core:offset, already taken from all indices below */
  uint64_t trailing_bytes; /* core:trailing_bytes */
  bool metadata_only;
  struct capture_segment *segments; /* sorted, the first at 0; offset_bytes: header before it */
  size_t segment_count;
  struct sc_tuning *tunings; /* of the segments, by capture_segment's `tuning` */
  size_t tuning_count;
  size_t tunings_dropped; /* settings that are unusable, or of more than CAPTURE_TUNINGS_MAX */
  struct sc_annotation *annotations;
  size_t annotation_count;
  size_t annotations_dropped; /* more than are kept, or with unusable indices */
};

enum { CAPTURE_ANNOTATIONS_MAX = 10000, CAPTURE_TUNINGS_MAX = 1024 };

/* Reads the JSON text of `length` bytes; `shown` names its file in messages. On success the
 * arrays belong to the caller (capture_sigmf_clear). */
enum sc_error capture_sigmf_parse(const char *text, size_t length, const char *shown,
                                  struct capture_sigmf *sigmf, struct sc_message *message);
void capture_sigmf_clear(struct capture_sigmf *sigmf);

#endif
