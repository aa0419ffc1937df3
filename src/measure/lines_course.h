/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Where the carrier of a modulated signal goes during the records of a search for lines.
 *
 * The demodulated frequency, which modulation moves and drift moves on, has under a taper over a
 * record a mean and a growth (dsp/taper.h) that are the carrier's alone. A record is turned back by
 * both, so that the carrier stands still in it where it was in the first record, and all lines that
 * go with it. Lines that do not go with it (of the receiver, of another oscillator) are then the
 * ones that are blurred: who turns records back also looks at them as they are. Where the carrier
 * moves by less than a fifth of a bin, or does not surely move, nothing is turned. One that moves
 * to and fro is turned back by its course instead (lines_wander.h). */
#ifndef SIDECOMB_MEASURE_LINES_COURSE_H
#define SIDECOMB_MEASURE_LINES_COURSE_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/lines.h>

#include "dsp/taper.h"
#include "measure/lines_wander.h"
#include "measure/steps.h"

/* In bins: to where a record's middle is turned back from, and how much the carrier grows over it.
 */
struct lines_turn {
  double bins, growth;
  bool first;   /* by so much that the records before, which were not turned back, are of no use */
  bool wanders; /* then it is turned back by these instead of bins and growth */
  struct lines_pieces pieces;
};

struct lines_course {
  struct dsp_taper now, next; /* of the record being gathered, and of its second half */
  struct dsp_hops now_hops, next_hops;
  struct lines_wander wander;
  bool drifts; /* surely, so far: a programme moves means as well */
  /* Of the records so far where the carrier was in the middle of each, and when. */
  size_t count;
  double mean_hz[SC_LINES_MOMENTS_MAX], middle_s[SC_LINES_MOMENTS_MAX];
  size_t in_row; /* of the last ones, surely farther and farther from the first */
  double first_hz, first_uncertainty_hz;
  double lowest, highest; /* bins that it went from there in records that were turned back */
};

void lines_course_reset(struct lines_course *course);
/* All but what is being gathered. */
void lines_course_forget(struct lines_course *course);
/* `second_half`: of the record. */
void lines_course_feed(struct lines_course *course, const float *khz, size_t frames,
                       bool second_half);
/* The record is gathered; `half`: its second half begins the next one. */
void lines_course_go_on(struct lines_course *course, bool half);
/* Of a record of so many seconds that was gathered, after the last one; whether it is to be turned
 * back. A drift is sure that one record tells, or three from one to the next, or the means of six
 * and more: where a programme hides it in each. */
bool lines_course_turn(struct lines_course *course, double middle_s, double record_s,
                       struct lines_turn *turn);
/* The same of the first `share` of what was gathered alone, which makes a record. */
bool lines_course_turn_part(struct lines_course *course, double middle_s, double record_s,
                            double share, struct lines_turn *turn);
/* Where the carrier jumps in what is gathered, by so much that lines of record_s show it. */
struct measure_steps lines_course_steps(const struct lines_course *course, double record_s);
/* Turns back the frames from `at` on of a record of n. */
void lines_turn_back(const struct lines_turn *turn, size_t n, size_t at, float *row, size_t count);
/* Tones of both kinds: the first `turned` ones from records that were turned back, the others from
 * `still_records` of the same as they are. Nearer than apart_bins they are not told apart. */
struct lines_blurs {
  size_t turned;
  uint64_t still_records;
  double bin_hz, apart_bins;
};

/* Drops what is but the blur of a tone of the other kind, and returns how many are left. Of two of
 * one level that of the records as they are is kept where three records and more say that it stays:
 * by the scatter of its frequency against the carrier's way. A tone that goes neither way (a
 * receiver's image goes against the carrier) is blurred in both: of the records as they are only
 * what stays is kept. */
size_t lines_drop_blurs(const struct lines_course *course, const struct lines_blurs *of,
                        struct sc_tone *tones, size_t count);

#endif
