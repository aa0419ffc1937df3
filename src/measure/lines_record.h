/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* One coherent record of the line finder: its transform, what it adds to the averaged power in
 * which lines are looked for, and the tones fitted in it. */
#ifndef SIDECOMB_MEASURE_LINES_RECORD_H
#define SIDECOMB_MEASURE_LINES_RECORD_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/error.h>

#include "dsp/peaks.h"
#include "dsp/tone.h"
#include "measure/lines_course.h"
#include "measure/lines_frames.h"

enum {
  LINES_CANDIDATES_MAX = DSP_TONES_MAX,
  LINES_RECORDS_MAX = 32,
  LINES_SHORTEST = DSP_PLATEAU_SHORTEST
};

/* In bins, negative below zero: lines are wanted from `lower` to `upper` (all: upper <= lower), not
 * between `without_lower` and `without_upper`. */
struct lines_band {
  double lower, upper, without_lower, without_upper;
};

struct lines_record;
/* `single`: the samples are in single precision, and so the transform may be.
 */
enum sc_error lines_record_create(size_t n, bool complex_input, bool single,
                                  const struct lines_band *band, struct lines_record **record);
/* Of single precision: what a record is transformed in, for frames to be gathered there. A load
 * changes them, whether they come from there or not. */
struct dsp_rows lines_record_rows(const struct lines_record *record);
/* As long as nothing is asked of the loaded record: the system may have the rows' memory. */
void lines_record_rest(struct lines_record *record);
size_t lines_record_length(const struct lines_record *record);
/* Transforms n frames (interleaved I and Q for complex input). False, and nothing is changed,
 * if they hold something that is no number. `turn`: by which complex frames in single precision are
 * turned back, or NULL. */
bool lines_record_load(struct lines_record *record, const struct lines_frames *frames, bool exact,
                       const struct lines_turn *turn);
/* Adds the loaded record to the averaged power. */
void lines_record_average(struct lines_record *record);
void lines_record_forget(struct lines_record *record);
/* Peaks of the averaged power that are worth a fit, strongest first. Noise makes many. Some are
 * not wanted themselves, but near enough to weigh on those that are. Valid until the next call of
 * any of these. */
const struct dsp_peak *lines_record_find(struct lines_record *record, size_t *count);
/* Those of its own last search, if that averaged two thirds of what there is now, or newer ones;
 * lines_record_find in between changes nothing. */
const struct dsp_peak *lines_record_recent(struct lines_record *record, size_t *count);
/* The last search, or one of lines_record_recent since the last lines_record_forget, found more
 * peaks than it has room for. */
bool lines_record_crowded(const struct lines_record *record);
/* What a tone fitted in `fitted` records, LINES_RECORDS_MAX at most, must reach on average, power
 * over noise (see struct dsp_tone), if noise is to make `false_alarm` tones in the whole spectrum.
 */
double lines_record_threshold(struct lines_record *record, size_t fitted, double false_alarm);
/* Of windows between two bins (negative below zero) the largest median power, as a tone's `noise`;
 * NAN: there is no whole window, or nothing was averaged. */
double lines_record_floor(const struct lines_record *record, double lower, double upper);
/* A tone to fit, from a peak of the last search. */
struct dsp_tone lines_record_tone(const struct lines_record *record, const struct dsp_peak *peak);
/* Roughly, which is enough to part tones from noise; then those that are tones. */
void lines_record_fit(const struct lines_record *record, struct dsp_tone *tones, size_t count);
void lines_record_refine(const struct lines_record *record, struct dsp_tone *tones, size_t count);
void lines_record_destroy(struct lines_record *record);

#endif
