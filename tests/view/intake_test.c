/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The ring of live samples, fed through a named pipe with numbered samples: what is missing, and
 * how old what is shown is, are counted in samples, so that no clock decides. */
#include <fcntl.h>
#include <pthread.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include <check.h>

#include "support/files.h"
#include "view/intake.h"
#include "view/suites.h"

enum { FRAMES = 1500000, ROOM = 4096, PART = 10000, CLIPPED_EVERY = 1000 };
static const double rate_hz = 192e3, lag_s = 0.1;

/* Frame i holds i % 60000 in I; every so often one clips in Q. */
static short number_of(uint64_t frame)
{
  return (short)((int)(frame % 60000) - 30000);
}

static void *write_all(void *path)
{
  static short pairs[2 * PART];
  int pipe_end = open(path, O_WRONLY);
  for (int done = 0; done < FRAMES; done += PART) {
    for (int i = 0; i < PART; i++) {
      pairs[2 * i] = number_of((uint64_t)(done + i));
      pairs[2 * i + 1] = (done + i) % CLIPPED_EVERY == 0 ? 32767 : 100;
    }
    const char *bytes = (const char *)pairs;
    for (size_t left = sizeof pairs; left > 0;) {
      ssize_t wrote = write(pipe_end, bytes, left);
      if (wrote <= 0)
        abort();
      bytes += wrote;
      left -= (size_t)wrote;
    }
  }
  close(pipe_end);
  return NULL;
}

struct rig {
  struct sc_source *source;
  struct view_intake *intake;
  pthread_mutex_t lock;
  pthread_cond_t changed;
};

static void arrived(void *context)
{
  struct rig *rig = context;
  pthread_mutex_lock(&rig->lock);
  pthread_cond_signal(&rig->changed);
  pthread_mutex_unlock(&rig->lock);
}

/* All of it has come in when this returns, and nobody has read it yet. */
static void take_all_in(struct rig *rig)
{
  const char *path = support_file("numbered.fifo");
  pthread_t writer;
  struct sc_message message = {""};
  *rig = (struct rig){.source = NULL};
  pthread_mutex_init(&rig->lock, NULL);
  pthread_cond_init(&rig->changed, NULL);
  ck_assert_int_eq(mkfifo(path, 0600), 0);
  ck_assert_int_eq(pthread_create(&writer, NULL, write_all, (void *)path), 0);
  const struct sc_source_options options = {
      .path = path, .type = "ci16_le", .rate_hz = rate_hz, .as = SC_KIND_IQ};
  enum sc_error error = sc_source_open(&options, &rig->source, &message);
  ck_assert_msg(error == SC_OK, "%s", message.text);
  rig->intake = view_intake_start(rig->source, arrived, rig);
  ck_assert_ptr_nonnull(rig->intake);
  pthread_mutex_lock(&rig->lock);
  while (!view_intake_ended(rig->intake))
    pthread_cond_wait(&rig->changed, &rig->lock);
  pthread_mutex_unlock(&rig->lock);
  pthread_join(writer, NULL);
}

static void let_go(struct rig *rig)
{
  view_intake_stop(rig->intake);
  sc_source_close(rig->source);
  pthread_cond_destroy(&rig->changed);
  pthread_mutex_destroy(&rig->lock);
}

static void check_numbers(const struct sc_block *block)
{
  for (size_t i = 0; i < block->frames; i++) {
    float expected = (float)number_of(block->first + i) / 32768;
    ck_assert_float_eq(block->samples[2 * i], expected);
  }
}

/* Reads on to the newest; frames read. */
static uint64_t read_on(struct view_intake_reader *reader)
{
  struct sc_block block;
  uint64_t total = 0, next = reader->next;
  do {
    ck_assert_int_eq(view_intake_read(reader, ROOM, &block), SC_OK);
    ck_assert(!block.discontinuity && block.lost == 0);
    ck_assert_uint_eq(block.first, next);
    check_numbers(&block);
    next += block.frames;
    total += block.frames;
  } while (block.frames > 0);
  return total;
}

START_TEST(what_is_shown_is_never_old)
{
  struct rig rig;
  struct view_intake_reader reader;
  struct sc_block block;
  take_all_in(&rig);
  ck_assert(view_intake_reader_open(&reader, rig.intake, ROOM, lag_s));
  reader.reach = reader.lag; /* as if it had been up to date before */
  ck_assert_int_eq(view_intake_read(&reader, ROOM, &block), SC_OK);
  check_numbers(&block);
  ck_assert(block.discontinuity);
  ck_assert_uint_ge(block.first, FRAMES - (uint64_t)(lag_s * rate_hz));
  ck_assert_uint_eq(block.lost, block.first);
  ck_assert_uint_eq(view_intake_skipped(&reader), block.first);
  ck_assert_uint_eq(block.frames + read_on(&reader), FRAMES - block.first);
  view_intake_reader_close(&reader);
  let_go(&rig);
}
END_TEST

START_TEST(who_measures_may_be_late)
{
  struct rig rig;
  struct view_intake_reader reader;
  struct sc_block block;
  take_all_in(&rig);
  ck_assert(view_intake_reader_open(&reader, rig.intake, ROOM, 0));
  reader.next = FRAMES - (uint64_t)(2 * rate_hz);
  ck_assert_uint_eq(read_on(&reader), (uint64_t)(2 * rate_hz));
  ck_assert_uint_eq(view_intake_skipped(&reader), 0);
  reader.next = 0; /* too late even so */
  ck_assert_int_eq(view_intake_read(&reader, ROOM, &block), SC_OK);
  ck_assert(block.discontinuity && block.lost == block.first);
  view_intake_reader_close(&reader);
  let_go(&rig);
}
END_TEST

/* A change of settings draws again what is still there, and is then held to the newest again. */
START_TEST(going_back_skips_nothing)
{
  struct rig rig;
  struct view_intake_reader reader;
  const uint64_t back = (uint64_t)rate_hz;
  take_all_in(&rig);
  ck_assert(view_intake_reader_open(&reader, rig.intake, ROOM, lag_s));
  view_intake_go_back(&reader, back);
  ck_assert_uint_eq(read_on(&reader), back);
  ck_assert_uint_eq(view_intake_skipped(&reader), 0);
  ck_assert_uint_eq(reader.reach, reader.lag);
  view_intake_reader_close(&reader);
  let_go(&rig);
}
END_TEST

START_TEST(a_recording_begins_with_what_was_before)
{
  struct rig rig;
  struct view_intake_reader reader;
  take_all_in(&rig);
  ck_assert(view_intake_reader_open(&reader, rig.intake, ROOM, 0));
  uint64_t before = view_intake_keep_all(&reader);
  ck_assert_uint_ge(before, (uint64_t)(4.5 * rate_hz));
  ck_assert_uint_eq(read_on(&reader), before);
  ck_assert_uint_eq(view_intake_skipped(&reader), 0);
  view_intake_reader_close(&reader);
  let_go(&rig);
}
END_TEST

START_TEST(strength_is_that_of_the_last_second)
{
  struct rig rig;
  struct view_intake_level level;
  take_all_in(&rig);
  view_intake_level(rig.intake, &level);
  /* it ends with a block, which holds 2^14 frames at most */
  ck_assert_uint_ge(level.clipped, (uint64_t)rate_hz / CLIPPED_EVERY - 1);
  ck_assert_uint_le(level.clipped, ((uint64_t)rate_hz + (1 << 14)) / CLIPPED_EVERY + 1);
  ck_assert_double_eq_tol(level.peak_dbfs, 0, 0.001);
  let_go(&rig);
}
END_TEST

Suite *intake_suite(void)
{
  Suite *suite = suite_create("intake");
  TCase *tcase = tcase_create("intake");
  tcase_add_checked_fixture(tcase, support_files_setup, support_files_teardown);
  tcase_add_test(tcase, what_is_shown_is_never_old);
  tcase_add_test(tcase, who_measures_may_be_late);
  tcase_add_test(tcase, going_back_skips_nothing);
  tcase_add_test(tcase, a_recording_begins_with_what_was_before);
  tcase_add_test(tcase, strength_is_that_of_the_last_second);
  suite_add_tcase(suite, tcase);
  return suite;
}
