/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Live samples: a thread reads them as they come into a ring, from which several readers
 * take what they can. A reader that is too slow loses the oldest, never the newest, so that
 * no delay builds up. */
#ifndef SIDECOMB_VIEW_INTAKE_H
#define SIDECOMB_VIEW_INTAKE_H

#include <pthread.h>

#include "view/slice.h"

struct view_intake;
/* Called from the reading thread after samples came in, or the end or trouble. */
typedef void view_intake_notify(void *context);

/* Starts reading; the source is used by that thread alone until stop. NULL: memory is short
 * or no thread can be started. */
struct view_intake *view_intake_start(struct sc_source *source, view_intake_notify *notify,
                                      void *context);
/* Ends the thread and frees all. Accepts NULL. */
void view_intake_stop(struct view_intake *intake);
/* Whether no more will come in. */
bool view_intake_ended(struct view_intake *intake);
/* Frames that have come in so far. */
uint64_t view_intake_frames(struct view_intake *intake);
/* For how long nothing has come in; 0 once it has ended. */
double view_intake_silent_s(struct view_intake *intake);
/* Copies the line about what went wrong; false: nothing did. */
bool view_intake_trouble(struct view_intake *intake, struct sc_message *message);

/* How strong it comes in, over the last whole second of samples. */
struct view_intake_level {
  uint64_t clipped; /* frames at either end of the range */
  double peak_dbfs; /* NAN: not a whole second yet, or nothing but zeros */
};
void view_intake_level(struct view_intake *intake, struct view_intake_level *level);

/* One reader of the ring. */
struct view_intake_reader {
  struct view_intake *intake;
  uint64_t next;             /* frame */
  uint64_t clipped, invalid; /* of the whole intake when it last read */
  float *samples;            /* its copy of the last block */
  size_t room;               /* frames that `samples` holds */
  uint64_t lag;              /* frames that it may be behind before it skips to the newest */
  uint64_t reach;            /* the same now: more while it reads what it went back to */
  uint64_t skipped;          /* frames; see view_intake_skipped */
};
/* `lag_s`: what the reader may be behind the newest sample. 0: half of what is kept; who measures
 * is late at times, but shall not miss anything. */
bool view_intake_reader_open(struct view_intake_reader *reader, struct view_intake *intake,
                             size_t room, double lag_s);
void view_intake_reader_close(struct view_intake_reader *reader);
/* A struct view_blocks read function; the context is the reader. Never waits. */
enum sc_error view_intake_read(void *reader, size_t most, struct sc_block *block);
/* Frames that the reader left out because it was too slow; from any thread. */
uint64_t view_intake_skipped(const struct view_intake_reader *reader);
/* The reader goes back to the oldest that is kept, so many frames (the last seconds, within 64 MB),
 * and from there loses as little as can be. */
uint64_t view_intake_keep_all(struct view_intake_reader *reader);
/* Likewise: the reader goes back, or on, to so many frames before the newest. */
void view_intake_go_back(void *reader, uint64_t frames);

#endif
