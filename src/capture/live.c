/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The thread puts frames in at `written`, the reader takes them out at `taken`; both count from
 * the start. A byte stands in the pipe while there is something to read, for those who poll. */
#include <config.h>

#include "capture/live.h"

#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "capture/open.h"

/* Long enough for a result of the analysis to be computed meanwhile, short enough in memory. */
static const double ring_s = 2;
enum {
  RING_FRAMES_LEAST = 1 << 14,
  RING_FRAMES_MOST = 1 << 21,
  TAKE_FRAMES_MOST = 1 << 13,
  MARKS = 64
};
/* A device that gave nothing at all by then is taken for broken. */
static const double first_sample_s = 4;

/* Something is missing, or is different from here on. */
struct mark {
  uint64_t frame;
  enum capture_loss loss;
  uint64_t lost;
  double centre_hz;
};

struct live {
  struct capture base;
  const struct capture_device *driver;
  void *device;
  size_t room, channels;
  float *ring;
  float *landing; /* of the thread alone: TAKE_FRAMES_MOST frames */
  size_t landing_frames;
  struct capture_taken pending; /* of the thread alone: a loss without frames behind it yet */
  double centre_hz;             /* of the thread alone */
  double opened_s;
  int ends[2]; /* a pipe; see above */
  pthread_t thread;
  bool runs;

  pthread_mutex_t lock; /* for all below */
  pthread_cond_t changed;
  bool stop, ended, signalled, dropping;
  uint64_t written, taken;
  struct mark marks[MARKS];
  size_t first_mark, mark_count;
  struct sc_losses losses;
  enum sc_error error;
  struct sc_message trouble;
  struct call *call; /* to be made by the thread; NULL: none */
};

struct call {
  enum sc_error (*call)(void *device, void *context, struct sc_message *message);
  void *context;
  bool changes; /* settings: nothing from before it is to be read */
  enum sc_error error;
  struct sc_message message;
  bool done;
};

double capture_now_s(void)
{
  struct timespec time;
  clock_gettime(CLOCK_MONOTONIC, &time);
  return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

/* ---- the device's thread */

/* The reader is to find a byte exactly while there is something for it. */
static void set_signal(struct live *live)
{
  bool wanted = live->ended || live->written > live->taken;
  char byte = 0;
  if (wanted == live->signalled)
    return;
  ssize_t done;
  do
    done = wanted ? write(live->ends[1], &byte, 1) : read(live->ends[0], &byte, 1);
  while (done < 0 && errno == EINTR);
  live->signalled = wanted;
}

static void count_loss(struct sc_losses *losses, enum capture_loss loss, uint64_t lost)
{
  if (loss == CAPTURE_LOSS_OVERRUN) {
    losses->overruns++;
    losses->overrun_frames += lost;
  } else if (loss == CAPTURE_LOSS_DROP) {
    losses->drops++;
    losses->dropped_frames += lost;
  } else if (loss == CAPTURE_LOSS_SUSPEND) {
    losses->suspends++;
  }
}

/* Losses that follow each other without a frame between them are one gap. */
static void remember(struct capture_taken *pending, enum capture_loss loss, uint64_t lost)
{
  if (pending->loss == CAPTURE_LOSS_NONE || loss == CAPTURE_LOSS_OVERRUN)
    pending->loss = loss;
  pending->lost += lost;
}

static bool is_full(const struct live *live, size_t frames)
{
  uint64_t held = live->written - live->taken;
  return held + frames > live->room || live->mark_count == MARKS;
}

/* Once full, nothing goes in until half is free: what does go in then follows without a gap. */
static bool drops(struct live *live, size_t frames)
{
  if (is_full(live, frames))
    live->dropping = true;
  else if (live->dropping && live->written - live->taken <= live->room / 2)
    live->dropping = false;
  return live->dropping;
}

static void store(struct live *live, const float *samples, size_t frames)
{
  size_t done = 0, channels = live->channels;
  while (done < frames) {
    size_t at = (size_t)(live->written % live->room), part = frames - done;
    part = part < live->room - at ? part : live->room - at;
    memcpy(live->ring + at * channels, samples + done * channels,
           part * channels * sizeof *samples);
    live->written += part;
    done += part;
  }
}

static void put_mark(struct live *live, const struct capture_taken *pending, double centre_hz)
{
  live->marks[(live->first_mark + live->mark_count++) % MARKS] =
      (struct mark){live->written, pending->loss, pending->lost, centre_hz};
}

/* Frames into the ring, or into the count of what was dropped. */
static void put(struct live *live, const struct capture_taken *taken)
{
  struct capture_taken *pending = &live->pending;
  if (taken->loss != CAPTURE_LOSS_NONE) {
    count_loss(&live->losses, taken->loss, taken->lost);
    remember(pending, taken->loss, taken->lost);
  }
  if (taken->frames == 0)
    return;
  if (drops(live, taken->frames)) {
    if (pending->loss != CAPTURE_LOSS_DROP)
      live->losses.drops++;
    live->losses.dropped_frames += taken->frames;
    remember(pending, CAPTURE_LOSS_DROP, taken->frames);
    pending->loss = CAPTURE_LOSS_DROP;
    return;
  }
  if (pending->loss != CAPTURE_LOSS_NONE || taken->centre_hz != live->centre_hz) {
    put_mark(live, pending, taken->centre_hz);
    live->centre_hz = taken->centre_hz;
    *pending = (struct capture_taken){0};
  }
  store(live, live->landing, taken->frames);
}

static enum sc_error take(struct live *live, struct capture_taken *taken,
                          struct sc_message *message)
{
  *taken = (struct capture_taken){.centre_hz = live->centre_hz};
  enum sc_error error =
      live->driver->take(live->device, live->landing, live->landing_frames, taken, message);
  if (error != SC_OK || taken->frames > 0 || live->written > 0)
    return error;
  if (capture_now_s() - live->opened_s < first_sample_s)
    return SC_OK;
  return sc_fail(message, SC_READ_FAILED,
                 "%s: gives no samples: is it connected, and does its clock run?",
                 live->base.name);
}

/* With the lock held. The reader sees nothing from before a change. */
static void make_call(struct live *live)
{
  struct call *call = live->call;
  if (call == NULL)
    return;
  call->error = call->call(live->device, call->context, &call->message);
  if (call->changes) {
    live->taken = live->written;
    live->mark_count = 0;
    remember(&live->pending, CAPTURE_LOSS_SETTING, 0);
  }
  live->call = NULL;
  call->done = true;
}

static void *run(void *context)
{
  struct live *live = context;
  bool on = true;
  while (on) {
    struct capture_taken taken;
    struct sc_message message = {""};
    enum sc_error error = take(live, &taken, &message);
    pthread_mutex_lock(&live->lock);
    put(live, &taken);
    if (error != SC_OK) {
      live->ended = true;
      live->error = error;
      live->trouble = message;
    }
    on = !live->stop && !live->ended;
    if (on)
      make_call(live);
    set_signal(live);
    pthread_cond_broadcast(&live->changed);
    pthread_mutex_unlock(&live->lock);
  }
  return NULL;
}

/* ---- the reader */

/* Takes the mark that stands at the next frame, and lowers *run to the one behind it. */
static void pass_marks(struct live *live, uint64_t *run)
{
  struct capture *base = &live->base;
  while (live->mark_count > 0) {
    const struct mark *mark = &live->marks[live->first_mark];
    if (mark->frame > live->taken) {
      *run = mark->frame - live->taken < *run ? mark->frame - live->taken : *run;
      return;
    }
    base->gap = base->gap || mark->loss != CAPTURE_LOSS_NONE;
    base->lost += mark->lost;
    base->segments[0].centre_hz = mark->centre_hz;
    live->first_mark = (live->first_mark + 1) % MARKS;
    live->mark_count--;
  }
}

static void copy_out(struct live *live, float *samples, size_t frames)
{
  size_t at = (size_t)(live->taken % live->room), channels = live->channels;
  size_t part = frames < live->room - at ? frames : live->room - at;
  memcpy(samples, live->ring + at * channels, part * channels * sizeof *samples);
  memcpy(samples + part * channels, live->ring, (frames - part) * channels * sizeof *samples);
  live->taken += frames;
}

static enum sc_error read_frames(struct capture *capture, float *samples, size_t frames,
                                 size_t *got, struct sc_message *message)
{
  struct live *live = (struct live *)capture;
  *got = 0;
  pthread_mutex_lock(&live->lock);
  while (live->written == live->taken && !live->ended)
    pthread_cond_wait(&live->changed, &live->lock);
  uint64_t run = live->written - live->taken;
  pass_marks(live, &run);
  *got = run < frames ? (size_t)run : frames;
  copy_out(live, samples, *got);
  enum sc_error error = *got == 0 ? live->error : SC_OK;
  if (error != SC_OK && message != NULL)
    *message = live->trouble;
  set_signal(live);
  pthread_mutex_unlock(&live->lock);
  capture->position += *got;
  return error;
}

static int descriptor(const struct capture *capture)
{
  return ((const struct live *)capture)->ends[0];
}

static void stop_thread(struct live *live)
{
  if (!live->runs)
    return;
  pthread_mutex_lock(&live->lock);
  live->stop = true;
  pthread_mutex_unlock(&live->lock);
  pthread_join(live->thread, NULL);
}

static void destroy(struct capture *capture)
{
  struct live *live = (struct live *)capture;
  stop_thread(live);
  live->driver->close(live->device);
  for (int end = 0; end < 2; end++)
    if (live->ends[end] >= 0)
      (void)close(live->ends[end]);
  pthread_cond_destroy(&live->changed);
  pthread_mutex_destroy(&live->lock);
  free(live->ring);
  free(live->landing);
  free(live);
}

static const struct capture_driver driver = {read_frames, NULL, descriptor, destroy, NULL};

void capture_live_losses(const struct capture *capture, struct sc_losses *losses)
{
  *losses = (struct sc_losses){0};
  if (capture->driver != &driver)
    return;
  struct live *live = (struct live *)capture;
  pthread_mutex_lock(&live->lock);
  *losses = live->losses;
  pthread_mutex_unlock(&live->lock);
}

static enum sc_error have_called(struct capture *capture,
                                 const struct capture_device *device_driver, struct call wanted,
                                 struct sc_message *message)
{
  struct live *live = (struct live *)capture;
  if (capture->driver != &driver || live->driver != device_driver)
    return sc_fail(message, SC_UNSUPPORTED, "%s: has no such settings", capture->name);
  pthread_mutex_lock(&live->lock);
  live->call = &wanted;
  while (!wanted.done && !live->ended)
    pthread_cond_wait(&live->changed, &live->lock);
  live->call = NULL;
  if (!wanted.done) {
    wanted.error = live->error;
    wanted.message = live->trouble;
  }
  pthread_mutex_unlock(&live->lock);
  if (wanted.error != SC_OK && message != NULL)
    *message = wanted.message;
  return wanted.error;
}

enum sc_error capture_live_call(struct capture *capture, const struct capture_device *device_driver,
                                enum sc_error (*call)(void *device, void *context,
                                                      struct sc_message *message),
                                void *context, struct sc_message *message)
{
  return have_called(capture, device_driver,
                     (struct call){.call = call, .context = context, .changes = true}, message);
}

enum sc_error capture_live_ask(struct capture *capture, const struct capture_device *device_driver,
                               enum sc_error (*call)(void *device, void *context,
                                                      struct sc_message *message),
                                void *context, struct sc_message *message)
{
  return have_called(capture, device_driver, (struct call){.call = call, .context = context},
                     message);
}

/* ---- opening */

static size_t ring_frames(double rate_hz)
{
  double frames = ring_s * rate_hz;
  if (frames < RING_FRAMES_LEAST)
    return RING_FRAMES_LEAST;
  return frames < RING_FRAMES_MOST ? (size_t)frames : RING_FRAMES_MOST;
}

/* Everything but the thread. */
static bool prepare(struct live *live, const struct capture_facts *facts)
{
  live->base.facts = *facts;
  live->base.facts.live = true;
  live->channels = facts->channels;
  live->room = ring_frames(facts->rate_hz);
  /* At low rates a call must not wait for long. */
  double soon = facts->rate_hz * CAPTURE_LIVE_WAIT_MS * 1e-3;
  live->landing_frames = soon < TAKE_FRAMES_MOST ? (size_t)soon + 1 : TAKE_FRAMES_MOST;
  live->base.segments = calloc(1, sizeof *live->base.segments);
  live->base.segment_count = 1;
  live->ring = malloc(live->room * live->channels * sizeof *live->ring);
  live->landing = malloc(live->landing_frames * live->channels * sizeof *live->landing);
  if (live->base.segments == NULL || live->ring == NULL || live->landing == NULL ||
      pipe(live->ends) != 0)
    return false;
  for (int end = 0; end < 2; end++)
    (void)fcntl(live->ends[end], F_SETFD, FD_CLOEXEC);
  return true;
}

static void start(struct live *live, double centre_hz)
{
  live->base.segments[0].centre_hz = live->centre_hz = centre_hz;
  live->opened_s = capture_now_s();
  live->runs = pthread_create(&live->thread, NULL, run, live) == 0;
}

enum sc_error capture_live_open(const struct capture_device *device_driver, void *device,
                                const struct capture_facts *facts, double centre_hz,
                                const char *name, struct capture **capture,
                                struct sc_message *message)
{
  struct live *live = calloc(1, sizeof *live);
  if (live == NULL) {
    device_driver->close(device);
    return sc_fail(message, SC_NO_MEMORY, "%s", sc_error_text(SC_NO_MEMORY));
  }
  live->base.driver = &driver;
  live->driver = device_driver;
  live->device = device;
  live->ends[0] = live->ends[1] = -1;
  pthread_mutex_init(&live->lock, NULL);
  pthread_cond_init(&live->changed, NULL);
  capture_name(&live->base, name);
  if (prepare(live, facts))
    start(live, centre_hz);
  if (!live->runs) {
    capture_close(&live->base);
    return sc_fail(message, SC_NO_MEMORY, "%s: not enough memory, or no thread can be started",
                   name);
  }
  *capture = &live->base;
  return SC_OK;
}
