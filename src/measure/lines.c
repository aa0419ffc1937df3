/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The line finder: gathers records, finds lines in their averaged power, follows each through
 * the records. Records for finding overlap by half (the window for finding uses little of a
 * record's ends); only every other one of these is fitted, so that estimates are independent.
 * Of a long capture some records spread over its length are taken. */
#include <sidecomb/lines.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "dsp/fft.h"
#include "dsp/large.h"
#include "measure/lines_search.h"

/* Records fitted in a capture of known length, and the pace of thinning in one of unknown. */
enum { RECORDS_SPREAD = 8, RECORDS_DENSE = 4 };
static const double default_false_alarm = 1e-3;
/* A line is followed from early on, so that it has been measured when it is surely there. */
static const double eager = 30;

void lines_settle(struct sc_lines *lines)
{
  if (lines->busy)
    lines->apart->wait(lines->apart->context);
  lines->busy = false;
}

void measure_lines_rest(struct sc_lines *lines)
{
  lines_settle(lines);
  if (lines->filled == 0)
    lines_record_rest(lines->record);
}

void measure_lines_apart(struct sc_lines *lines, const struct measure_apart *apart)
{
  lines->apart = apart;
}

static void forget_still(struct sc_lines *lines)
{
  lines_record_destroy(lines->still);
  free(lines->still_tracks);
  lines->still = NULL;
  lines->still_tracks = NULL;
  lines->still_records = 0;
}

void sc_lines_destroy(struct sc_lines *lines)
{
  if (!lines)
    return;
  lines_settle(lines);
  forget_still(lines);
  lines_record_destroy(lines->record);
  lines_frames_free(&lines->frames);
  free(lines->tracks);
  free(lines->tones);
  lines_forget_partial(lines);
  free(lines);
}

size_t lines_even_length(uint64_t frames)
{
  return 2 * dsp_fft_good_length((size_t)(frames / 2));
}

/* As long as the capture and the settings allow. */
static size_t record_length(const struct sc_lines_settings *settings)
{
  uint64_t most = SC_LINES_RECORD_MAX, expected = settings->expected_frames;
  if (settings->record_max > 0 && settings->record_max < most)
    most = settings->record_max;
  if (expected > 0 && expected < most)
    most = expected;
  return lines_even_length(most < LINES_SHORTEST ? LINES_SHORTEST : most);
}

static bool settings_make_sense(const struct sc_lines_settings *settings)
{
  bool records =
      settings->records == 0 || (settings->records >= 2 && settings->records <= LINES_RECORDS_MAX);
  return records && settings->sample_rate_hz > 0 && isfinite(settings->sample_rate_hz) &&
         settings->false_alarm >= 0 && settings->false_alarm < 1 && !isnan(settings->lower_hz) &&
         !isnan(settings->upper_hz) && !isnan(settings->without_lower_hz) &&
         !isnan(settings->without_upper_hz);
}

enum sc_error lines_create_record(const struct sc_lines_settings *settings, size_t n,
                                  struct lines_record **record)
{
  double scale = (double)n / settings->sample_rate_hz;
  const struct lines_band band = {scale * settings->lower_hz, scale * settings->upper_hz,
                                  scale * settings->without_lower_hz,
                                  scale * settings->without_upper_hz};
  return lines_record_create(n, settings->complex_input, settings->single_precision, &band, record);
}

static bool make_frames(struct sc_lines *lines, size_t n)
{
  if (!lines->settings.single_precision)
    return lines_frames_make(&lines->frames, NULL, n, lines->channels);
  const struct dsp_rows rows = lines_record_rows(lines->record);
  return lines_frames_make(&lines->frames, &rows, n, lines->channels);
}

enum sc_error sc_lines_create(const struct sc_lines_settings *settings, struct sc_lines **out)
{
  *out = NULL;
  if (!settings_make_sense(settings))
    return SC_BAD_ARGUMENT;
  struct sc_lines *lines = calloc(1, sizeof *lines);
  if (!lines)
    return SC_NO_MEMORY;
  lines->settings = *settings;
  if (settings->false_alarm == 0)
    lines->settings.false_alarm = default_false_alarm;
  if (settings->lines_max == 0 || settings->lines_max > SC_LINES_MAX)
    lines->settings.lines_max = SC_LINES_MAX;
  if (settings->records == 0)
    lines->settings.records = RECORDS_SPREAD;
  lines->channels = settings->complex_input ? 2 : 1;
  size_t n = record_length(settings);
  lines->tracks = malloc(sizeof *lines->tracks);
  lines->tones = malloc(lines->settings.lines_max * sizeof *lines->tones);
  enum sc_error error = SC_NO_MEMORY;
  if (lines->tracks && lines->tones)
    error = lines_create_record(&lines->settings, n, &lines->record);
  if (error == SC_OK && !make_frames(lines, n))
    error = SC_NO_MEMORY;
  if (error != SC_OK) {
    sc_lines_destroy(lines);
    return error;
  }
  sc_lines_reset(lines);
  *out = lines;
  return SC_OK;
}

void lines_forget(struct sc_lines *lines)
{
  lines_settle(lines);
  forget_still(lines);
  lines_course_forget(&lines->course);
  lines_record_forget(lines->record);
  lines->tracks->count = 0;
  lines->covered = lines->records = lines->gathered = lines->turned = 0;
}

void sc_lines_reset(struct sc_lines *lines)
{
  lines_forget(lines);
  lines_forget_partial(lines);
  lines_course_reset(&lines->course);
  lines->filled = lines->carried = 0;
  lines->fresh = true;
  lines->exact = !lines->settings.single_precision;
  lines->jumped = lines->stopped = false;
  lines->stretch_start = 0;
  lines->skip = lines->fed = lines->left_out = 0;
}

uint64_t lines_expected(const struct sc_lines *lines)
{
  const double fed = (double)lines->fed, all = fed + (double)lines->left_out;
  const uint64_t expected = lines->settings.expected_frames;
  return fed > 0 && lines->left_out > 0 ? (uint64_t)((double)expected * fed / all) : expected;
}

/* Frames skipped after a fitted record; 0: go on without a gap. */
static uint64_t gap_after(const struct sc_lines *lines)
{
  uint64_t n = lines_record_length(lines->record), expected = lines_expected(lines);
  uint64_t wanted = lines->settings.records;
  if (expected > wanted * n)
    return (expected - wanted * n) / (wanted - 1);
  if (expected > 0 || lines->gathered < RECORDS_DENSE)
    return 0;
  return n << (lines->gathered - RECORDS_DENSE) / RECORDS_DENSE;
}

void lines_begin(struct sc_lines *lines, bool half)
{
  const size_t n = lines_record_length(lines->record);
  lines_course_go_on(&lines->course, half);
  lines->filled = lines->carried = half ? n / 2 : 0;
  if (!half)
    return;
  lines_settle(lines);
  lines_frames_halve(&lines->frames, n * lines->channels);
}

/* Keeps the second half for the record that overlaps, or skips. */
static void go_on(struct sc_lines *lines)
{
  const bool half = lines->skip == 0;
  lines_begin(lines, half);
  lines->fresh = lines->fresh != half;
}

/* How much of low ... high lies within lower ... upper. */
static double common_width(double low, double high, double lower, double upper)
{
  return fmax(fmin(high, upper) - fmax(low, lower), 0);
}

double lines_chance(const struct sc_lines *lines)
{
  const struct sc_lines_settings *settings = &lines->settings;
  double high = settings->sample_rate_hz / 2, low = settings->complex_input ? -high : 0;
  double lower = low, upper = high;
  if (settings->upper_hz > settings->lower_hz) {
    lower = fmax(settings->lower_hz, low);
    upper = fmin(settings->upper_hz, high);
  }
  double asked = fmax(upper - lower, 0);
  if (settings->without_upper_hz > settings->without_lower_hz)
    asked -= common_width(lower, upper, settings->without_lower_hz, settings->without_upper_hz);
  return settings->false_alarm * (asked > 0 ? (high - low) / asked : 1);
}

/* What does not go with the carrier is looked for in the same records as they are. Where memory is
 * short, nothing is turned back. */
static bool make_still(struct sc_lines *lines)
{
  const size_t n = lines_record_length(lines->record);
  if (lines->still != NULL)
    return true;
  lines->still_tracks = malloc(sizeof *lines->still_tracks);
  if (lines->still_tracks != NULL)
    lines->still_tracks->count = 0;
  if (lines->still_tracks != NULL &&
      lines_create_record(&lines->settings, n, &lines->still) == SC_OK)
    return true;
  forget_still(lines);
  return false;
}

static void look_at_still(struct sc_lines *lines)
{
  const struct look *look = &lines->look;
  if (lines->still == NULL || !lines_record_load(lines->still, &lines->frames, look->exact, NULL))
    return;
  lines_record_average(lines->still);
  lines->still_records += look->fresh;
  if (look->fresh)
    lines_tracks_update(lines->still_tracks, lines->still, eager * lines_chance(lines),
                        look->start);
  lines_record_rest(lines->still);
}

static void forget_looked(struct sc_lines *lines)
{
  lines_record_forget(lines->record);
  lines->tracks->count = 0;
  lines->covered = lines->records = lines->turned = 0;
}

static void look_at_record(void *context)
{
  struct sc_lines *lines = context;
  struct look *look = &lines->look;
  look->turns = look->turns && make_still(lines);
  look_at_still(lines);
  if (!lines_record_load(lines->record, &lines->frames, look->exact,
                         look->turns ? &look->turn : NULL))
    return;
  if (look->turns && look->turn.first)
    forget_looked(lines);
  lines_record_average(lines->record);
  lines->turned += look->turns;
  lines->covered += lines_record_length(lines->record) - look->carried;
  lines_forget_partial(lines);
  if (!look->fresh)
    return;
  lines->start = look->start;
  lines_tracks_update(lines->tracks, lines->record, eager * lines_chance(lines), look->start);
  lines->records++;
}

static double record_s(const struct sc_lines *lines)
{
  return (double)lines_record_length(lines->record) / lines->settings.sample_rate_hz;
}

static double middle_s(const struct sc_lines *lines, uint64_t start)
{
  return (double)start / lines->settings.sample_rate_hz + record_s(lines) / 2;
}

static void take_record(struct sc_lines *lines)
{
  if (lines_cut_at_jumps(lines))
    return;
  const bool room = lines->gathered < LINES_RECORDS_MAX;
  const uint64_t start = lines->fed - lines_record_length(lines->record);
  lines->look = (struct look){
      .fresh = lines->fresh, .exact = lines->exact, .carried = lines->carried, .start = start};
  lines->look.turns =
      lines->settings.complex_input &&
      lines_course_turn(&lines->course, middle_s(lines, start), record_s(lines), &lines->look.turn);
  lines->gathered += lines->fresh;
  lines->skip = lines->fresh ? gap_after(lines) : 0;
  if (lines->skip == 0)
    lines_frames_keep_half(&lines->frames, lines_record_length(lines->record) * lines->channels);
  if (room && lines->apart != NULL) {
    lines->busy = true;
    lines->apart->start(lines->apart->context, look_at_record, lines);
  } else if (room) {
    look_at_record(lines);
  }
  go_on(lines);
}

static void cut_record(struct sc_lines *lines)
{
  lines_settle(lines);
  if (!lines_cut_at_jumps(lines)) {
    const struct lines_piece piece = lines_whole(lines);
    lines_keep_piece(lines, &piece);
  }
  lines->filled = lines->carried = 0;
  lines->fresh = true;
  lines_course_go_on(&lines->course, false);
}

/* How many of the frames on offer go into the record, after those that are skipped. */
static size_t next_run(struct sc_lines *lines, size_t frames, size_t *skipped)
{
  *skipped = lines->skip < frames ? (size_t)lines->skip : frames;
  lines->skip -= *skipped;
  size_t room = lines_record_length(lines->record) - lines->filled, left = frames - *skipped;
  if (left > 0)
    lines_settle(lines);
  return left < room ? left : room;
}

static void finish_run(struct sc_lines *lines, size_t skipped, size_t run)
{
  lines->fed += skipped + run;
  lines->filled += run;
  if (lines->filled == lines_record_length(lines->record))
    take_record(lines);
}

void sc_lines_feed(struct sc_lines *lines, const float *samples, size_t frames, bool discontinuity)
{
  if (discontinuity)
    cut_record(lines);
  lines->exact = lines->exact && frames == 0;
  while (frames > 0) {
    size_t skipped, run = next_run(lines, frames, &skipped), channels = lines->channels;
    samples += skipped * channels;
    lines_frames_write(&lines->frames, lines->filled * channels, samples, run * channels);
    finish_run(lines, skipped, run);
    samples += run * channels;
    frames -= skipped + run;
  }
}

void sc_lines_feed_double(struct sc_lines *lines, const double *samples, size_t frames,
                          bool discontinuity)
{
  if (discontinuity)
    cut_record(lines);
  while (frames > 0) {
    size_t skipped, run = next_run(lines, frames, &skipped), channels = lines->channels;
    samples += skipped * channels;
    lines_frames_write_double(&lines->frames, lines->filled * channels, samples, run * channels);
    finish_run(lines, skipped, run);
    samples += run * channels;
    frames -= skipped + run;
  }
}

size_t measure_lines_run(const struct sc_lines *lines, size_t frames)
{
  const size_t n = lines_record_length(lines->record);
  const size_t end = lines->filled < n / 2 ? n / 2 : n;
  const uint64_t left = lines->skip > 0 ? lines->skip : end - lines->filled;
  return left < frames ? (size_t)left : frames;
}

void measure_lines_carrier(struct sc_lines *lines, const float *khz, size_t frames)
{
  if (lines->skip == 0 && lines->settings.single_precision)
    lines_course_feed(&lines->course, khz, frames,
                      lines->filled >= lines_record_length(lines->record) / 2);
}

uint64_t measure_lines_idle(const struct sc_lines *lines)
{
  return lines->skip;
}

void measure_lines_skip(struct sc_lines *lines, uint64_t frames)
{
  lines->skip -= frames;
  lines->fed += frames;
}

void sc_lines_leave_out(struct sc_lines *lines, uint64_t frames)
{
  lines->left_out += frames;
  if (lines->skip == 0 || lines->stopped)
    return;
  const uint64_t gap = gap_after(lines);
  lines->skip = lines->skip < gap ? lines->skip : gap;
}

double sc_lines_floor(struct sc_lines *lines, double lower_hz, double upper_hz)
{
  lines_settle(lines);
  const double length = (double)lines_record_length(lines->record);
  const double scale = lines->settings.sample_rate_hz / length;
  const double sides = lines->settings.complex_input ? 1 : 2;
  if (lines->records == 0)
    return (double)NAN;
  return sides / scale *
         lines_record_floor(lines->record, ceil(lower_hz / scale), floor(upper_hz / scale));
}
