/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* One passage: blocks through the demodulator where the view asks for it, into a spectrum. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <sidecomb/composite.h>
#include <sidecomb/expected.h>

#include "view/course.h"
#include "view/slice.h"

enum { BLOCK_FRAMES = 1 << 14 };
/* The passage is made so long that a few records fit: this many times 1 / rbw. */
static const double records_wanted = 6;
/* A passage of many stretches is read stretch by stretch, spread over it, so that the first
 * picture already is of all of it. A stretch holds records enough that little of it is lost; a
 * row over time needs fewer, as it shows more the finer it is in time. */
static const double stretch_records = 32, row_records = 8, stretch_least_s = 0.02;
enum { STRETCHES_LEAST = 16 };
/* Following: rows over time in the length that is averaged elsewhere. */
static const double rows_in_length = 8;
/* Following: what is further behind than this is left out. */
static const double lag_most_s = 0.5;

struct view_slice {
  struct view_blocks blocks;
  struct view_request request;
  struct view_request begun_with; /* what the spectrum was created for */
  bool asked;                     /* the request is set */
  struct sc_spectrum *spectrum;
  struct sc_demodulator *demodulator;
  struct sc_expected *expected; /* on air, where asked for */
  float *difference;            /* at the points of the last result */
  size_t difference_room;
  float *left;                       /* one channel of interleaved audio */
  uint64_t first, next, end;         /* frames: of the passage, the next one to read, its end */
  uint64_t stop, read;               /* where reading on ends for now, frames read so far */
  uint64_t stretch, stretches, turn; /* spread: frames of one, how many, which turn; 0: not */
  uint64_t at, begun;                /* the stretch that is read; first frame of a row */
  struct view_course_table course;
  bool gap; /* the next block does not follow the last one */
  const char *why;
};

struct view_slice *view_slice_create(const struct view_blocks *blocks)
{
  struct view_slice *slice = calloc(1, sizeof *slice);
  if (slice == NULL)
    return NULL;
  slice->blocks = *blocks;
  slice->left = malloc(BLOCK_FRAMES * sizeof *slice->left);
  if (slice->left == NULL) {
    free(slice);
    return NULL;
  }
  return slice;
}

static void stop(struct view_slice *slice)
{
  sc_spectrum_destroy(slice->spectrum);
  sc_demodulator_destroy(slice->demodulator);
  sc_expected_destroy(slice->expected);
  slice->spectrum = NULL;
  slice->expected = NULL;
  slice->demodulator = NULL;
  slice->why = NULL;
}

void view_slice_destroy(struct view_slice *slice)
{
  if (slice == NULL)
    return;
  stop(slice);
  free(slice->left);
  free(slice->difference);
  view_course_free(&slice->course);
  free(slice);
}

/* ---- starting */

static bool is_live(const struct view_slice *slice)
{
  return slice->blocks.seek == NULL;
}

/* Turns are taken in the order of a van der Corput sequence: each halves what lies between
 * those before it. The stretch of a turn; `stretches` and more: there is none. */
static uint64_t stretch_of(uint64_t turn, uint64_t stretches)
{
  uint64_t reversed = 0;
  for (uint64_t bit = 1; bit < stretches; bit *= 2, turn /= 2)
    reversed = 2 * reversed + turn % 2;
  return turn > 0 ? stretches : reversed;
}

/* Moves to the next stretch. False: the passage is not spread, or all of it was read. */
static bool move_on(struct view_slice *slice)
{
  uint64_t turns = 1, at;
  while (turns < slice->stretches)
    turns *= 2;
  do {
    if (slice->stretches == 0 || slice->turn == turns)
      return false;
    at = stretch_of(slice->turn++, slice->stretches);
  } while (at >= slice->stretches);
  uint64_t next = slice->first + at * slice->stretch;
  slice->at = at;
  slice->gap = slice->gap || next != slice->next;
  slice->next = next;
  slice->stop = slice->end - next > slice->stretch ? next + slice->stretch : slice->end;
  return true;
}

/* Divides a long passage into stretches. */
static void divide(struct view_slice *slice)
{
  const struct view_request *request = &slice->request;
  double rate = slice->blocks.info->sample_rate_hz;
  double bins = sc_window_figures(request->window, request->window_parameter).noise_bandwidth_bins;
  double records = request->course ? row_records : stretch_records;
  double seconds = fmax(records * bins / request->rbw_hz, stretch_least_s);
  slice->turn = slice->stretches = 0;
  slice->stretch = (uint64_t)llround(seconds * rate);
  uint64_t stretches = (slice->end - slice->first + slice->stretch - 1) / slice->stretch;
  if (request->follow || is_live(slice) || (stretches < STRETCHES_LEAST && !request->course))
    return;
  slice->stretches = stretches;
  (void)move_on(slice);
}

/* Which frames: the passage asked for, longer where the resolution needs it, moved so that
 * it lies within the capture. */
static void set_passage(struct view_slice *slice)
{
  const struct view_request *request = &slice->request;
  double rate = slice->blocks.info->sample_rate_hz;
  double total = (double)slice->blocks.info->frames;
  double length = fmax(request->length_s, records_wanted / request->rbw_hz) * rate;
  if (request->follow)
    length = request->length_s * rate;
  if (total > 0)
    length = fmin(length, total);
  double first = fmax(request->from_s * rate, 0);
  if (total > 0)
    first = fmin(first, total - length);
  slice->first = slice->next = (uint64_t)llround(first);
  slice->end = slice->stop = slice->first + (uint64_t)llround(length);
  slice->read = 0;
  slice->gap = true;
  divide(slice);
}

static enum sc_error start_demodulator(struct view_slice *slice, double *rate_hz)
{
  if (isnan(slice->request.channel_hz)) {
    slice->why = "No FM signal was found, so there is no composite";
    return SC_UNSUPPORTED;
  }
  struct sc_demodulator_settings settings = {.sample_rate_hz = *rate_hz,
                                             .channel_hz = slice->request.channel_hz};
  enum sc_error error = sc_demodulator_create(&settings, &slice->demodulator);
  if (error == SC_OK)
    *rate_hz = sc_demodulator_info(slice->demodulator).rate_hz;
  else
    slice->why = "This capture is too narrow to demodulate";
  return error;
}

/* The picture does without it where the channel is not known or cannot be demodulated. */
static void start_expected(struct view_slice *slice, const struct sc_spectrum_settings *spectrum)
{
  double rate = spectrum->sample_rate_hz;
  const char *why = slice->why;
  if (!spectrum->complex_input || !slice->request.expected)
    return;
  enum sc_error error = start_demodulator(slice, &rate);
  slice->why = why;
  if (error != SC_OK)
    return;
  struct sc_expected_settings settings = {*spectrum, sc_demodulator_info(slice->demodulator),
                                          slice->request.channel_hz};
  if (sc_expected_create(&settings, &slice->expected) == SC_OK)
    return;
  sc_demodulator_destroy(slice->demodulator);
  slice->demodulator = NULL;
}

/* Rows of a file share its stretches; while following, each is a part of what is shown. */
static void start_course(struct view_slice *slice)
{
  size_t rows = slice->stretches < VIEW_COURSE_ROWS ? (size_t)slice->stretches : VIEW_COURSE_ROWS;
  slice->begun = slice->next;
  if (!view_course_open(&slice->course, rows))
    slice->why = sc_error_text(SC_NO_MEMORY);
}

/* What came in last makes the first picture: a source that stalls may give no more. */
static void go_back(struct view_slice *slice)
{
  double frames = slice->request.length_s * slice->blocks.info->sample_rate_hz;
  if (slice->blocks.go_back != NULL)
    slice->blocks.go_back(slice->blocks.context, (uint64_t)llround(frames));
}

static void start(struct view_slice *slice)
{
  const struct view_request *request = &slice->request;
  double rate = slice->blocks.info->sample_rate_hz, input_rate = rate;
  slice->begun_with = *request;
  stop(slice);
  set_passage(slice);
  go_back(slice);
  bool iq = slice->blocks.info->kind == SC_KIND_IQ;
  if (iq && request->view == VIEW_COMPOSITE && start_demodulator(slice, &rate) != SC_OK)
    return;
  /* Each stretch holds whole records; told of more, the spectrum would try out how to transform
   * them fastest, and the user wait for it. */
  uint64_t records_in = slice->stretches > 0 ? slice->stretch : slice->end - slice->first;
  double frames = (double)records_in * rate / input_rate;
  struct sc_spectrum_settings settings = {
      .sample_rate_hz = rate,
      .complex_input = iq && request->view == VIEW_AIR,
      .centre_hz = request->centre_hz,
      .span_hz = request->span_hz,
      .rbw_hz = request->rbw_hz,
      .window = request->window,
      .window_parameter = request->window_parameter,
      .overlap = -1,
      .expected_frames = request->follow ? 0 : (uint64_t)frames,
      .memory_s = request->follow && !request->course ? request->length_s : 0,
  };
  enum sc_error error = sc_spectrum_create(&settings, &slice->spectrum);
  if (error != SC_OK)
    slice->why = sc_error_text(error);
  else if (request->course)
    start_course(slice);
  else
    start_expected(slice, &settings);
}

static bool same_number(double a, double b)
{
  return a == b || (isnan(a) && isnan(b));
}

/* The carrier is known better with each result of the survey, and what is shown counts from it:
 * less than a tenth of a dot is not worth starting afresh, which would lose the average. */
static bool same_place(const struct view_request *a, const struct view_request *b)
{
  return a->span_hz == b->span_hz && fabs(a->centre_hz - b->centre_hz) < a->span_hz * 1e-4;
}

static bool same_channel(const struct view_request *a, const struct view_request *b)
{
  bool needed = a->view == VIEW_COMPOSITE || a->expected;
  return !needed || same_number(a->channel_hz, b->channel_hz);
}

/* Same but for how far to go; while following, the start does not matter either. */
static bool same_picture(const struct view_request *a, const struct view_request *b)
{
  bool passage = a->follow == b->follow && (a->follow || a->from_s == b->from_s);
  return passage && a->view == b->view && a->expected == b->expected && a->course == b->course &&
         same_place(a, b) && a->rbw_hz == b->rbw_hz && a->window == b->window &&
         a->window_parameter == b->window_parameter && a->length_s == b->length_s &&
         same_channel(a, b);
}

void view_slice_ask(struct view_slice *slice, const struct view_request *request)
{
  bool same = slice->asked && same_picture(&slice->begun_with, request);
  slice->request = *request;
  slice->asked = true;
  if (!same)
    start(slice);
}

/* ---- going on */

/* Following a file: where to stop now. What lies too far behind is skipped, and so is
 * everything when the user has jumped. */
static void follow(struct view_slice *slice)
{
  double rate = slice->blocks.info->sample_rate_hz;
  uint64_t until = (uint64_t)llround(fmax(slice->request.until_s, 0) * rate);
  double behind = ((double)until - (double)slice->next) / rate;
  if (behind < -0.01 || behind > fmax(lag_most_s, slice->request.length_s)) {
    double back = fmin(slice->request.length_s * rate, (double)until);
    slice->next = until - (uint64_t)llround(back);
    slice->gap = true;
    if (behind < -0.01 && slice->spectrum != NULL)
      sc_spectrum_reset(slice->spectrum);
    if (behind < -0.01 && slice->expected != NULL)
      sc_expected_reset(slice->expected);
    if (slice->request.course)
      start_course(slice);
  }
  slice->end = slice->stop = until;
}

static void feed_expected(struct view_slice *slice, const struct sc_block *block)
{
  const float *deviation_khz, *channel;
  bool gap = slice->gap || block->discontinuity;
  size_t made = sc_demodulator_feed(slice->demodulator, block->samples, block->frames, gap,
                                    &deviation_khz, &channel);
  sc_expected_feed(slice->expected, deviation_khz, channel, made, gap);
}

/* The samples that the spectrum takes, from a block's. */
static const float *transform(struct view_slice *slice, const struct sc_block *block,
                              size_t *frames)
{
  const float *out = block->samples;
  *frames = block->frames;
  if (slice->expected != NULL) {
    feed_expected(slice, block);
  } else if (slice->demodulator != NULL) {
    *frames = sc_demodulator_feed(slice->demodulator, block->samples, block->frames,
                                  slice->gap || block->discontinuity, &out, NULL);
  } else if (block->channels == 2 && slice->blocks.info->kind != SC_KIND_IQ) {
    for (size_t i = 0; i < block->frames; i++)
      slice->left[i] = block->samples[2 * i];
    out = slice->left;
  }
  return out;
}

static size_t wanted(const struct view_slice *slice)
{
  if (is_live(slice))
    return BLOCK_FRAMES;
  uint64_t left = slice->stop > slice->next ? slice->stop - slice->next : 0;
  return left < BLOCK_FRAMES ? (size_t)left : BLOCK_FRAMES;
}

/* Frames of a row while following. */
static uint64_t row_frames(const struct view_slice *slice)
{
  double part = slice->request.length_s / rows_in_length * slice->blocks.info->sample_rate_hz;
  return part > (double)slice->stretch ? (uint64_t)part : slice->stretch;
}

/* Puts what was read into its row when that is full. */
static void feed_course(struct view_slice *slice)
{
  struct sc_trace trace;
  bool spread = slice->stretches > 0;
  if (spread ? slice->next < slice->stop : slice->next - slice->begun < row_frames(slice))
    return;
  sc_spectrum_result(slice->spectrum, &trace);
  if (spread)
    view_course_add(&slice->course, (size_t)(slice->at * slice->course.rows / slice->stretches),
                    &trace);
  else
    view_course_append(&slice->course, &trace);
  sc_spectrum_reset(slice->spectrum);
  slice->begun = slice->next;
}

bool view_slice_step(struct view_slice *slice)
{
  if (!slice->asked || slice->spectrum == NULL)
    return false;
  if (slice->request.follow && !is_live(slice))
    follow(slice);
  size_t most = wanted(slice);
  if (most == 0 && move_on(slice))
    most = wanted(slice);
  if (most == 0)
    return false;
  if (!is_live(slice) && slice->gap &&
      slice->blocks.seek(slice->blocks.context, slice->next) != SC_OK)
    return false;
  struct sc_block block;
  if (slice->blocks.read(slice->blocks.context, most, &block) != SC_OK || block.frames == 0) {
    slice->stop = slice->next;
    if (slice->stretches > 0)
      return true; /* the file became shorter: other stretches may still be there */
    slice->end = slice->next;
    return false;
  }
  size_t frames;
  bool gap = slice->gap || block.discontinuity;
  const float *samples = transform(slice, &block, &frames);
  sc_spectrum_feed(slice->spectrum, samples, frames, gap);
  slice->gap = false;
  slice->next = block.first + block.frames;
  slice->read += block.frames;
  if (slice->request.course)
    feed_course(slice);
  return true;
}

static void compare(struct view_slice *slice, struct view_spectrum *out)
{
  size_t points = out->trace.points;
  sc_expected_result(slice->expected, slice->request.noise_dbfs_hz, &out->expected);
  if (points > slice->difference_room) {
    float *grown = realloc(slice->difference, points * sizeof *grown);
    if (grown == NULL)
      return;
    slice->difference = grown;
    slice->difference_room = points;
  }
  if (points == 0 || out->expected.points == 0)
    return;
  sc_expected_difference(&out->trace, &out->expected, slice->difference);
  out->difference_db = slice->difference;
}

static struct view_course course_result(const struct view_slice *slice)
{
  struct view_course course = view_course_result(&slice->course);
  double rate = slice->blocks.info->sample_rate_hz;
  if (course.rows == 0)
    return course;
  if (slice->stretches > 0) {
    course.each_s = (double)(slice->end - slice->first) / rate / (double)course.rows;
    course.from_s = (double)slice->first / rate;
  } else {
    course.each_s = (double)row_frames(slice) / rate;
    course.from_s = (double)slice->begun / rate - course.each_s * (double)course.rows;
  }
  return course;
}

void view_slice_result(struct view_slice *slice, struct view_spectrum *out)
{
  double rate = slice->blocks.info->sample_rate_hz;
  *out = (struct view_spectrum){.view = slice->request.view, .why = slice->why};
  if (slice->spectrum != NULL && !slice->request.course)
    sc_spectrum_result(slice->spectrum, &out->trace);
  if (slice->spectrum != NULL && slice->expected != NULL)
    compare(slice, out);
  double from = (double)slice->first / rate, whole = (double)(slice->end - slice->first);
  double to = (double)(slice->stretches > 0 ? slice->end : slice->next) / rate;
  if (slice->request.follow) /* of a fine resolution a record is longer than that */
    from = fmax(to - fmax(slice->request.length_s, out->trace.record_s), 0);
  if (slice->spectrum != NULL && slice->request.course)
    out->course = course_result(slice);
  out->from_s = from;
  out->to_s = to;
  out->share = whole > 0 ? (double)slice->read / whole : 1;
  out->refining = slice->spectrum != NULL && !slice->request.follow && !is_live(slice) &&
                  slice->read < slice->end - slice->first;
}
