/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Threads and what passes between them. Two copies of the spectrum exist besides the one
 * that is being made: `back`, written under the lock, and `front`, which only the drawing
 * side touches. */
#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include <sidecomb/carrier.h>

#include "view/copy.h"
#include "view/engine.h"
#include "view/intake.h"
#include "view/scout.h"
#include "view/survey.h"

/* Pictures a second while a passage is being read. */
static const double publish_pause_s = 0.04;
/* While what takes long stands still, a passage is read for so long. */
static const double held_work_s = 0.4;
/* A carrier that the survey finds this far from where it was demodulated is demodulated anew. */
static const double channel_step_hz = 20;
enum { LIVE_BLOCK_FRAMES = 1 << 14 };
/* Of a device: what is drawn is never older, besides the transform's own length. */
static const double device_lag_s = 0.1;
/* A pipe or a growing file may bring much at once, which is not to be left out. */
enum { PIPE_LAG_FRAMES = 1 << 20 };

struct view_engine {
  struct sc_source *source;
  const struct sc_source_info *info;
  struct view_intake *intake;       /* live */
  struct view_intake_reader reader; /* live */
  struct view_survey *survey;
  struct view_slice *slice; /* used by the thread alone */
  pthread_t thread;
  bool thread_runs;
  int wake[2]; /* a byte: something new to take */

  pthread_mutex_t lock; /* for the next group */
  pthread_cond_t changed;
  bool stop, arrived, requested, asked, fresh, held;
  struct view_request request;
  struct view_copy back;
  struct sc_channel_guess channel;

  struct view_copy front; /* used by the drawing side alone */
  struct sc_result *result;
  struct sc_message trouble;
  double survey_s, full_scale_khz, start_s;
  bool survey_done;
};

static double now_s(void)
{
  struct timespec time;
  clock_gettime(CLOCK_MONOTONIC, &time);
  return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

static void notify(void *context)
{
  struct view_engine *engine = context;
  if (write(engine->wake[1], "", 1) < 0)
    return; /* full: the reader wakes anyway */
}

/* ---- the passage's thread */

static void publish(struct view_engine *engine)
{
  struct view_spectrum spectrum;
  view_slice_result(engine->slice, &spectrum);
  pthread_mutex_lock(&engine->lock);
  if (view_copy_take(&engine->back, &spectrum))
    engine->fresh = true;
  pthread_mutex_unlock(&engine->lock);
  notify(engine);
}

/* Sleeps until something changes, or for `seconds` when that is not negative. */
static void wait_change(struct view_engine *engine, double seconds)
{
  if (engine->stop || engine->asked || engine->arrived)
    return;
  if (seconds < 0) {
    pthread_cond_wait(&engine->changed, &engine->lock);
    return;
  }
  struct timespec until;
  clock_gettime(CLOCK_MONOTONIC, &until);
  double end = (double)until.tv_nsec * 1e-9 + seconds;
  until.tv_sec += (time_t)end;
  until.tv_nsec = (long)((end - floor(end)) * 1e9);
  pthread_cond_timedwait(&engine->changed, &engine->lock, &until);
}

/* Takes a request if there is one. False: the thread is to end. */
static bool take_request(struct view_engine *engine, bool *taken, bool *held)
{
  struct view_request request;
  pthread_mutex_lock(&engine->lock);
  bool on = !engine->stop;
  *taken = engine->asked;
  *held = engine->held && engine->intake == NULL;
  engine->asked = false;
  request = engine->request;
  request.channel_hz = engine->channel.present == SC_YES ? engine->channel.offset_hz : (double)NAN;
  pthread_mutex_unlock(&engine->lock);
  if (on && *taken)
    view_slice_ask(engine->slice, &request);
  return on;
}

static void look(struct view_engine *engine)
{
  bool taken, held, unpublished = false;
  double published_at = -1, asked_at = 0;
  while (take_request(engine, &taken, &held)) {
    asked_at = taken ? now_s() : asked_at;
    bool rests = held && now_s() - asked_at > held_work_s;
    bool more = !rests && view_slice_step(engine->slice);
    double since = now_s() - published_at;
    unpublished = unpublished || taken || more;
    if (unpublished && (since > publish_pause_s || (!more && engine->intake == NULL))) {
      publish(engine);
      published_at = now_s();
      unpublished = false;
    }
    if (more)
      continue;
    pthread_mutex_lock(&engine->lock);
    wait_change(engine, unpublished ? publish_pause_s : -1);
    engine->arrived = false;
    pthread_mutex_unlock(&engine->lock);
  }
}

static enum sc_error read_source(void *context, size_t most, struct sc_block *block)
{
  struct view_engine *engine = context;
  return sc_source_read(engine->source, most, block, NULL);
}

static enum sc_error seek_source(void *context, uint64_t frame)
{
  struct view_engine *engine = context;
  return sc_source_seek(engine->source, frame);
}

static struct view_blocks blocks_of(struct view_engine *engine)
{
  if (engine->intake != NULL)
    return (struct view_blocks){&engine->reader, view_intake_read, NULL, engine->info,
                                view_intake_go_back};
  return (struct view_blocks){engine, read_source, seek_source, engine->info, NULL};
}

/* The next block, waited for when it is live. False: the end, or the thread is to end. */
static bool next_block(struct view_engine *engine, const struct view_blocks *blocks,
                       struct sc_block *block)
{
  for (;;) {
    if (blocks->read(blocks->context, LIVE_BLOCK_FRAMES, block) != SC_OK)
      return false;
    if (block->frames > 0 || engine->intake == NULL)
      return block->frames > 0;
    pthread_mutex_lock(&engine->lock);
    while (!engine->stop && !engine->arrived)
      pthread_cond_wait(&engine->changed, &engine->lock);
    engine->arrived = false;
    bool stop = engine->stop;
    pthread_mutex_unlock(&engine->lock);
    if (stop)
      return false;
  }
}

static struct sc_channel_guess scout(struct view_engine *engine, const struct view_blocks *blocks)
{
  struct sc_channel_guess guess = {.present = SC_UNKNOWN};
  struct view_scout *scout = view_scout_create(engine->info);
  struct sc_block block;
  if (scout == NULL)
    return guess;
  while (next_block(engine, blocks, &block) && !view_scout_feed(scout, &block))
    continue;
  guess = view_scout_result(scout);
  view_scout_destroy(scout);
  return guess;
}

/* Where the transmitter is; the passage is then asked for anew, as the composite needs it. */
static void set_channel(struct view_engine *engine, struct sc_channel_guess guess)
{
  pthread_mutex_lock(&engine->lock);
  engine->channel = guess;
  engine->asked = engine->requested;
  pthread_cond_signal(&engine->changed);
  pthread_mutex_unlock(&engine->lock);
  notify(engine);
}

static void *run(void *context)
{
  struct view_engine *engine = context;
  struct view_blocks blocks = blocks_of(engine);
  if (engine->info->kind == SC_KIND_IQ)
    set_channel(engine, scout(engine, &blocks));
  look(engine);
  return NULL;
}

/* ---- starting and stopping */

/* Live: the reading thread says that something came in. The survey is woken with the lock held, as
 * one that is stopped is taken out of the engine first, and then gone. */
static void on_arrival(void *context)
{
  struct view_engine *engine = context;
  pthread_mutex_lock(&engine->lock);
  engine->arrived = true;
  pthread_cond_signal(&engine->changed);
  if (engine->survey != NULL)
    view_survey_wake(engine->survey);
  pthread_mutex_unlock(&engine->lock);
}

static bool start_intake(struct view_engine *engine, const struct sc_source_options *options)
{
  bool device = options->sound != NULL || options->receiver != NULL;
  double lag_s = device ? device_lag_s : PIPE_LAG_FRAMES / engine->info->nominal_rate_hz;
  if (!engine->info->live)
    return true;
  engine->intake = view_intake_start(engine->source, on_arrival, engine);
  return engine->intake != NULL &&
         view_intake_reader_open(&engine->reader, engine->intake, LIVE_BLOCK_FRAMES, lag_s);
}

static bool start_survey(struct view_engine *engine, const struct sc_source_options *options,
                         const struct sc_analysis_settings *analysis)
{
  struct view_survey_settings settings = {.options = options,
                                          .info = engine->info,
                                          .intake = engine->intake,
                                          .analysis = *analysis,
                                          .notify = notify,
                                          .context = engine};
  struct view_survey *survey = view_survey_start(&settings);
  pthread_mutex_lock(&engine->lock);
  engine->survey = survey;
  pthread_mutex_unlock(&engine->lock);
  return survey != NULL;
}

static bool start_look(struct view_engine *engine)
{
  struct view_blocks blocks = blocks_of(engine);
  engine->slice = view_slice_create(&blocks);
  if (engine->slice == NULL)
    return false;
  engine->thread_runs = pthread_create(&engine->thread, NULL, run, engine) == 0;
  return engine->thread_runs;
}

static struct view_engine *create(void)
{
  struct view_engine *engine = calloc(1, sizeof *engine);
  if (engine == NULL)
    return NULL;
  if (pipe(engine->wake) != 0) {
    free(engine);
    return NULL;
  }
  for (int end = 0; end < 2; end++) {
    fcntl(engine->wake[end], F_SETFL, O_NONBLOCK);
    fcntl(engine->wake[end], F_SETFD, FD_CLOEXEC);
  }
  pthread_condattr_t attributes;
  pthread_condattr_init(&attributes);
  pthread_condattr_setclock(&attributes, CLOCK_MONOTONIC);
  pthread_mutex_init(&engine->lock, NULL);
  pthread_cond_init(&engine->changed, &attributes);
  pthread_condattr_destroy(&attributes);
  return engine;
}

enum sc_error view_engine_start(struct sc_source *source, const struct sc_source_options *options,
                                const struct sc_analysis_settings *analysis,
                                struct view_engine **out, struct sc_message *message)
{
  struct view_engine *engine = create();
  *out = NULL;
  if (engine == NULL)
    return sc_fail(message, SC_NO_MEMORY, "view: not enough memory");
  engine->source = source;
  engine->info = sc_source_info(source);
  engine->channel.present = SC_UNKNOWN;
  engine->start_s = options->start_s;
  engine->full_scale_khz = analysis != NULL ? analysis->full_scale_khz : 0;
  bool surveyed = analysis != NULL;
  if (start_intake(engine, options) && (!surveyed || start_survey(engine, options, analysis)) &&
      start_look(engine)) {
    *out = engine;
    return SC_OK;
  }
  view_engine_stop(engine);
  return sc_fail(message, SC_NO_MEMORY, "view: not enough memory, or no thread can be started");
}

static void free_result(struct sc_result *result)
{
  if (result != NULL)
    sc_result_clear(result);
  free(result);
}

void view_engine_stop(struct view_engine *engine)
{
  if (engine == NULL)
    return;
  pthread_mutex_lock(&engine->lock);
  engine->stop = true;
  pthread_cond_signal(&engine->changed);
  pthread_mutex_unlock(&engine->lock);
  if (engine->thread_runs)
    pthread_join(engine->thread, NULL);
  struct view_survey *survey = engine->survey;
  pthread_mutex_lock(&engine->lock);
  engine->survey = NULL;
  pthread_mutex_unlock(&engine->lock);
  view_survey_stop(survey);
  view_intake_stop(engine->intake);
  view_intake_reader_close(&engine->reader);
  view_slice_destroy(engine->slice);
  free_result(engine->result);
  free(engine->front.points);
  free(engine->back.points);
  close(engine->wake[0]);
  close(engine->wake[1]);
  pthread_cond_destroy(&engine->changed);
  pthread_mutex_destroy(&engine->lock);
  free(engine);
}

/* ---- the drawing side */

struct view_intake *view_engine_intake(const struct view_engine *engine)
{
  return engine->intake;
}

int view_engine_descriptor(const struct view_engine *engine)
{
  return engine->wake[0];
}

void view_engine_ask(struct view_engine *engine, const struct view_request *request)
{
  pthread_mutex_lock(&engine->lock);
  bool same = engine->requested && memcmp(&engine->request, request, sizeof *request) == 0;
  if (!same) {
    memcpy(&engine->request, request, sizeof *request);
    engine->requested = engine->asked = true;
    pthread_cond_signal(&engine->changed);
  }
  pthread_mutex_unlock(&engine->lock);
}

void view_engine_hold(struct view_engine *engine, bool held)
{
  pthread_mutex_lock(&engine->lock);
  bool changed = engine->held != held;
  engine->held = held;
  engine->arrived = engine->arrived || changed; /* so that a reader at rest looks again */
  pthread_cond_signal(&engine->changed);
  pthread_mutex_unlock(&engine->lock);
  if (changed && engine->survey != NULL)
    view_survey_hold(engine->survey, held);
}

void view_engine_anew(struct view_engine *engine)
{
  if (engine->survey != NULL && engine->intake != NULL)
    view_survey_anew(engine->survey);
}

static void take_spectrum(struct view_engine *engine)
{
  pthread_mutex_lock(&engine->lock);
  if (engine->fresh) {
    struct view_copy kept = engine->front;
    engine->front = engine->back;
    engine->back = kept;
    engine->fresh = false;
  }
  pthread_mutex_unlock(&engine->lock);
}

/* The survey knows the carrier better than the scout; small corrections are not worth
 * demodulating again. */
static void take_channel(struct view_engine *engine)
{
  const struct sc_carrier *carrier = &engine->result->carrier;
  if (carrier->present != SC_YES || carrier->offset_hz.why != NULL)
    return;
  pthread_mutex_lock(&engine->lock);
  struct sc_channel_guess guess = engine->channel;
  pthread_mutex_unlock(&engine->lock);
  if (guess.present == SC_YES && fabs(guess.offset_hz - carrier->offset_hz.value) < channel_step_hz)
    return;
  guess.present = SC_YES;
  guess.offset_hz = carrier->offset_hz.value;
  set_channel(engine, guess);
}

static void take_result(struct view_engine *engine)
{
  double seconds;
  bool done;
  struct sc_result *result = view_survey_take(engine->survey, &seconds, &done);
  engine->survey_done = done;
  if (result == NULL)
    return;
  free_result(engine->result);
  engine->result = result;
  engine->survey_s = seconds;
  take_channel(engine);
}

static void take_trouble(struct view_engine *engine)
{
  bool is = view_survey_trouble(engine->survey, &engine->trouble);
  if (!is && engine->intake != NULL)
    view_intake_trouble(engine->intake, &engine->trouble);
}

void view_engine_take(struct view_engine *engine, struct view_model *model)
{
  char bytes[64];
  while (read(engine->wake[0], bytes, sizeof bytes) > 0)
    continue;
  take_spectrum(engine);
  if (engine->survey != NULL) {
    take_result(engine);
    take_trouble(engine);
  }
  pthread_mutex_lock(&engine->lock);
  struct sc_channel_guess channel = engine->channel;
  pthread_mutex_unlock(&engine->lock);
  *model = (struct view_model){
      .info = engine->info,
      .start_s = engine->start_s,
      .full_scale_khz = engine->full_scale_khz,
      .spectrum = engine->front.spectrum,
      .channel_known = channel.present == SC_YES,
      .channel_hz = channel.offset_hz,
      .channel_level_dbfs = channel.level_dbfs,
      .result = engine->result,
      .survey_s = engine->survey_s,
      .survey_done = engine->survey_done,
      .peak_dbfs = (double)NAN,
      .trouble = engine->trouble.text[0] != 0 ? engine->trouble.text : NULL,
  };
  if (engine->intake == NULL)
    return;
  model->ended = view_intake_ended(engine->intake);
  model->silent_s = view_intake_silent_s(engine->intake);
  sc_source_losses(engine->source, &model->losses);
  model->undrawn_frames = view_intake_skipped(&engine->reader);
  if (engine->survey != NULL)
    model->unmeasured_frames = view_survey_skipped(engine->survey);
  struct view_intake_level level;
  view_intake_level(engine->intake, &level);
  model->clipped_frames = level.clipped;
  model->peak_dbfs = level.peak_dbfs;
}
