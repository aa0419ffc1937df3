/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The stream of a recording: totals of all of it, the chirps, and the parts of the first whole
 * sequence, each measured as soon as it has passed, out of the last seconds that are kept. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <sidecomb/audio.h>

#include "measure/audio_judge.h"
#include "measure/audio_marks.h"
#include "measure/audio_parts.h"
#include "measure/audio_spectrum.h"

static const double rate_least_hz = 32e3, rate_most_hz = 192e3;
/* The longest part, with a clock that is off, and the time until the first chirps are told: no more
 * than that is kept while there is no sequence, so that memory that is not needed is not touched.
 */
static const double longest_s = 12.1, told_s = 3.9;
/* How far the trailing chirps may be from where the clock says, and how long they are waited for.
 */
static const double trail_tolerance_s = 0.5, trail_wait_s = 2;
enum { CHUNK = 4096 };

struct sc_audio_meter {
  struct sc_audio_settings settings;
  struct audio_totals totals;
  struct audio_spectrum *spectrum; /* of all that was fed */
  struct audio_marks *marks;
  struct audio_parts *parts;
  float *kept; /* ring of kept_frames frames, in room for the longest part as well */
  size_t kept_frames, told_frames, longest_frames;
  uint64_t since;  /* frames before it are not in it */
  uint64_t frames; /* since the last discontinuity */
  double before_s; /* of the recording, before it */
  float chunk[2 * CHUNK];
  bool running, finished;
  int next;             /* part */
  struct audio_run run; /* the running one, or the finished one, or what was left of the last */
};

enum sc_error sc_audio_create(const struct sc_audio_settings *settings,
                              struct sc_audio_meter **meter)
{
  *meter = NULL;
  const double rate = settings->rate_hz;
  if (!(rate >= rate_least_hz && rate <= rate_most_hz) || settings->channels < 1 ||
      settings->channels > 2)
    return SC_BAD_ARGUMENT;
  struct sc_audio_meter *m = calloc(1, sizeof *m);
  if (m == NULL)
    return SC_NO_MEMORY;
  m->settings = *settings;
  m->told_frames = (size_t)(told_s * rate);
  m->longest_frames = (size_t)(longest_s * rate);
  m->kept = malloc(2 * (m->told_frames + m->longest_frames) * sizeof *m->kept);
  if (m->kept == NULL || audio_spectrum_create(rate, &m->spectrum) != SC_OK ||
      audio_marks_create(rate, &m->marks) != SC_OK ||
      audio_parts_create(rate, settings->step, m->longest_frames, &m->parts) != SC_OK) {
    sc_audio_destroy(m);
    return SC_NO_MEMORY;
  }
  sc_audio_reset(m);
  *meter = m;
  return SC_OK;
}

void sc_audio_reset(struct sc_audio_meter *m)
{
  memset(&m->totals, 0, sizeof m->totals);
  m->frames = 0;
  m->kept_frames = m->told_frames;
  m->before_s = 0;
  m->running = m->finished = false;
  m->run = (struct audio_run){0};
  audio_spectrum_reset(m->spectrum);
  audio_marks_reset(m->marks);
}

/* ---- the last seconds */

static void fetch(struct sc_audio_meter *m, uint64_t first, size_t frames)
{
  float *out = audio_parts_buffer(m->parts);
  size_t at = (size_t)(first % m->kept_frames);
  while (frames > 0) {
    const size_t run = m->kept_frames - at < frames ? m->kept_frames - at : frames;
    memcpy(out, m->kept + 2 * at, 2 * run * sizeof *out);
    out += 2 * run;
    frames -= run;
    at = 0;
  }
}

static void put(struct sc_audio_meter *m, uint64_t first, const float *frames, size_t count)
{
  size_t at = (size_t)(first % m->kept_frames);
  while (count > 0) {
    const size_t run = m->kept_frames - at < count ? m->kept_frames - at : count;
    memcpy(m->kept + 2 * at, frames, 2 * run * sizeof *frames);
    frames += 2 * run;
    count -= run;
    at = 0;
  }
}

/* From now on so many frames; those that are there stay, `told_frames` at the most. */
static void keep_last(struct sc_audio_meter *m, size_t frames)
{
  const size_t there = m->frames < m->told_frames ? (size_t)m->frames : m->told_frames;
  m->since = m->frames - there;
  fetch(m, m->since, there);
  m->kept_frames = frames;
  put(m, m->since, audio_parts_buffer(m->parts), there);
}

/* ---- the running sequence */

static void begin(struct sc_audio_meter *m, double middle_s)
{
  m->totals.sequences++;
  m->running = true;
  m->next = SC_PART_LINE_UP;
  m->run = (struct audio_run){.lead_s = middle_s, .clock = 1, .trail_s = (double)NAN};
  keep_last(m, m->told_frames + m->longest_frames);
}

static void end(struct sc_audio_meter *m, bool whole)
{
  m->running = false;
  m->finished = whole;
  keep_last(m, m->told_frames);
  m->run.lead_s += m->before_s;
  m->run.trail_s += m->before_s;
}

/* Seconds of the sequence into frames since the last discontinuity. */
static double frame_of(const struct sc_audio_meter *m, double sequence_s)
{
  const double after_lead_s = sequence_s - audio_mark_middle_s(SC_PART_LEAD);
  const double at_s = m->run.lead_s + after_lead_s * m->run.clock;
  return at_s * m->settings.rate_hz;
}

/* Measures the next part if it has passed; false: it has not. */
static bool step(struct sc_audio_meter *m)
{
  double from_s, to_s;
  const enum sc_sequence_part_name name = (enum sc_sequence_part_name)m->next;
  audio_part_bounds(name, &from_s, &to_s);
  const double from = rint(frame_of(m, from_s)), to = floor(frame_of(m, to_s));
  if (m->next >= SC_PART_PAUSE || to > (double)m->frames)
    return false;
  m->next++;
  if (from < (double)m->since || to - from > longest_s * m->settings.rate_hz ||
      (double)m->frames - from > (double)m->kept_frames)
    return true;
  fetch(m, (uint64_t)from, (size_t)(to - from));
  if (!audio_parts_measure(m->parts, name, (size_t)(to - from), &m->run) && name == SC_PART_LINE_UP)
    end(m, false);
  return m->running;
}

static void take_mark(struct sc_audio_meter *m, const struct audio_mark *mark)
{
  if (m->finished)
    m->totals.sequences += mark->lead;
  else if (mark->lead)
    begin(m, mark->middle_s);
  else if (m->running && m->next > SC_PART_LINE_UP) {
    const double due = frame_of(m, audio_mark_middle_s(SC_PART_TRAIL));
    if (fabs(mark->middle_s - due / m->settings.rate_hz) < trail_tolerance_s)
      m->run.trail_s = mark->middle_s;
  }
}

static void advance(struct sc_audio_meter *m)
{
  struct audio_mark mark;
  while (audio_marks_next(m->marks, &mark))
    take_mark(m, &mark);
  while (m->running && step(m))
    ;
  if (!m->running || m->next < SC_PART_PAUSE)
    return;
  const double late = frame_of(m, sc_sequence_seconds() + trail_wait_s);
  if (isfinite(m->run.trail_s) || (double)m->frames > late)
    end(m, true);
}

/* ---- feeding */

static void add_totals(struct sc_audio_meter *m, const float *frames, size_t count)
{
  struct audio_totals *t = &m->totals;
  for (size_t i = 0; i < count; i++) {
    const double left = (double)frames[2 * i], right = (double)frames[2 * i + 1];
    t->sum[0] += left;
    t->sum[1] += right;
    t->square[0] += left * left;
    t->square[1] += right * right;
    t->product += left * right;
    t->peak[0] = fabs(left) > t->peak[0] ? fabs(left) : t->peak[0];
    t->peak[1] = fabs(right) > t->peak[1] ? fabs(right) : t->peak[1];
  }
  t->frames += (double)count;
  for (size_t c = 0; c < 2; c++)
    measure_tops_add(&t->tops[c], frames + c, 2, count);
}

static void break_off(struct sc_audio_meter *m)
{
  if (m->running)
    end(m, false);
  m->before_s += (double)m->frames / m->settings.rate_hz;
  m->frames = 0;
  audio_marks_reset(m->marks);
}

static float sane(double sample)
{
  if (!isfinite(sample))
    return 0;
  return sample > 1e6 ? 1e6F : sample < -1e6 ? -1e6F : (float)sample;
}

static void feed_chunk(struct sc_audio_meter *m, const double *samples, size_t count)
{
  const unsigned channels = m->settings.channels;
  for (size_t i = 0; i < count; i++) {
    m->chunk[2 * i] = sane(samples[i * channels]);
    m->chunk[2 * i + 1] = sane(samples[i * channels + channels - 1]);
  }
  add_totals(m, m->chunk, count);
  put(m, m->frames, m->chunk, count);
  m->frames += count;
  audio_spectrum_feed(m->spectrum, m->chunk, count);
  audio_marks_feed(m->marks, m->chunk, count);
  advance(m);
}

void sc_audio_feed(struct sc_audio_meter *m, const double *samples, size_t frames,
                   bool discontinuity)
{
  if (discontinuity)
    break_off(m);
  while (frames > 0) {
    const size_t count = frames < CHUNK ? frames : CHUNK;
    feed_chunk(m, samples, count);
    samples += count * m->settings.channels;
    frames -= count;
  }
}

void sc_audio_result(struct sc_audio_meter *m, struct sc_audio *audio)
{
  struct audio_dominant dominant[2];
  struct audio_run run = m->run;
  for (int c = 0; c < 2; c++)
    dominant[c] = audio_spectrum_dominant(m->spectrum, c);
  if (m->running) {
    run.lead_s += m->before_s;
    run.trail_s += m->before_s;
  }
  m->totals.rate_hz = m->settings.rate_hz;
  m->totals.channels = m->settings.channels;
  audio_judge(&m->totals, dominant, &run, audio);
}

void sc_audio_destroy(struct sc_audio_meter *m)
{
  if (m == NULL)
    return;
  audio_spectrum_destroy(m->spectrum);
  audio_marks_destroy(m->marks);
  audio_parts_destroy(m->parts);
  free(m->kept);
  free(m);
}
