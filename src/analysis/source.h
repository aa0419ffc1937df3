/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* State of a source, shared by its opening and its reading. */
#ifndef SIDECOMB_ANALYSIS_SOURCE_H
#define SIDECOMB_ANALYSIS_SOURCE_H

#include <sidecomb/capture.h>

#include "analysis/corrector.h"
#include "analysis/sampletype.h"
#include "analysis/watch.h"
#include "capture/container.h"
#include "capture/scan.h"

enum {
  SOURCE_BLOCK_FRAMES_MAX = 1 << 20, /* what sc_source_read promises */
  SOURCE_CHUNK_FLOATS = 1 << 15,     /* moved at a time: stays in the cache between steps */
};

struct sc_source {
  struct capture *capture;
  struct sc_source_info info; /* at the first frame of the selected part */
  struct sc_source_info now;  /* at the last block */
  struct capture_range range;
  uint64_t start, end; /* the selected part in the container's frames; end UINT64_MAX: open */
  uint64_t position;   /* next frame to deliver, in the container's frames */
  uint64_t input;      /* next frame to fetch; ahead of `position` under correction */
  uint64_t resume;     /* where the last block ended */
  bool broken;         /* the next block does not follow the last one */
  bool swap_iq;
  unsigned offset;                       /* of the selected floats in a frame of the container */
  const struct capture_segment *segment; /* of the last block */
  double clock_factor;                   /* corrected over nominal */
  double given_centre_hz;                /* by the user; 0: as the container says */
  float *block;                          /* block_frames * info.channels */
  size_t block_frames;
  float *chunk;    /* SOURCE_CHUNK_FLOATS, as the container delivers them */
  float *evidence; /* frames that were read ahead of a stream that cannot seek */
  size_t evidence_frames, evidence_used;
  struct corrector *corrector; /* NULL: samples are delivered as they are */
  struct watch watch;
  struct sampletype type;
  struct sc_notices notices; /* made by the opening */
};

/* Takes over what the container says of the next frame's segment. */
void source_enter(struct sc_source *source);
/* Next frames as the container delivers them; ahead-read ones first. */
enum sc_error source_fetch(struct sc_source *source, float *samples, size_t frames, size_t *got,
                           struct sc_message *message);
/* Fetches into `out`, picked, scanned and watched; what lies outside the selected part is not
 * counted. Moves source->input. */
enum sc_error source_take(struct sc_source *source, float *out, size_t frames, size_t *got,
                          struct sc_block *tally, struct sc_message *message);

#endif
