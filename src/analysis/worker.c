/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A queue between threads: a ring of places, a ring of the samples that they hold, one lock, and a
 * signal in each direction. Samples of a place are in one piece: where they do not fit before the
 * ring's end, they stand at its start. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <pthread.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "analysis/worker.h"

/* So many samples that a thread which looks for lines for some milliseconds holds nobody up. */
enum { PLACES = 1024, RING = 1 << 19 };
enum { LOOKS = 10000 }; /* some tenths of a millisecond */

struct place {
  void (*task)(void *argument); /* NULL: samples are to be fed */
  void *argument;
  struct analysis_fed fed;
  size_t at;         /* of the samples */
  const float *lent; /* or the samples, where they were not copied */
  size_t frames;
  bool discontinuity;
};

struct analysis_worker {
  pthread_t thread;
  pthread_mutex_t lock;
  pthread_cond_t came, went;
  size_t first;        /* of the places in use, the one that is worked on among them */
  atomic_size_t count; /* of them; changed under the lock */
  atomic_bool hurried; /* samples have been lent: who lends them waits for the thread */
  size_t end;          /* of the samples of the last of them */
  bool ending;
  struct measure_apart apart;
  struct place places[PLACES];
  float samples[RING];
};

static inline void pause_briefly(void)
{
#if defined(__x86_64__) || defined(__i386__)
  __builtin_ia32_pause();
#elif defined(__aarch64__)
  __asm__ volatile("yield");
#endif
}

/* A while, as it takes longer to be woken: blocks that are lent follow each other fast. */
static void look_before_sleep(const struct analysis_worker *worker, bool until_some)
{
  const int looks = atomic_load(&worker->hurried) ? LOOKS : 0;
  for (int i = 0; i < looks && (atomic_load(&worker->count) > 0) != until_some; i++)
    pause_briefly();
}

static struct place *next(struct analysis_worker *worker)
{
  struct place *place = NULL;
  look_before_sleep(worker, true);
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
      place->fed.feed(place->fed.context,
                      place->lent != NULL ? place->lent : worker->samples + place->at,
                      place->frames, place->discontinuity);
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

static void describe(struct place *place, const struct analysis_fed *fed, size_t frames,
                     bool discontinuity)
{
  place->task = NULL;
  place->lent = NULL;
  place->fed = *fed;
  place->frames = frames;
  place->discontinuity = discontinuity;
}

static void put(struct analysis_worker *worker, const struct analysis_fed *fed,
                const float *samples, size_t frames, bool discontinuity)
{
  const size_t floats = frames * fed->width;
  struct place *place = enter(worker, floats);
  describe(place, fed, frames, discontinuity);
  if (samples != NULL)
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

void analysis_worker_pass(struct analysis_worker *worker, const struct analysis_fed *fed,
                          size_t frames)
{
  if (worker != NULL)
    put(worker, fed, NULL, frames, false);
  else
    fed->feed(fed->context, NULL, frames, false);
}

void analysis_worker_lend(struct analysis_worker *worker, const struct analysis_fed *fed,
                          const float *samples, size_t frames, bool discontinuity)
{
  if (worker == NULL) {
    fed->feed(fed->context, samples, frames, discontinuity);
    return;
  }
  struct place *place = enter(worker, 0);
  describe(place, fed, frames, discontinuity);
  place->lent = samples;
  atomic_store(&worker->hurried, true);
  send(worker);
}

void analysis_worker_drain(struct analysis_worker *worker)
{
  if (worker == NULL)
    return;
  look_before_sleep(worker, false);
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
