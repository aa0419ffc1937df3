/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The records that end in a block are shared out where they are, the first half to the caller: the
 * way of a copy to another processor cost half of what it did with them (measured). What is left of
 * a block begins the next one's first record. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "analysis/dealt.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "measure/spectrum_plan.h"

/* Fewer records in a block are not worth the way to another thread. */
enum { RECORDS_LEAST = 8 };

struct analysis_dealt {
  struct analysis_worker *worker;
  struct sc_spectrum *spectra[2]; /* the second is the worker's; NULL: there is but one */
  size_t width;                   /* floats of a frame */
  size_t length, hop;             /* frames of a record, and from one to the next */
  size_t held;                    /* frames from the next record's start to the last one fed */
  float *mean, *max, *min;
};

static void feed_spectrum(void *spectrum, const float *samples, size_t frames, bool discontinuity)
{
  sc_spectrum_feed(spectrum, samples, frames, discontinuity);
}

/* The second spectrum, where records are made of the samples themselves. */
static enum sc_error split(struct analysis_dealt *d, const struct sc_spectrum_settings *settings)
{
  struct measure_band band;
  const enum sc_error sound = measure_plan_band(settings, &band);
  if (sound != SC_OK || band.decimation > 1)
    return sound;
  const struct measure_records records = measure_plan_records(settings, &band, 0);
  const size_t points = (size_t)(records.last - records.first + 1);
  d->length = records.length;
  d->hop = records.hop;
  d->mean = malloc(points * sizeof *d->mean);
  d->max = malloc(points * sizeof *d->max);
  d->min = malloc(points * sizeof *d->min);
  if (d->mean == NULL || d->max == NULL || d->min == NULL)
    return SC_NO_MEMORY;
  return sc_spectrum_create(settings, &d->spectra[1]);
}

enum sc_error analysis_dealt_create(const struct sc_spectrum_settings *settings,
                                    struct analysis_worker *worker, struct analysis_dealt **dealt)
{
  *dealt = NULL;
  if (settings->memory_s > 0)
    return SC_BAD_ARGUMENT;
  struct analysis_dealt *d = calloc(1, sizeof *d);
  if (d == NULL)
    return SC_NO_MEMORY;
  d->worker = worker;
  d->width = settings->complex_input ? 2 : 1;
  enum sc_error error = sc_spectrum_create(settings, &d->spectra[0]);
  if (error == SC_OK)
    error = split(d, settings);
  if (error != SC_OK) {
    analysis_dealt_destroy(d);
    return error;
  }
  *dealt = d;
  return SC_OK;
}

/* Records that end in a block of so many frames. */
static size_t records_in(const struct analysis_dealt *d, size_t frames)
{
  const size_t there = d->held + frames;
  return there < d->length ? 0 : (there - d->length) / d->hop + 1;
}

/* Frames from the block's start to that of its record i, which begins in it. */
static size_t start_of(const struct analysis_dealt *d, size_t i)
{
  return i * d->hop - d->held;
}

static void share_out(struct analysis_dealt *d, const float *samples, size_t records, size_t frames)
{
  const size_t own = records / 2, start = start_of(d, own), left = start_of(d, records);
  const size_t lent = (records - own - 1) * d->hop + d->length;
  const struct analysis_fed fed = {feed_spectrum, d->spectra[1], d->width};
  analysis_worker_lend(d->worker, &fed, samples + start * d->width, lent, true);
  sc_spectrum_feed(d->spectra[0], samples, start_of(d, own - 1) + d->length, false);
  sc_spectrum_feed(d->spectra[0], samples + left * d->width, frames - left, true);
  analysis_worker_drain(d->worker);
}

void analysis_dealt_feed(struct analysis_dealt *dealt, const float *samples, size_t frames,
                         bool discontinuity)
{
  struct analysis_dealt *d = dealt;
  if (discontinuity) {
    sc_spectrum_feed(d->spectra[0], NULL, 0, true);
    d->held = 0;
  }
  const size_t records = d->spectra[1] != NULL ? records_in(d, frames) : 0;
  /* the record before the worker's first begins in the block as well */
  if (records >= RECORDS_LEAST && (records / 2 - 1) * d->hop >= d->held)
    share_out(d, samples, records, frames);
  else
    sc_spectrum_feed(d->spectra[0], samples, frames, false);
  d->held += frames - records * d->hop;
}

static void average(struct analysis_dealt *d, const struct sc_trace *one,
                    const struct sc_trace *two, struct sc_trace *trace)
{
  const double sum = (double)(one->records + two->records);
  const double share = (double)one->records / sum, other = (double)two->records / sum;
  for (size_t i = 0; i < one->points; i++) {
    d->mean[i] = (float)(share * (double)one->mean[i] + other * (double)two->mean[i]);
    d->max[i] = fmaxf(one->max_hold[i], two->max_hold[i]);
    d->min[i] = fminf(one->min_hold[i], two->min_hold[i]);
  }
  *trace = *one;
  trace->mean = d->mean;
  trace->max_hold = d->max;
  trace->min_hold = d->min;
  trace->records += two->records;
  trace->independent_records += two->independent_records;
}

void analysis_dealt_result(struct analysis_dealt *dealt, struct sc_trace *trace)
{
  struct analysis_dealt *d = dealt;
  struct sc_trace one, two;
  sc_spectrum_feed(d->spectra[0], NULL, 0, true);
  d->held = 0;
  if (d->spectra[1] == NULL) {
    sc_spectrum_result(d->spectra[0], trace);
    return;
  }
  sc_spectrum_result(d->spectra[0], &one);
  sc_spectrum_result(d->spectra[1], &two);
  if (one.points > 0 && two.points > 0)
    average(d, &one, &two, trace);
  else
    *trace = one.points > 0 ? one : two;
}

void analysis_dealt_destroy(struct analysis_dealt *dealt)
{
  if (dealt == NULL)
    return;
  sc_spectrum_destroy(dealt->spectra[0]);
  sc_spectrum_destroy(dealt->spectra[1]);
  free(dealt->mean);
  free(dealt->max);
  free(dealt->min);
  free(dealt);
}
