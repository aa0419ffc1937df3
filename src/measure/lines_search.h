/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The line finder's state: lines.c gathers and follows, lines_list.c lists. */
#ifndef SIDECOMB_MEASURE_LINES_SEARCH_H
#define SIDECOMB_MEASURE_LINES_SEARCH_H

#include <sidecomb/lines.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "measure/lines_apart.h"
#include "measure/lines_course.h"
#include "measure/lines_cut.h"
#include "measure/lines_frames.h"
#include "measure/lines_record.h"
#include "measure/lines_track.h"

/* The whole record that is looked at, perhaps by another thread: of all below only `settings`,
 * this and what is named there belong to it meanwhile. */
struct look {
  bool fresh, exact;
  bool turns; /* the carrier's drift is turned back */
  struct lines_turn turn;
  size_t carried;
  uint64_t start;
};

struct sc_lines {
  struct sc_lines_settings settings;
  const struct measure_apart *apart; /* NULL: a record is looked at at once */
  bool busy;                         /* `look` was started there */
  struct look look; /* uses frames, best, covered, records, start, record, tracks and still */
  size_t channels;
  struct lines_frames frames; /* of the record being gathered */
  size_t filled, carried;     /* carried: of the filled, those that the last record had as well */
  struct lines_kept best;     /* of a cut record, as long as no whole one has come; gaps are rare */
  bool jumped, stopped;       /* the carrier: lines are of one stretch; and no more of it comes */
  double stretch_start;       /* its first frame */
  bool fresh;                 /* the record being gathered shares nothing with the last */
  bool exact;                 /* all samples came in double precision */
  uint64_t skip, fed, left_out, covered, records;
  uint64_t gathered; /* whole records that share nothing, measured or not */
  uint64_t start;    /* first frame of the last fitted record */
  struct lines_record *record;
  struct lines_tracks *tracks;
  struct sc_tone *tones;
  struct lines_course course; /* of the carrier, where it is told */
  uint64_t turned;            /* records turned back by it */
  /* The records as they are, from the first one on that is turned back; NULL before. */
  struct lines_record *still;
  struct lines_tracks *still_tracks;
  uint64_t still_records;
};

/* Waits for the look at the last record. */
void lines_settle(struct sc_lines *lines);
/* All that was found. */
void lines_forget(struct sc_lines *lines);
/* Of the whole capture, as far as can be told; 0: unknown. */
uint64_t lines_expected(const struct sc_lines *lines);
/* What is gathered next begins with the second half of what was gathered (`half`), or anew. */
void lines_begin(struct sc_lines *lines, bool half);
/* Of so many frames, those that a record may have. */
size_t lines_even_length(uint64_t frames);
/* Records of n frames as the settings want them. */
enum sc_error lines_create_record(const struct sc_lines_settings *settings, size_t n,
                                  struct lines_record **record);
/* The chance of a false line is stated for the part that was asked for: in the whole spectrum. */
double lines_chance(const struct sc_lines *lines);

#endif
