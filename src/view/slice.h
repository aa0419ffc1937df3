/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The spectrum of one passage of a capture, made block by block.
 *
 * A narrower span or a finer resolution makes it read the passage again, as much of it as
 * the resolution needs: the zoom is real. */
#ifndef SIDECOMB_VIEW_SLICE_H
#define SIDECOMB_VIEW_SLICE_H

#include <stdbool.h>

#include <sidecomb/capture.h>
#include <sidecomb/error.h>

#include "view/model.h"

/* What is to be shown. */
struct view_request {
  enum view_id view;
  double centre_hz, span_hz, rbw_hz;
  enum sc_window window;
  double window_parameter;
  double from_s, length_s; /* the passage */
  bool follow;             /* goes along with time: forgets what is older than length_s ... */
  double until_s;          /* ... and has come this far; live: ignored, the newest counts */
  bool expected;           /* on air: also what the composite makes ... */
  double noise_dbfs_hz;    /* ... with noise of this density; NAN: not known */
  bool course;             /* rows over time in place of one trace */
  double channel_hz;       /* of the transmitter; NAN: not known */
};

/* Blocks for a slice: a file's own source, or what has come in live. `read` fills the block
 * and may say `frames == 0`: nothing more now. `seek` NULL: cannot. */
struct view_blocks {
  void *context;
  enum sc_error (*read)(void *context, size_t most, struct sc_block *block);
  enum sc_error (*seek)(void *context, uint64_t frame);
  const struct sc_source_info *info;
  /* Live, may be NULL: goes back so many frames from the newest, or as far as they are kept. */
  void (*go_back)(void *context, uint64_t frames);
};

struct view_slice;
/* `blocks` is copied. NULL: memory is short. */
struct view_slice *view_slice_create(const struct view_blocks *blocks);
/* Starts afresh where the request differs from the last one, goes on where only `until_s`
 * does. */
void view_slice_ask(struct view_slice *slice, const struct view_request *request);
/* Reads and feeds one block. False: nothing to do until the next request or block. */
bool view_slice_step(struct view_slice *slice);
/* The spectrum so far; valid until the next call on the slice. */
void view_slice_result(struct view_slice *slice, struct view_spectrum *spectrum);
/* Accepts NULL. */
void view_slice_destroy(struct view_slice *slice);

#endif
