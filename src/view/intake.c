/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The ring of live samples. Frames are counted from the start, whatever was lost before. */
#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <poll.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "view/intake.h"
#include "view/signals.h"

enum { LAG_FRAMES = 1 << 20, LAG_LEAST = 1 << 12, READ_FRAMES = 1 << 14, GAPS = 32 };
/* What a recording can begin with. */
static const double kept_s = 5;
enum { RING_BYTES_MOST = 1 << 26 };

struct view_intake {
  struct sc_source *source;
  view_intake_notify *notify;
  void *context;
  unsigned channels;
  pthread_t thread;
  int wake[2];          /* a byte ends the thread */
  pthread_mutex_t lock; /* for all below */
  bool ended;
  float *ring;
  size_t ring_frames;
  uint64_t written;    /* frames */
  uint64_t gaps[GAPS]; /* frames before which something was lost, the newest ones */
  uint64_t lost[GAPS]; /* how many; 0: unknown */
  size_t gap_count;
  uint64_t clipped, invalid;
  double rate_hz;
  double arrived_s;               /* when something came last, or reading began */
  uint64_t second_began;          /* frame */
  uint64_t clipped_before;        /* `clipped` then */
  float peak;                     /* since then */
  struct view_intake_level level; /* of the second before */
  struct sc_message trouble;      /* empty: none */
};

static double now_s(void)
{
  struct timespec time;
  clock_gettime(CLOCK_MONOTONIC, &time);
  return (double)time.tv_sec + (double)time.tv_nsec * 1e-9;
}

static float peak_of(const struct sc_block *block, float peak)
{
  for (size_t i = 0; i < block->frames * block->channels; i++)
    peak = fmaxf(peak, fabsf(block->samples[i]));
  return peak;
}

/* Ends a second after a second's worth of frames; a block is a small part of it. */
static void note_level(struct view_intake *intake, float peak)
{
  intake->peak = fmaxf(intake->peak, peak);
  if ((double)(intake->written - intake->second_began) < intake->rate_hz)
    return;
  intake->level.clipped = intake->clipped - intake->clipped_before;
  intake->level.peak_dbfs = intake->peak > 0 ? 20 * log10((double)intake->peak) : (double)NAN;
  intake->clipped_before = intake->clipped;
  intake->second_began = intake->written;
  intake->peak = 0;
}

static void store(struct view_intake *intake, const struct sc_block *block)
{
  size_t frame_bytes = intake->channels * sizeof(float), done = 0;
  if (block->discontinuity && intake->written > 0) {
    intake->lost[intake->gap_count % GAPS] = block->lost;
    intake->gaps[intake->gap_count++ % GAPS] = intake->written;
  }
  while (done < block->frames) {
    size_t at = (size_t)(intake->written % intake->ring_frames), part = block->frames - done;
    if (part > intake->ring_frames - at)
      part = intake->ring_frames - at;
    memcpy(intake->ring + at * intake->channels, block->samples + done * intake->channels,
           part * frame_bytes);
    intake->written += part;
    done += part;
  }
  intake->clipped += block->clipped;
  intake->invalid += block->invalid;
}

/* Waits until a read will not. False: the thread is to end. */
static bool wait_for_samples(struct view_intake *intake)
{
  struct pollfd fds[2] = {{.fd = intake->wake[0], .events = POLLIN},
                          {.fd = sc_source_descriptor(intake->source), .events = POLLIN}};
  do
    while (poll(fds, 2, -1) < 0)
      if (errno != EINTR)
        return false;
  while (fds[0].revents == 0 && !sc_source_ready(intake->source));
  return fds[0].revents == 0;
}

static bool take_block(struct view_intake *intake)
{
  struct sc_block block;
  struct sc_message message = {""};
  enum sc_error error = sc_source_read(intake->source, READ_FRAMES, &block, &message);
  bool more = error == SC_OK && block.frames > 0;
  float peak = more ? peak_of(&block, 0) : 0;
  pthread_mutex_lock(&intake->lock);
  if (more) {
    store(intake, &block);
    intake->arrived_s = now_s();
    note_level(intake, peak);
  } else if (error != SC_OK)
    intake->trouble = message;
  intake->ended = !more;
  pthread_mutex_unlock(&intake->lock);
  intake->notify(intake->context);
  return more;
}

static void *run(void *context)
{
  struct view_intake *intake = context;
  while (wait_for_samples(intake) && take_block(intake))
    continue;
  return NULL;
}

static void release(struct view_intake *intake)
{
  if (intake->wake[0] >= 0)
    close(intake->wake[0]);
  if (intake->wake[1] >= 0)
    close(intake->wake[1]);
  pthread_mutex_destroy(&intake->lock);
  free(intake->ring);
  free(intake);
}

static size_t ring_frames(const struct sc_source_info *info)
{
  double wanted = kept_s * info->nominal_rate_hz;
  double most = RING_BYTES_MOST / (double)(info->channels * sizeof(float));
  double frames = wanted < most ? wanted : most;
  return frames > LAG_FRAMES ? (size_t)frames : LAG_FRAMES;
}

struct view_intake *view_intake_start(struct sc_source *source, view_intake_notify *notify,
                                      void *context)
{
  struct view_intake *intake = calloc(1, sizeof *intake);
  if (intake == NULL)
    return NULL;
  intake->source = source;
  intake->notify = notify;
  intake->context = context;
  intake->channels = sc_source_info(source)->channels;
  intake->rate_hz = sc_source_info(source)->nominal_rate_hz;
  intake->level.peak_dbfs = (double)NAN;
  intake->arrived_s = now_s();
  intake->ring_frames = ring_frames(sc_source_info(source));
  intake->ring = malloc(intake->ring_frames * intake->channels * sizeof(float));
  intake->wake[0] = intake->wake[1] = -1;
  pthread_mutex_init(&intake->lock, NULL);
  if (intake->ring == NULL || pipe(intake->wake) != 0 ||
      pthread_create(&intake->thread, NULL, run, intake) != 0) {
    release(intake);
    return NULL;
  }
  return intake;
}

void view_intake_stop(struct view_intake *intake)
{
  if (intake == NULL)
    return;
  while (write(intake->wake[1], "", 1) < 0 && errno == EINTR)
    continue;
  pthread_join(intake->thread, NULL);
  release(intake);
}

bool view_intake_ended(struct view_intake *intake)
{
  pthread_mutex_lock(&intake->lock);
  bool ended = intake->ended;
  pthread_mutex_unlock(&intake->lock);
  return ended;
}

double view_intake_silent_s(struct view_intake *intake)
{
  pthread_mutex_lock(&intake->lock);
  double silent_s = intake->ended ? 0 : now_s() - intake->arrived_s;
  pthread_mutex_unlock(&intake->lock);
  return silent_s;
}

bool view_intake_trouble(struct view_intake *intake, struct sc_message *message)
{
  pthread_mutex_lock(&intake->lock);
  bool is = intake->trouble.text[0] != 0;
  if (is)
    *message = intake->trouble;
  pthread_mutex_unlock(&intake->lock);
  return is;
}

/* ---- readers */

bool view_intake_reader_open(struct view_intake_reader *reader, struct view_intake *intake,
                             size_t room, double lag_s)
{
  double lag = fmax(lag_s * intake->rate_hz, LAG_LEAST);
  *reader =
      (struct view_intake_reader){.intake = intake, .room = room, .lag = intake->ring_frames / 2};
  if (lag_s > 0 && lag < (double)reader->lag)
    reader->lag = (uint64_t)lag;
  reader->reach = intake->ring_frames / 2; /* what came in before may all be read */
  reader->samples = malloc(room * intake->channels * sizeof(float));
  return reader->samples != NULL;
}

void view_intake_reader_close(struct view_intake_reader *reader)
{
  free(reader->samples);
  reader->samples = NULL;
}

/* Whether something was lost right before `frame`; *next is lowered to the next such place. */
static bool gap_at(const struct view_intake *intake, uint64_t frame, uint64_t *next, uint64_t *lost)
{
  bool here = false;
  size_t count = intake->gap_count < GAPS ? intake->gap_count : GAPS;
  for (size_t i = 0; i < count; i++) {
    if (intake->gaps[i] == frame) {
      here = true;
      *lost += intake->lost[i];
    }
    if (intake->gaps[i] > frame && intake->gaps[i] < *next)
      *next = intake->gaps[i];
  }
  return here;
}

static void copy_out(const struct view_intake *intake, uint64_t first, size_t frames, float *out)
{
  size_t at = (size_t)(first % intake->ring_frames), part = frames;
  if (part > intake->ring_frames - at)
    part = intake->ring_frames - at;
  size_t channels = intake->channels;
  memcpy(out, intake->ring + at * channels, part * channels * sizeof(float));
  memcpy(out + part * channels, intake->ring, (frames - part) * channels * sizeof(float));
}

static void fill_block(struct view_intake_reader *reader, size_t most, struct sc_block *block)
{
  struct view_intake *intake = reader->intake;
  uint64_t end = intake->written;
  if (end - reader->next > reader->reach) {
    block->lost = end - reader->lag / 4 - reader->next;
    reader->next += block->lost;
    reader->skipped += block->lost;
    block->discontinuity = true;
  }
  if (end - reader->next <= reader->lag)
    reader->reach = reader->lag;
  block->discontinuity = gap_at(intake, reader->next, &end, &block->lost) || block->discontinuity;
  if (most > reader->room)
    most = reader->room;
  block->frames = end - reader->next < most ? (size_t)(end - reader->next) : most;
  copy_out(intake, reader->next, block->frames, reader->samples);
  block->first = reader->next;
  block->clipped = intake->clipped - reader->clipped;
  block->invalid = intake->invalid - reader->invalid;
  reader->clipped = intake->clipped;
  reader->invalid = intake->invalid;
  reader->next += block->frames;
}

enum sc_error view_intake_read(void *context, size_t most, struct sc_block *block)
{
  struct view_intake_reader *reader = context;
  *block = (struct sc_block){.channels = reader->intake->channels,
                             .samples = reader->samples,
                             .info = sc_source_info(reader->intake->source)};
  pthread_mutex_lock(&reader->intake->lock);
  fill_block(reader, most, block);
  pthread_mutex_unlock(&reader->intake->lock);
  return SC_OK;
}

void view_intake_go_back(void *context, uint64_t frames)
{
  struct view_intake_reader *reader = context;
  struct view_intake *intake = reader->intake;
  pthread_mutex_lock(&intake->lock);
  uint64_t kept = intake->written < LAG_FRAMES ? intake->written : LAG_FRAMES / 4 * 3;
  reader->next = intake->written - (frames < kept ? frames : kept);
  reader->reach = LAG_FRAMES;
  pthread_mutex_unlock(&intake->lock);
}

uint64_t view_intake_frames(struct view_intake *intake)
{
  pthread_mutex_lock(&intake->lock);
  uint64_t frames = intake->written;
  pthread_mutex_unlock(&intake->lock);
  return frames;
}

uint64_t view_intake_skipped(const struct view_intake_reader *reader)
{
  pthread_mutex_lock(&reader->intake->lock);
  uint64_t skipped = reader->skipped;
  pthread_mutex_unlock(&reader->intake->lock);
  return skipped;
}

void view_intake_level(struct view_intake *intake, struct view_intake_level *level)
{
  pthread_mutex_lock(&intake->lock);
  *level = intake->level;
  pthread_mutex_unlock(&intake->lock);
}

uint64_t view_intake_keep_all(struct view_intake_reader *reader)
{
  struct view_intake *intake = reader->intake;
  /* Room for what comes in while the first block is written. */
  uint64_t most = intake->ring_frames - intake->ring_frames / 16;
  pthread_mutex_lock(&intake->lock);
  uint64_t before = intake->written < most ? intake->written : most;
  reader->next = intake->written - before;
  reader->reach = reader->lag = intake->ring_frames;
  pthread_mutex_unlock(&intake->lock);
  return before;
}
