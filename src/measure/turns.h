/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Which stretches of a long stream are looked at: its beginning as a whole, then one of four, so
 * that what is measured goes on to follow the capture at a quarter of the cost. */
#ifndef SIDECOMB_MEASURE_TURNS_H
#define SIDECOMB_MEASURE_TURNS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { MEASURE_TURNS_OF = 4 };

/* All zero at first, but for `whole` and `each`. */
struct measure_turns {
  uint64_t whole; /* frames at the beginning that are all looked at */
  uint64_t each;  /* frames of a stretch */
  uint64_t at;
};

struct measure_turn {
  size_t frames; /* of those at hand, that go alike */
  bool on;       /* they are to be looked at */
  bool first;    /* after some that were not */
};

/* Of the next `frames`, which are passed. */
struct measure_turn measure_turns_next(struct measure_turns *turns, size_t frames);

#endif
