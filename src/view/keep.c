/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "view/keep.h"

enum { BLOCK_FRAMES = 1 << 14 };
static const long pause_ns = 20000000;

struct view_keep {
  struct view_intake_reader reader;
  struct sc_recorder *recorder; /* of the thread alone, until it has ended */
  char name[VIEW_KEEP_NAME];
  double rate_hz;
  pthread_t thread;
  pthread_mutex_t lock; /* for all below */
  bool stop, failed;
  struct sc_record_summary summary;
  struct sc_message trouble;
};

/* Counts what was written. False: that is to end. */
static bool note(struct view_keep *keep, const struct sc_block *block, enum sc_error error,
                 const struct sc_message *message)
{
  pthread_mutex_lock(&keep->lock);
  if (error != SC_OK) {
    keep->failed = true;
    keep->trouble = *message;
  } else {
    keep->summary.gaps += block->discontinuity && keep->summary.frames > 0;
    keep->summary.frames += block->frames;
    keep->summary.seconds = (double)keep->summary.frames / keep->rate_hz;
  }
  bool on = !keep->failed && !(keep->stop && block->frames == 0);
  pthread_mutex_unlock(&keep->lock);
  return on;
}

static void *run(void *context)
{
  struct view_keep *keep = context;
  const struct timespec pause = {.tv_nsec = pause_ns};
  struct sc_message message = {""};
  struct sc_block block;
  enum sc_error error;
  do {
    error = view_intake_read(&keep->reader, BLOCK_FRAMES, &block);
    if (error == SC_OK && block.frames > 0)
      error = sc_record_feed(keep->recorder, &block, &message);
    else
      nanosleep(&pause, NULL);
  } while (note(keep, &block, error, &message));
  return NULL;
}

/* By local time, as a person looks for it. */
static void make_name(char *name)
{
  struct tm parts;
  time_t now = time(NULL);
  char stamp[32] = "now";
  if (localtime_r(&now, &parts) != NULL)
    (void)strftime(stamp, sizeof stamp, "%Y-%m-%d-%H%M%S", &parts);
  (void)snprintf(name, VIEW_KEEP_NAME, "kept-%s.sigmf-meta", stamp);
}

static void release(struct view_keep *keep)
{
  view_intake_reader_close(&keep->reader);
  pthread_mutex_destroy(&keep->lock);
  free(keep);
}

static enum sc_error begin(struct view_keep *keep, struct view_intake *intake,
                           const struct sc_source_info *info, struct sc_message *message)
{
  if (!view_intake_reader_open(&keep->reader, intake, BLOCK_FRAMES, 0))
    return sc_fail(message, SC_NO_MEMORY, "%s", sc_error_text(SC_NO_MEMORY));
  uint64_t before = view_intake_keep_all(&keep->reader);
  const struct sc_record_settings settings = {.path = keep->name,
                                              .before_s = (double)before / keep->rate_hz};
  return sc_record_create(info, &settings, &keep->recorder, message);
}

enum sc_error view_keep_start(struct view_intake *intake, const struct sc_source_info *info,
                              struct view_keep **out, struct sc_message *message)
{
  struct view_keep *keep = calloc(1, sizeof *keep);
  *out = NULL;
  if (keep == NULL)
    return sc_fail(message, SC_NO_MEMORY, "%s", sc_error_text(SC_NO_MEMORY));
  keep->rate_hz = info->nominal_rate_hz;
  pthread_mutex_init(&keep->lock, NULL);
  make_name(keep->name);
  enum sc_error error = begin(keep, intake, info, message);
  if (error == SC_OK && pthread_create(&keep->thread, NULL, run, keep) != 0) {
    error = sc_record_finish(keep->recorder, NULL, message);
    if (error == SC_OK)
      error = sc_fail(message, SC_NO_MEMORY, "no thread can be started");
  }
  if (error != SC_OK) {
    release(keep);
    return error;
  }
  *out = keep;
  return SC_OK;
}

bool view_keep_look(struct view_keep *keep, struct sc_record_summary *summary,
                    struct sc_message *message)
{
  *summary = (struct sc_record_summary){0};
  if (keep == NULL)
    return true;
  pthread_mutex_lock(&keep->lock);
  *summary = keep->summary;
  bool good = !keep->failed;
  if (!good)
    *message = keep->trouble;
  pthread_mutex_unlock(&keep->lock);
  return good;
}

enum sc_error view_keep_stop(struct view_keep *keep, char *name, struct sc_record_summary *summary,
                             struct sc_message *message)
{
  pthread_mutex_lock(&keep->lock);
  keep->stop = true;
  pthread_mutex_unlock(&keep->lock);
  pthread_join(keep->thread, NULL);
  (void)snprintf(name, VIEW_KEEP_NAME, "%s", keep->name);
  enum sc_error error = sc_record_finish(keep->recorder, summary, message);
  if (keep->failed) {
    *message = keep->trouble;
    error = SC_WRITE_FAILED;
  }
  release(keep);
  return error;
}
