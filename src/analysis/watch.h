/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Keeps an eye on the level while samples pass, and says in notices what was odd. */
#ifndef SIDECOMB_ANALYSIS_WATCH_H
#define SIDECOMB_ANALYSIS_WATCH_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <sidecomb/capture.h>

#include "capture/scan.h"

/* A change between neighbouring windows that is told. An FM carrier's level is steady, so a
 * step comes from a gain control, a switch, or lost samples. Common practice, no source. */
#define WATCH_JUMP_DB 3.0
#define WATCH_WINDOW_S 0.02

struct watch {
  double rate_hz;
  bool steady;          /* IQ: the level is expected to stay; program material's is not */
  size_t window_frames; /* WATCH_WINDOW_S */
  size_t filled;        /* frames in the current window */
  double energy;        /* of the current window */
  double last[2];       /* mean power of the window before, and of the one before that */
  size_t history;       /* how many of `last` are valid */
  uint64_t seen;        /* frames before this one were watched; read again, they do not count */
  uint64_t frames;
  struct capture_scan total;
  uint64_t jumps;
  double jump_at_s, jump_from_db, jump_to_db; /* the first one */
  uint64_t empty_windows;                     /* of exact zeros */
  double empty_at_s;
};

void watch_start(struct watch *watch, double rate_hz, bool steady);
/* Most frames that may be added at once, so that windows stay exact. */
size_t watch_room(const struct watch *watch);
/* `scan` holds these frames alone; `first` is their index in the selected part. */
void watch_add(struct watch *watch, uint64_t first, size_t frames, const struct capture_scan *scan);
/* Levels on both sides of a gap are not compared. */
void watch_break(struct watch *watch);
void watch_notices(const struct watch *watch, const struct sc_source_info *info,
                   struct sc_notices *notices);

#endif
