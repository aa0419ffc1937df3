/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The survey's thread: reads, feeds, and asks for a result after growing pauses, since a
 * result costs time and says little new soon after the last one. */
#include <math.h>
#include <stdlib.h>
#include <time.h>

#include "view/format.h"
#include "view/survey.h"

enum { BLOCK_FRAMES = 1 << 15 };
static const double first_pause_s = 0.2, pause_growth = 1.6, longest_pause_s = 5;

struct view_survey {
  struct view_survey_settings settings;
  struct sc_source_info info;
  struct sc_source *source;         /* files */
  struct view_intake_reader reader; /* live */
  struct sc_analysis *analysis;
  double pause_s, published_at; /* monotonic time */
  uint64_t frames, published_frames;
  pthread_t thread;
  pthread_mutex_t lock; /* for all below */
  pthread_cond_t wake;
  bool stop, arrived, held, done, anew;
  uint64_t skipped;   /* live: frames */
  uint64_t anew_from; /* live: frames that had come in when it was to begin anew */
  struct sc_result *fresh;
  double fresh_s;
  struct sc_message trouble;
};

static double now_s(void)
{
  struct timespec time;
  clock_gettime(CLOCK_MONOTONIC, &time);
  return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

static void free_result(struct sc_result *result)
{
  if (result != NULL)
    sc_result_clear(result);
  free(result);
}

static void publish(struct view_survey *survey, bool done)
{
  struct sc_result *result = calloc(1, sizeof *result);
  if (result == NULL)
    return;
  if (sc_analysis_result(survey->analysis, result) != SC_OK) {
    free_result(result);
    result = NULL;
  }
  pthread_mutex_lock(&survey->lock);
  struct sc_result *old = survey->fresh;
  survey->fresh = result != NULL ? result : old;
  survey->fresh_s = (double)survey->frames / survey->info.sample_rate_hz;
  survey->done = done;
  pthread_mutex_unlock(&survey->lock);
  if (result != NULL)
    free_result(old);
  survey->settings.notify(survey->settings.context);
}

static void publish_when_due(struct view_survey *survey)
{
  double now = now_s();
  if (now - survey->published_at < survey->pause_s)
    return;
  publish(survey, false);
  survey->published_at = now_s();
  survey->published_frames = survey->frames;
  survey->pause_s *= pause_growth;
  if (survey->pause_s > longest_pause_s)
    survey->pause_s = longest_pause_s;
}

static void set_trouble(struct view_survey *survey, const struct sc_message *message)
{
  pthread_mutex_lock(&survey->lock);
  survey->trouble = *message;
  pthread_mutex_unlock(&survey->lock);
  survey->settings.notify(survey->settings.context);
}

/* Waits to be woken, or until a result is due of what came in. False: that is so. */
static bool wait_wake(struct view_survey *survey)
{
  double left = survey->pause_s - (now_s() - survey->published_at);
  if (survey->held || survey->frames == survey->published_frames) {
    pthread_cond_wait(&survey->wake, &survey->lock);
    return true;
  }
  struct timespec until;
  clock_gettime(CLOCK_MONOTONIC, &until);
  double end = (double)until.tv_nsec * 1e-9 + fmax(left, 0);
  until.tv_sec += (time_t)end;
  until.tv_nsec = (long)((end - floor(end)) * 1e9);
  return pthread_cond_timedwait(&survey->wake, &survey->lock, &until) == 0;
}

/* False: the survey is to end. A live one waits for samples. */
static bool goes_on(struct view_survey *survey, bool wait)
{
  pthread_mutex_lock(&survey->lock);
  bool more = true;
  while (more && !survey->stop && (survey->held || (wait && !survey->arrived)))
    more = wait_wake(survey);
  survey->arrived = false;
  bool on = !survey->stop;
  pthread_mutex_unlock(&survey->lock);
  return on;
}

static enum sc_error read_block(struct view_survey *survey, struct sc_block *block,
                                struct sc_message *message)
{
  if (survey->source != NULL)
    return sc_source_read(survey->source, BLOCK_FRAMES, block, message);
  return view_intake_read(&survey->reader, BLOCK_FRAMES, block);
}

static void note_skipped(struct view_survey *survey)
{
  pthread_mutex_lock(&survey->lock);
  survey->skipped = survey->reader.skipped;
  pthread_mutex_unlock(&survey->lock);
}

/* One block. False: there is no more, or it cannot be read. *starved: none yet. */
static bool survey_block(struct view_survey *survey, bool *starved, struct sc_message *message)
{
  struct view_intake *intake = survey->settings.intake;
  bool ended = intake == NULL || view_intake_ended(intake); /* before reading what is left */
  struct sc_block block;
  if (read_block(survey, &block, message) != SC_OK)
    return false;
  *starved = block.frames == 0;
  if (block.frames == 0 && survey->frames > survey->published_frames && !ended)
    publish_when_due(survey);
  if (block.frames == 0)
    return !ended;
  if (sc_analysis_feed(survey->analysis, &block) != SC_OK)
    return false;
  survey->frames += block.frames;
  note_skipped(survey);
  publish_when_due(survey);
  return true;
}

/* A file that ends before the length it was opened with. */
static void say_short(const struct view_survey *survey, struct sc_message *message)
{
  const struct sc_source_info *info = &survey->info;
  if (survey->source == NULL || info->frames == 0 || survey->frames >= info->frames ||
      message->text[0] != 0)
    return;
  (void)sc_fail(message, SC_READ_FAILED,
                "%s: the samples end at %s of %s: the file became shorter, or was never whole",
                info->name, view_time((double)survey->frames / info->sample_rate_hz, 0.01).text,
                view_time((double)info->frames / info->sample_rate_hz, 0.01).text);
}

static void begin(struct view_survey *survey)
{
  survey->published_at = now_s();
  survey->pause_s = first_pause_s;
  survey->frames = survey->published_frames = 0;
}

/* As it is wanted of a live survey. False: there is no memory for the new analysis. */
static bool begin_anew(struct view_survey *survey, struct sc_message *message)
{
  pthread_mutex_lock(&survey->lock);
  const bool wanted = survey->anew;
  const uint64_t from = survey->anew_from;
  survey->anew = false;
  pthread_mutex_unlock(&survey->lock);
  if (!wanted)
    return true;
  sc_analysis_destroy(survey->analysis); /* first: two of them would be the most memory ever */
  survey->analysis = NULL;
  begin(survey);
  /* What it had not come to yet is of before, and what came since then is not. */
  view_intake_go_back(&survey->reader, view_intake_frames(survey->settings.intake) - from);
  return sc_analysis_create(&survey->info, &survey->settings.analysis, &survey->analysis,
                            message) == SC_OK;
}

static void survey_all(struct view_survey *survey)
{
  struct sc_message message = {""};
  bool starved = false;
  begin(survey);
  while (goes_on(survey, starved) && begin_anew(survey, &message) &&
         survey_block(survey, &starved, &message))
    continue;
  if (goes_on(survey, false))
    say_short(survey, &message);
  if (message.text[0] != 0)
    set_trouble(survey, &message);
  if (survey->analysis != NULL && goes_on(survey, false))
    publish(survey, true);
}

static enum sc_error open_source(struct view_survey *survey, struct sc_message *message)
{
  if (survey->settings.intake != NULL) {
    bool opened =
        view_intake_reader_open(&survey->reader, survey->settings.intake, BLOCK_FRAMES, 0);
    return opened ? SC_OK : sc_fail(message, SC_NO_MEMORY, "not enough memory for the survey");
  }
  struct sc_source_options options = *survey->settings.options;
  options.as = survey->info.kind;
  return sc_source_open(&options, &survey->source, message);
}

static void *run(void *context)
{
  struct view_survey *survey = context;
  struct sc_message message = {""};
  enum sc_error error = open_source(survey, &message);
  if (error == SC_OK)
    error =
        sc_analysis_create(&survey->info, &survey->settings.analysis, &survey->analysis, &message);
  if (error == SC_OK)
    survey_all(survey);
  else
    set_trouble(survey, &message);
  return NULL;
}

static void release(struct view_survey *survey)
{
  sc_analysis_destroy(survey->analysis);
  sc_source_close(survey->source);
  view_intake_reader_close(&survey->reader);
  free_result(survey->fresh);
  pthread_cond_destroy(&survey->wake);
  pthread_mutex_destroy(&survey->lock);
  free(survey);
}

struct view_survey *view_survey_start(const struct view_survey_settings *settings)
{
  struct view_survey *survey = calloc(1, sizeof *survey);
  if (survey == NULL)
    return NULL;
  pthread_condattr_t attributes;
  survey->settings = *settings;
  survey->info = *settings->info;
  survey->info.annotations = NULL;
  survey->info.annotation_count = 0;
  pthread_mutex_init(&survey->lock, NULL);
  pthread_condattr_init(&attributes);
  pthread_condattr_setclock(&attributes, CLOCK_MONOTONIC); /* the other one may be set anew */
  pthread_cond_init(&survey->wake, &attributes);
  pthread_condattr_destroy(&attributes);
  if (pthread_create(&survey->thread, NULL, run, survey) != 0) {
    release(survey);
    return NULL;
  }
  return survey;
}

void view_survey_wake(struct view_survey *survey)
{
  pthread_mutex_lock(&survey->lock);
  survey->arrived = true;
  pthread_cond_signal(&survey->wake);
  pthread_mutex_unlock(&survey->lock);
}

void view_survey_hold(struct view_survey *survey, bool held)
{
  pthread_mutex_lock(&survey->lock);
  survey->held = held;
  pthread_cond_signal(&survey->wake);
  pthread_mutex_unlock(&survey->lock);
}

void view_survey_anew(struct view_survey *survey)
{
  const uint64_t from = view_intake_frames(survey->settings.intake);
  pthread_mutex_lock(&survey->lock);
  survey->anew = true;
  survey->anew_from = from;
  pthread_cond_signal(&survey->wake);
  pthread_mutex_unlock(&survey->lock);
}

struct sc_result *view_survey_take(struct view_survey *survey, double *seconds, bool *done)
{
  pthread_mutex_lock(&survey->lock);
  struct sc_result *result = survey->fresh;
  survey->fresh = NULL;
  *seconds = survey->fresh_s;
  *done = survey->done;
  pthread_mutex_unlock(&survey->lock);
  return result;
}

bool view_survey_trouble(struct view_survey *survey, struct sc_message *message)
{
  pthread_mutex_lock(&survey->lock);
  bool is = survey->trouble.text[0] != 0;
  if (is)
    *message = survey->trouble;
  pthread_mutex_unlock(&survey->lock);
  return is;
}

uint64_t view_survey_skipped(struct view_survey *survey)
{
  pthread_mutex_lock(&survey->lock);
  uint64_t skipped = survey->skipped;
  pthread_mutex_unlock(&survey->lock);
  return skipped;
}

void view_survey_stop(struct view_survey *survey)
{
  if (survey == NULL)
    return;
  pthread_mutex_lock(&survey->lock);
  survey->stop = true;
  pthread_cond_signal(&survey->wake);
  pthread_mutex_unlock(&survey->lock);
  pthread_join(survey->thread, NULL);
  release(survey);
}
