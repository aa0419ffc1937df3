/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A queue between threads: a ring of places, a ring of the samples that they hold, one lock, and a
 * signal in each direction. Samples of a place are in one piece: where they do not fit before the
 * ring's end, they stand at its start. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "analysis/worker.h"

/* So many samples that a thread which looks for lines for some milliseconds holds nobody up. */
enum { PLACES = 1024, RING = 1 << 19 };

struct place {
  void (*task)(void *argument); /* NULL: samples are to be fed */
  void *argument;
  struct analysis_fed fed;
  size_t at; /* of the samples */
  size_t frames;
  bool discontinuity;
};

struct analysis_worker {
  pthread_t thread;
  pthread_mutex_t lock;
  pthread_cond_t came, went;
  size_t first, count; /* places in use, the one that is worked on among them */
  size_t end;          /* of the samples of the last of them */
  bool ending;
  struct measure_apart apart;
  struct place places[PLACES];
  float samples[RING];
};

static struct place *next(struct analysis_worker *worker)
{
  struct place *place = NULL;
  pthread_mutex_lock(&worker->lock);
  while (worker->count == 0 && !worker->ending)
    pthread_cond_wait(&worker->came, &worker->lock);
  if (worker->count > 0)
    place = &worker->places[worker->first];
  pthread_mutex_unlock(&worker->lock);
  return place;
}

static void leave(struct analysis_worker *worker)
{
  pthread_mutex_lock(&worker->lock);
  worker->first = (worker->first + 1) % PLACES;
  worker->count--;
  pthread_cond_broadcast(&worker->went);
  pthread_mutex_unlock(&worker->lock);
}

static void *work(void *context)
{
  struct analysis_worker *worker = context;
  for (struct place *place = next(worker); place != NULL; place = next(worker)) {
    if (place->task != NULL)
      place->task(place->argument);
    else
      place->fed.feed(place->fed.context, worker->samples + place->at, place->frames,
                      place->discontinuity);
    leave(worker);
  }
  return NULL;
}

/* Whether there is a place, and room for so many floats in one piece; *at: where. */
static bool fits(const struct analysis_worker *worker, size_t floats, size_t *at)
{
  const size_t start = worker->places[worker->first].at;
  *at = worker->count > 0 ? worker->end : 0;
  if (worker->count == PLACES)
    return false;
  if (worker->count == 0 || floats == 0)
    return true;
  if (worker->end <= start) /* around the ring's end; or what waits holds no samples */
    return start - worker->end > floats;
  if (RING - worker->end >= floats)
    return true;
  *at = 0;
  return start > floats;
}

/* Several threads may feed one worker: a place is filled under the lock. */
static struct place *enter(struct analysis_worker *worker, size_t floats)
{
  size_t at;
  pthread_mutex_lock(&worker->lock);
  while (!fits(worker, floats, &at))
    pthread_cond_wait(&worker->went, &worker->lock);
  struct place *place = &worker->places[(worker->first + worker->count) % PLACES];
  place->at = at;
  worker->end = at + floats;
  return place;
}

static void send(struct analysis_worker *worker)
{
  worker->count++;
  pthread_cond_signal(&worker->came);
  pthread_mutex_unlock(&worker->lock);
}

static void put(struct analysis_worker *worker, const struct analysis_fed *fed,
                const float *samples, size_t frames, bool discontinuity)
{
  const size_t floats = frames * fed->width;
  struct place *place = enter(worker, floats);
  place->task = NULL;
  place->fed = *fed;
  place->frames = frames;
  place->discontinuity = discontinuity;
  if (frames > 0)
    memcpy(worker->samples + place->at, samples, floats * sizeof *samples);
  send(worker);
}

static void start(void *context, void (*task)(void *argument), void *argument)
{
  struct place *place = enter(context, 0);
  place->task = task;
  place->argument = argument;
  send(context);
}

static void wait_for_all(void *worker)
{
  analysis_worker_drain(worker);
}

const struct measure_apart *analysis_worker_apart(const struct analysis_worker *worker)
{
  return worker != NULL ? &worker->apart : NULL;
}

struct analysis_worker *analysis_worker_create(void)
{
  struct analysis_worker *worker = calloc(1, sizeof *worker);
  if (worker == NULL)
    return NULL;
  worker->apart = (struct measure_apart){start, wait_for_all, worker};
  pthread_mutex_init(&worker->lock, NULL);
  pthread_cond_init(&worker->came, NULL);
  pthread_cond_init(&worker->went, NULL);
  if (pthread_create(&worker->thread, NULL, work, worker) == 0)
    return worker;
  pthread_cond_destroy(&worker->went);
  pthread_cond_destroy(&worker->came);
  pthread_mutex_destroy(&worker->lock);
  free(worker);
  return NULL;
}

void analysis_worker_feed(struct analysis_worker *worker, const struct analysis_fed *fed,
                          const float *samples, size_t frames, bool discontinuity)
{
  size_t most = ANALYSIS_WORKER_FLOATS / fed->width;
  while (frames > 0 || discontinuity) {
    size_t run = frames < most ? frames : most;
    if (worker != NULL)
      put(worker, fed, samples, run, discontinuity);
    else
      fed->feed(fed->context, samples, run, discontinuity);
    discontinuity = false;
    frames -= run;
    if (frames > 0)
      samples += run * fed->width;
  }
}

void analysis_worker_drain(struct analysis_worker *worker)
{
  if (worker == NULL)
    return;
  pthread_mutex_lock(&worker->lock);
  while (worker->count > 0)
    pthread_cond_wait(&worker->went, &worker->lock);
  pthread_mutex_unlock(&worker->lock);
}

void analysis_worker_destroy(struct analysis_worker *worker)
{
  if (worker == NULL)
    return;
  pthread_mutex_lock(&worker->lock);
  worker->ending = true;
  pthread_cond_signal(&worker->came);
  pthread_mutex_unlock(&worker->lock);
  pthread_join(worker->thread, NULL);
  pthread_cond_destroy(&worker->went);
  pthread_cond_destroy(&worker->came);
  pthread_mutex_destroy(&worker->lock);
  free(worker);
}

unsigned analysis_worker_threads(unsigned wanted)
{
  const long processors = sysconf(_SC_NPROCESSORS_ONLN);
  return wanted > 0 ? wanted : processors > 1 ? (unsigned)processors : 1;
}
