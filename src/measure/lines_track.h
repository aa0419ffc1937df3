/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines followed from record to record, and what all records together say of one. */
#ifndef SIDECOMB_MEASURE_LINES_TRACK_H
#define SIDECOMB_MEASURE_LINES_TRACK_H

#include <sidecomb/lines.h>

#include "measure/lines_record.h"

enum { LINES_TRACKS_MAX = LINES_CANDIDATES_MAX };

/* What is kept of a tone that was fitted (dsp/tone.h): by the ten thousand, so in few bytes. */
struct lines_fit {
  double bin, re, im;
  uint64_t start; /* first frame of the record */
  float noise;
  float bin_variance, level_variance, phase_variance;
};

struct lines_tracks {
  size_t count;
  /* of each track */
  double bins[LINES_TRACKS_MAX]; /* where it was fitted last */
  unsigned fitted[LINES_TRACKS_MAX];
  double power[LINES_TRACKS_MAX], against[LINES_TRACKS_MAX]; /* sums over its fits: of the tone, and
                                                                of what it must stand over */
  struct lines_place {
    double bin;
    size_t track;
  } places[LINES_TRACKS_MAX]; /* the same by frequency */
  /* of the record at hand */
  struct dsp_tone tones[LINES_TRACKS_MAX];
  size_t owners[LINES_TRACKS_MAX];
  /* The first fit of each track, then the second: what no record filled takes no memory. */
  struct lines_fit fits[LINES_RECORDS_MAX][LINES_TRACKS_MAX];
};

/* Fits the lines that stand among the peaks in the loaded record. What turns out to be no tone at
 * `false_alarm`, or is no peak any more, is forgotten. */
void lines_tracks_update(struct lines_tracks *tracks, struct lines_record *record,
                         double false_alarm, uint64_t start);
/* The track that a peak at `bin` belongs to, or LINES_TRACKS_MAX. */
size_t lines_tracks_at(const struct lines_tracks *tracks, double bin);
/* Whether the tone stands `ratio` high over the noise, and over what its own fits leave. */
bool lines_tracks_stands(const struct lines_tracks *tracks, size_t track, double ratio);
/* What the records of a track say together. `length` is that of a record. */
struct sc_tone lines_tracks_combine(const struct lines_tracks *tracks, size_t track,
                                    const struct sc_lines_settings *settings, size_t length);

#endif
