/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Runs are gathered with the frames that their last record shares with the next run, so that no
 * record is lost between them. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "analysis/dealt.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "measure/spectrum_plan.h"

/* Fewer records in a run are not worth the way to another thread. */
enum { RUN_LEAST = 3 };

struct analysis_dealt {
  struct analysis_worker *worker;
  struct sc_spectrum *spectra[2]; /* the second is the worker's; NULL: there is but one */
  size_t turn;                    /* whose the run being gathered is */
  size_t width;                   /* floats of a frame */
  size_t length, shared;          /* frames of a record, and of it in the next one */
  size_t filled, room;            /* frames of the run */
  float *run;
  float *mean, *max, *min;
};

static void feed_spectrum(void *spectrum, const float *samples, size_t frames, bool discontinuity)
{
  sc_spectrum_feed(spectrum, samples, frames, discontinuity);
}

static enum sc_error create_buffers(struct analysis_dealt *d, size_t points)
{
  d->run = malloc(d->room * d->width * sizeof *d->run);
  d->mean = malloc(points * sizeof *d->mean);
  d->max = malloc(points * sizeof *d->max);
  d->min = malloc(points * sizeof *d->min);
  return d->run != NULL && d->mean != NULL && d->max != NULL && d->min != NULL ? SC_OK
                                                                               : SC_NO_MEMORY;
}

/* The second spectrum, where runs fit. */
static enum sc_error split(struct analysis_dealt *d, const struct sc_spectrum_settings *settings)
{
  struct measure_band band;
  const enum sc_error sound = measure_plan_band(settings, &band);
  if (sound != SC_OK || band.decimation > 1)
    return sound;
  const struct measure_records records = measure_plan_records(settings, &band, 0);
  const size_t most = ANALYSIS_WORKER_FLOATS / d->width;
  if (most < RUN_LEAST * records.length)
    return SC_OK;
  d->length = records.length;
  d->shared = records.length > records.hop ? records.length - records.hop : 0;
  d->room = (most - d->shared) / records.hop * records.hop + d->shared;
  const enum sc_error error = sc_spectrum_create(settings, &d->spectra[1]);
  return error == SC_OK ? create_buffers(d, (size_t)(records.last - records.first + 1)) : error;
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

/* Gives the run away; `kept` of its frames begin the next one. */
static void deal(struct analysis_dealt *d, size_t kept)
{
  const struct analysis_fed fed = {feed_spectrum, d->spectra[d->turn], d->width};
  if (d->filled >= d->length)
    analysis_worker_feed(d->turn == 1 ? d->worker : NULL, &fed, d->run, d->filled, true);
  d->turn = 1 - d->turn;
  memmove(d->run, d->run + (d->filled - kept) * d->width, kept * d->width * sizeof *d->run);
  d->filled = kept;
}

void analysis_dealt_feed(struct analysis_dealt *dealt, const float *samples, size_t frames,
                         bool discontinuity)
{
  struct analysis_dealt *d = dealt;
  if (d->spectra[1] == NULL) {
    sc_spectrum_feed(d->spectra[0], samples, frames, discontinuity);
    return;
  }
  if (discontinuity)
    deal(d, 0);
  while (frames > 0) {
    const size_t left = d->room - d->filled, taken = frames < left ? frames : left;
    memcpy(d->run + d->filled * d->width, samples, taken * d->width * sizeof *samples);
    d->filled += taken;
    samples += taken * d->width;
    frames -= taken;
    if (d->filled == d->room)
      deal(d, d->shared);
  }
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
  if (d->spectra[1] == NULL) {
    sc_spectrum_result(d->spectra[0], trace);
    return;
  }
  deal(d, 0);
  analysis_worker_drain(d->worker);
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
  analysis_worker_drain(dealt->worker);
  sc_spectrum_destroy(dealt->spectra[0]);
  sc_spectrum_destroy(dealt->spectra[1]);
  free(dealt->run);
  free(dealt->mean);
  free(dealt->max);
  free(dealt->min);
  free(dealt);
}
