/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A queue between threads: a ring of places, one lock, and a signal in each direction. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "analysis/worker.h"

enum { PLACES = 2 };

struct place {
  void (*task)(void *argument); /* NULL: samples are to be fed */
  void *argument;
  struct analysis_fed fed;
  size_t frames;
  bool discontinuity;
  float samples[ANALYSIS_WORKER_FLOATS];
};

struct analysis_worker {
  pthread_t thread;
  pthread_mutex_t lock;
  pthread_cond_t came, went;
  size_t first, count; /* places in use, the one that is worked on among them */
  bool ending;
  struct measure_apart apart;
  struct place places[PLACES];
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
      place->fed.feed(place->fed.context, place->samples, place->frames, place->discontinuity);
    leave(worker);
  }
  return NULL;
}

/* Several threads may feed one worker: a place is filled under the lock. */
static struct place *enter(struct analysis_worker *worker)
{
  pthread_mutex_lock(&worker->lock);
  while (worker->count == PLACES)
    pthread_cond_wait(&worker->went, &worker->lock);
  return &worker->places[(worker->first + worker->count) % PLACES];
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
  struct place *place = enter(worker);
  place->task = NULL;
  place->fed = *fed;
  place->frames = frames;
  place->discontinuity = discontinuity;
  if (frames > 0)
    memcpy(place->samples, samples, frames * fed->width * sizeof *samples);
  send(worker);
}

static void start(void *context, void (*task)(void *argument), void *argument)
{
  struct place *place = enter(context);
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

bool analysis_worker_is_worth(unsigned wanted)
{
  return wanted != 1 && (wanted > 1 || sysconf(_SC_NPROCESSORS_ONLN) > 1);
}
