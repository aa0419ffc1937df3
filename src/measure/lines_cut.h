/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A carrier that jumps during a search for lines (measure/steps.h). A record that holds the jump
 * shows lines of neither place, and of none. Lines are those of one stretch between jumps: what was
 * found before is forgotten, unless less is left of the capture. All searches of one capture that
 * are fed without gaps so come to the same stretch. */
#ifndef SIDECOMB_MEASURE_LINES_CUT_H
#define SIDECOMB_MEASURE_LINES_CUT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <sidecomb/lines.h>

/* Of what is gathered what is left where the carrier jumps: frames, the first one, and where the
 * carrier is in it. */
struct lines_piece {
  size_t first, frames;
  double stretch_start; /* from the first frame fed, of the stretch that it is of */
  bool enough;          /* no more of the capture is wanted */
  bool goes_on;         /* it is of the stretch that was searched before */
  struct sc_quantity carrier_hz;
};

/* A copy of one. */
struct lines_kept {
  double *values;
  size_t frames;
  uint64_t start; /* from the first frame fed */
  struct sc_quantity carrier_hz;
};

/* All that is being gathered; the carrier is not told. */
struct lines_piece lines_whole(const struct sc_lines *lines);
/* True: the carrier jumps in what is being gathered; else the piece is all of it. */
bool lines_find_jumps(const struct sc_lines *lines, struct lines_piece *piece);
/* True: the carrier jumps in what was gathered, which is not to be looked at, and what is gathered
 * next was prepared. */
bool lines_cut_at_jumps(struct sc_lines *lines);
/* As long as no whole record has come, the longest stretch without a gap is kept; where memory is
 * short it is lost. */
void lines_keep_piece(struct sc_lines *lines, const struct lines_piece *piece);
/* False: no memory. */
bool lines_copy_piece(const struct sc_lines *lines, const struct lines_piece *piece,
                      struct lines_kept *kept);
void lines_forget_partial(struct sc_lines *lines);

#endif
