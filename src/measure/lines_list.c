/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The list of lines: what stands in the averaged power now, each with what its records say. */
#include <math.h>
#include <stdlib.h>

#include "measure/lines_search.h"

/* Two lines closer than this make one peak (the window for finding, -6 dB: 3.5 bins). */
static const double resolution_bins = 4;

static bool asked_for(const struct sc_lines_settings *settings, double frequency_hz)
{
  if (frequency_hz > settings->without_lower_hz && frequency_hz < settings->without_upper_hz)
    return false;
  return settings->upper_hz <= settings->lower_hz ||
         (frequency_hz >= settings->lower_hz && frequency_hz <= settings->upper_hz);
}

static int by_frequency(const void *left, const void *right)
{
  const struct sc_tone *a = left, *b = right;
  return (a->frequency_hz.value > b->frequency_hz.value) -
         (a->frequency_hz.value < b->frequency_hz.value);
}

/* The lines that stand in the averaged power now, each with what its records say. */
static bool add_lines(struct sc_lines *lines, struct lines_record *record,
                      const struct lines_tracks *tracks, bool still, struct sc_lines_result *result)
{
  double chance = lines_chance(lines);
  bool listed[LINES_TRACKS_MAX] = {false}, full = false;
  size_t peak_count, length = lines_record_length(record);
  const struct dsp_peak *peaks = lines_record_find(record, &peak_count);
  for (size_t i = 0; i < peak_count; i++) {
    struct dsp_tone tone = lines_record_tone(record, &peaks[i]);
    const size_t track = lines_tracks_at(tracks, tone.found);
    if (track == LINES_TRACKS_MAX || tone.fixed || listed[track] ||
        !lines_tracks_stands(tracks, track,
                             lines_record_threshold(record, tracks->fitted[track], chance)))
      continue;
    struct sc_tone line = lines_tracks_combine(tracks, track, &lines->settings, length);
    if (!asked_for(&lines->settings, line.frequency_hz.value))
      continue;
    full = result->count == lines->settings.lines_max;
    if (full)
      break;
    line.still = still;
    listed[track] = true;
    lines->tones[result->count++] = line;
  }
  return full || lines_record_crowded(record);
}

/* Where it was in the first record. */
static struct sc_quantity carrier_of(const struct lines_course *course)
{
  return course->count > 0 ? sc_measured(course->first_hz, course->first_uncertainty_hz)
                           : sc_not_measured("nobody told where the carrier is");
}

struct still {
  struct lines_record *record;
  const struct lines_tracks *tracks;
  uint64_t records;
};

/* Then those that do not go with the carrier. */
static void add_still(struct sc_lines *lines, const struct still *still,
                      const struct lines_course *course, struct sc_lines_result *result)
{
  const double length = (double)lines_record_length(still->record);
  const struct lines_blurs blurs = {.turned = result->count,
                                    .still_records = still->records,
                                    .bin_hz = lines->settings.sample_rate_hz / length,
                                    .apart_bins = resolution_bins};
  result->full = add_lines(lines, still->record, still->tracks, true, result) || result->full;
  result->count = lines_drop_blurs(course, &blurs, lines->tones, result->count);
}

static void list_lines(struct sc_lines *lines, struct lines_record *record,
                       struct sc_lines_result *result)
{
  const double chance = lines_chance(lines);
  result->full = add_lines(lines, record, lines->tracks, false, result);
  result->threshold_db =
      10 * log10(lines_record_threshold(record, lines->records > 0 ? lines->records : 1, chance));
}

static void sort_lines(struct sc_lines *lines, size_t count)
{
  qsort(lines->tones, count, sizeof *lines->tones, by_frequency);
}

static void describe(const struct sc_lines *lines, size_t n, uint64_t start, uint64_t covered,
                     struct sc_lines_result *result)
{
  result->phase_time_s = (double)start / lines->settings.sample_rate_hz;
  result->record_s = (double)n / lines->settings.sample_rate_hz;
  result->resolution_hz = resolution_bins / result->record_s;
  result->coverage = (double)covered / (double)lines->fed;
}

static bool look_at_partial(struct sc_lines *lines, struct lines_record *record,
                            const struct lines_frames *frames, const struct lines_turn *turn)
{
  if (!lines_record_load(record, frames, lines->exact, turn))
    return false;
  lines_record_forget(record);
  lines_record_average(record);
  lines->tracks->count = 0;
  lines_tracks_update(lines->tracks, record, lines_chance(lines), 0);
  return true;
}

/* Of the n frames that make a record, of all that were followed: these have their middle a little
 * later. */
static bool turn_of_partial(const struct sc_lines *lines, size_t n, struct lines_course *course,
                            struct lines_turn *turn)
{
  const double rate_hz = lines->settings.sample_rate_hz, all_s = (double)lines->filled / rate_hz;
  const double share = (double)n / (double)lines->filled;
  if (!lines_course_turn_part(course, all_s / 2, all_s, share, turn))
    return false;
  if (turn->wanders)
    return true;
  course->first_hz -= turn->growth / all_s * (1 - share) / 2;
  turn->growth *= share * share;
  return true;
}

/* The same record as it is, where the carrier drifts in it. */
static void add_partial_still(struct sc_lines *lines, struct lines_record *record,
                              const struct lines_course *course, struct sc_lines_result *result)
{
  const struct still still = {record, lines->tracks, 1};
  if (look_at_partial(lines, record, &lines->frames, NULL))
    add_still(lines, &still, course, result);
  result->turned = 1;
}

/* A record is made of a stretch: `kept`, or what is being gathered. Of an earlier one nobody knows
 * how the carrier drifts in it. */
static void list_stretch(struct sc_lines *lines, const struct lines_kept *kept,
                         struct sc_lines_result *result)
{
  const bool current = kept == NULL;
  const size_t frames = current ? lines->filled : kept->frames;
  const struct lines_frames values = {.doubles = current ? NULL : kept->values};
  struct lines_course course = lines->course;
  struct lines_turn turn;
  struct lines_record *record;
  if (frames < LINES_SHORTEST ||
      lines_create_record(&lines->settings, lines_even_length(frames), &record) != SC_OK)
    return;
  const size_t n = lines_record_length(record);
  const bool turns = current && turn_of_partial(lines, n, &course, &turn);
  if (look_at_partial(lines, record, current ? &lines->frames : &values, turns ? &turn : NULL)) {
    list_lines(lines, record, result);
    if (current)
      result->carrier_hz = carrier_of(&course);
    else
      result->carrier_hz = kept->carrier_hz;
    if (turns)
      add_partial_still(lines, record, &course, result);
    sort_lines(lines, result->count);
    result->records = 1;
    describe(lines, n, current ? lines->fed - lines->filled : kept->start, n, result);
  }
  lines->tracks->count = 0;
  lines_record_destroy(record);
}

/* No whole record has come: the longest stretch is taken that has no gap and no jump. */
static void list_partial(struct sc_lines *lines, struct sc_lines_result *result)
{
  struct lines_piece piece;
  struct lines_kept own = {.values = NULL};
  const struct lines_kept *kept = &lines->best;
  const bool jumps = lines_find_jumps(lines, &piece);
  if (!jumps && piece.frames >= lines->best.frames)
    kept = NULL;
  else if (jumps && (!piece.goes_on || piece.frames > lines->best.frames) &&
           lines_copy_piece(lines, &piece, &own))
    kept = &own;
  list_stretch(lines, kept, result);
  result->jumped = jumps;
  free(own.values);
}

void sc_lines_result(struct sc_lines *lines, struct sc_lines_result *result)
{
  lines_settle(lines);
  *result = (struct sc_lines_result){.tones = lines->tones,
                                     .false_alarm = lines->settings.false_alarm,
                                     .carrier_hz = carrier_of(&lines->course)};
  if (lines->records == 0) {
    list_partial(lines, result);
    result->jumped |= lines->jumped;
    return;
  }
  list_lines(lines, lines->record, result);
  if (lines->still != NULL)
    add_still(lines, &(struct still){lines->still, lines->still_tracks, lines->still_records},
              &lines->course, result);
  sort_lines(lines, result->count);
  result->turned = lines->turned;
  result->jumped = lines->jumped;
  result->records = lines->records;
  describe(lines, lines_record_length(lines->record), lines->start, lines->covered, result);
  measure_lines_rest(lines);
}
