/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A carrier that moves to and fro during the records of a search for lines: how surely, and by what
 * a record is then turned back. Its course within a record is seen through windows
 * (measure/wander.h) of a third of a second, which let a thousandth of a note of 30 Hz through and
 * less of higher ones, or shorter ones, where a faster movement shows that no such note hides. */
#ifndef SIDECOMB_MEASURE_LINES_WANDER_H
#define SIDECOMB_MEASURE_LINES_WANDER_H

#include <stdbool.h>
#include <stddef.h>

#include "dsp/hops.h"
#include "measure/wander.h"

enum { LINES_WANDER_WINDOWS = 4, LINES_TURN_PIECES = 128 };

struct lines_wander {
  bool sure;
  double window_s; /* then, through which it is followed */
  bool repeats;    /* to and fro within a record, which makes lines of lines that go along */
  double noise_hz; /* of the mean of all windows so far */
  struct measure_wander seen[LINES_WANDER_WINDOWS]; /* each window half as long as the one before */
};

/* In bins, and cycles from the record's middle: where the carrier is, from where it is turned back
 * to, at the ends of equal pieces of the record. */
struct lines_pieces {
  double bins[LINES_TURN_PIECES + 1], cycles[LINES_TURN_PIECES + 1];
  double lowest, highest;
};

void lines_wander_reset(struct lines_wander *wander);
/* A record was gathered, about its middle; a carrier that stands still is at first_hz. True: by now
 * the carrier surely wanders, by so much that it matters. */
bool lines_wander_note(struct lines_wander *wander, const struct dsp_hops *khz, double middle_s,
                       double record_s, double first_hz);
/* Of the first `share` of what was gathered in `record_s`. */
void lines_wander_pieces(const struct lines_wander *wander, const struct dsp_hops *khz,
                         double record_s, double share, double first_hz,
                         struct lines_pieces *pieces);

#endif
